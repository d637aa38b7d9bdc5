"""Film frames for which there is no file are told wherever a film is reckoned or rendered."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING

import numpy as np
import pytest
from PIL import Image

if TYPE_CHECKING:
    from pathlib import Path

    from running import Program

pytest_plugins = ["at_the_desk"]

MAP = """\
format: retime-map/1
film: The Lock-keeper
gauge: 35mm
reels:
  - {reel: 1, scan: r1/%03d.png, first: 2, last: 19, missing: RULE}
versions: {slow: {speed: 18 fps}, part: {speed: 18 fps, omit: [1/2]}}
shots:
  - {reel: 1, first: 2, last: 9, shot: 1}
  - {reel: 1, first: 10, last: 19, shot: 2}
deliverables:
  short: {version: part, profile: ffv1-master, rate: 24}
  long: {version: slow, profile: ffv1-master, rate: 24}
"""
GONE = (1, 5, 11, 12, 13)  # the first before what is picture


@pytest.fixture(params=["hold", "black"])
def film(request: pytest.FixtureRequest, work: Path) -> Path:
    """Return a map of a numbered scan that lacks some files."""
    (work / "r1").mkdir()
    for number in range(20):
        if number not in GONE:
            picture = np.full((16, 16), 10 * number, np.uint8)
            Image.fromarray(picture).save(work / "r1" / f"{number:03}.png")
    path = work / "film.yaml"
    path.write_text(MAP.replace("RULE", request.param))
    return path


def _told(film: Path) -> str:
    rule = "the picture before is held" if "hold" in film.read_text() else "black"
    return f"reel 1: no file for film frames 5, 11 to 13: {rule}"


def test_the_report_tells_which_frames_have_no_file(film: Path, retime: Program) -> None:
    table = retime("report", film)
    values = json.loads(retime("report", film, "--format", "json").out)
    reels = {one["name"]: one["reels"][0] for one in values["deliverables"]}

    assert _told(film) in table.out
    assert (4, [[5, 5], [11, 13]]) == (
        reels["long"]["missing"],
        reels["long"]["missing_frames"],
    )


def test_a_render_tells_which_frames_have_no_file(film: Path, retime: Program) -> None:
    ran = retime("render", film, "long", "-o", film.parent / "made")

    assert 0 == ran.code, ran.said
    assert _told(film) in ran.err
    assert ["The Lock-keeper-long.mkv"] == [one.name for one in (film.parent / "made").iterdir()]


def test_the_head_line_counts_the_reels_picture_not_the_first_deliverables(
    film: Path, retime: Program
) -> None:
    """18 frames are picture, four of them without a file; the first deliverable omits ten."""
    assert "1 reel, 14 film frames" in retime("report", film).out.splitlines()[0]


def test_a_folder_is_made_in_one_that_is_there_and_no_further(film: Path, retime: Program) -> None:
    deep = film.parent / "a" / "b"
    lists = retime("lists", film, "long", "-o", film.parent / "lists")
    refused = [retime(*one, "-o", deep) for one in (("render", film), ("lists", film))]

    assert 0 == lists.code, lists.said
    assert {2} == {ran.code for ran in refused}
    assert all(f"{deep.parent}: is not there; make that folder first" in ran.err for ran in refused)
    assert not deep.parent.exists()
