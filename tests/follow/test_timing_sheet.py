"""The timing sheet: chapters and shots by one reckoning, and chapters that nobody asked for."""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING

import pytest

from retime.edition.join import join
from retime.follow.timing import timing_rows
from retime.report.following import following_said, following_values

if TYPE_CHECKING:
    from pathlib import Path

    from retime.edition.edition import Edition

MAP = """\
format: retime-map/1
film: Lamp
gauge: 35mm
reels:
  - {{reel: 1, scan: a.mkv, frames: 120}}
  - {{reel: 2, scan: b.mkv, frames: 160}}
shots:
  - {{reel: 1, first: 0, last: 49, shot: 1}}
  - {{reel: 1, first: 50, last: 119, shot: 2}}
  - {{reel: 2, first: 0, last: 159, shot: 1}}
versions:
  slow: {{speed: 18 fps}}
deliverables:
  viewing: {{version: slow, profile: prores-mezzanine, rate: {rate}, chapters: {chapters}{more}}}
"""
MARKS = "[{at: 1, name: The lamp}, {at: 1, frame: 30, name: The oil}, {at: 2/1, name: Night}]"
HEAD = ", head: {black: 2 s}"


def edition(folder: Path, chapters: str, more: str = "", rate: str = "25") -> Edition:
    path = folder / "lamp.yaml"
    path.write_text(MAP.format(chapters=chapters, more=more, rate=rate), encoding="utf-8")
    return join(path)


def chapters_said(made: Edition) -> str:
    return dict(following_said(made, made.makings[0]))["chapters"]


def test_a_chapter_has_the_true_time_of_what_it_marks(tmp_path: Path) -> None:
    # At 18, frame 30 comes after 5/3 s, and reel 2 after 120 frames, 20/3 s; the head lasts 2 s.
    # Output frames j show them from (j + 1/2)/25 on: 42 and 167, after the head's 50.
    rows = list(timing_rows(edition(tmp_path, MARKS, HEAD)))
    told = [(row.name, row.output, row.seconds) for row in rows if row.kind == "chapter"]

    assert told == [
        ("Lamp", 0, Fraction(0)),
        ("The lamp", 50, Fraction(2)),
        ("The oil", 92, Fraction(11, 3)),
        ("Night", 217, Fraction(26, 3)),
    ]


@pytest.mark.parametrize("chapters", [MARKS, "shots", "reels"])
@pytest.mark.parametrize("rate", ["24", "25", "29.97"])
@pytest.mark.parametrize("more", ["", HEAD, ", phase: per-shot", ", conform-at: 24"])
def test_a_chapter_stands_right_before_the_shot_that_it_begins_with(
    chapters: str, rate: str, more: str, tmp_path: Path
) -> None:
    rows = list(timing_rows(edition(tmp_path, chapters, more, rate)))
    shots = {row.seconds: at for at, row in enumerate(rows) if row.kind != "chapter"}
    begun = [(at, row) for at, row in enumerate(rows) if row.kind == "chapter"]

    assert sorted(shots) == list(shots)
    assert 2 <= sum(row.seconds in shots for _, row in begun)
    for at, row in begun:
        if row.seconds in shots:
            assert at + 1 == shots[row.seconds]
            assert row.output == rows[at + 1].output
            assert row.timecode == rows[at + 1].timecode


def test_a_chapter_that_nobody_wrote_is_told_apart(tmp_path: Path) -> None:
    for chapters, more, told in (
        (MARKS, "", "3"),
        (MARKS, HEAD, "4 (one for the head)"),
        ("reels", HEAD, "3 (one for the head)"),
        ("[{at: 2, name: Night}]", "", "2 (one for the opening)"),
    ):
        made = edition(tmp_path, chapters, more)
        values = following_values(made, made.makings[0])["chapters"]

        assert told == chapters_said(made)
        assert ("one" in told) == values[0].get("unasked", False)
        assert not any("unasked" in one for one in values[1:])
