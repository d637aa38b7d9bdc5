"""What cannot be assembled is refused at its line, and nothing is made of it."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from numbered import draw, encode_files, write_scan
from running import assert_told, refused

if TYPE_CHECKING:
    from pathlib import Path

    from running import Program

pytest_plugins = ["at_the_desk"]

MAP = """\
format: retime-map/1
film: Lamp
gauge: 35mm
reels:
  - {reel: 1, scan: lamp.mkv}
  - {reel: 2, scan: lamp.mkv}
shots:
  - {reel: 1, first: 0, last: 11, shot: 1}
  - {reel: 1, first: 12, last: 23, shot: 2, kind: title}
  - {reel: 2, first: 0, last: 23, shot: 1}
versions:
  slow:
    speed: 18 fps
    ASSEMBLED
deliverables:
  master:
    version: slow
    profile: ffv1-master
    rate: 24
    LED
"""
STILL = "insert: {after: 1/2, still: card.png, for: 2 s}"

# what the version says: line and column of the finding, its words
ASSEMBLED = {
    "a shot that does not exist": ("omit: [1/9]", "14:12", 'no shot "1/9"'),
    "a reel that does not exist": ("order: [1, 3]", "14:16", 'no reel "3"; there are 1, 2'),
    "a run backwards": ("order: [2, 1/2-1/1]", "14:16", "runs backwards; write 1/1-1/2"),
    "an empty order": ("order: []", "14:12", "nothing plays in version slow"),
    "all left out": ("omit: [1, 2]", "14:12", "nothing plays in version slow"),
    "beside itself": (
        "insert: {after: gap, black: 1 s, name: gap}",
        "14:21",
        'stand only beside one another: "gap"',
    ),
    "a circle": (
        "insert: [{after: b, black: 1 s, name: a}, {before: a, black: 1 s, name: b}]",
        "14:22",
        'stand only beside one another: "a", "b"',
    ),
    "beside nobody": (
        "insert: {after: gapp, black: 1 s, name: gap}",
        "14:21",
        'there is no reel, shot or insert "gapp"',
    ),
    "beside what the order lacks": (
        "order: [1]\n    insert: {after: 2/1, black: 1 s}",
        "15:21",
        "2/1 does not play in version slow",
    ),
    "nowhere": ("insert: {black: 1 s}", "14:13", "says once where it goes"),
    "on both sides": ("insert: {after: 1, before: 2, black: 1 s}", "14:13", "says once where"),
    "nothing": ("insert: {after: 1}", "14:13", "shows one thing, and this one none"),
    "two things": (
        "insert: {after: 1, black: 1 s, still: card.png, for: 1 s}",
        "14:13",
        "shows one thing, and this one several",
    ),
    "a still without end": ("insert: {after: 1, still: card.png}", "14:13", "still needs for"),
    "black told twice": (
        "insert: {after: 1, black: 1 s, for: 2 s}",
        "14:36",
        "black takes no for; write black: 3 s",
    ),
    "a still that is away": (STILL.replace("card", "cart"), "14:33", "cart.png: is not there"),
    "a still that is no picture": (STILL.replace("card", "junk"), "14:33", "no picture that can"),
    "a still that is a movie": (STILL.replace("card.png", "lamp.mkv"), "14:33", "is no still"),
    "an excerpt past the end": (
        "insert: {after: 1, scan: small.mkv, first: 0, last: 3}",
        "14:57",
        "the scan's last frame is 2",
    ),
    "an excerpt without end": (
        "insert: {after: 1, scan: small.mkv, first: 0}",
        "14:13",
        "scan needs last",
    ),
    "an excerpt backwards": (
        "insert: {after: 1, scan: small.mkv, first: 2, last: 1}",
        "14:57",
        "comes before the first",
    ),
    "a scan that is away": (
        "insert: {after: 1, scan: gone.mkv, first: 2, last: 3}",
        "14:30",
        "gone.mkv: is not there",
    ),
    "a shot in place that is none": ("replace: {1/7: card.png}", "14:15", 'no shot "1/7"'),
    "a still for a run": ("replace: {1/1-1/2: card.png}", "14:15", "a still replaces one"),
    "a folder that is away": ("replace: titles", "14:14", "cannot be listed"),
    "two pictures of a shot": ("replace: twice", "14:14", "both replace shot 1/2"),
    "a loop of none": ("titles: {at least: 2 s, loop: 0}", "14:35", '"0" is no number of frames'),
    "a key that is none": ("titles: {at least: 2 s, lop: 3}", "14:29", 'did you mean "loop"?'),
}

# the same for what the deliverable says
LED = {
    "a head of another raster": (
        "head: {movie: small.mkv}",
        "20:19",
        "small.mkv is 200x120, and the deliverable is 160x96",
    ),
    "a head that is away": ("head: {movie: gone.mkv}", "20:19", "gone.mkv: is not there"),
    "a head that is no movie": ("head: {movie: junk.png}", "20:19", "is a single picture"),
    "a head of nothing": ("head: [{}]", "20:12", "this one none"),
    "a head of two": ("head: {black: 1 s, movie: lamp.mkv}", "20:11", "this one 2"),
    "a head without end": ("head: {still: card.png}", "20:11", "how long it stands"),
    "a movie told how long": (
        "head: {movie: lamp.mkv, for: 2 s}",
        "20:11",
        "movie takes no for; a movie runs its own length",
    ),
    "a head shorter than a frame": ("tail: {black: 0.02 s}", "20:19", "less than half an output"),
    "something to burn in that is none": ("burn: [clock]", "20:12", '"clock" is not known here'),
    "too much to burn in": (
        "burn: [timecode, reel, frame, feet, shot, version]",
        "20:11",
        "fit 4 lines of 14",
    ),
    "a label of something": ("timecode-at: reel", "20:18", '"reel" is not known here'),
}

# the same for what reel 1 says
FRAMED = {
    "an area outside the scan": ('area: "0,0,200,96"', "5:37", "outside of the scan's picture"),
    "an area that is none": ('area: "10,10"', "5:37", "is no area"),
    "an eighth of a turn": ("rotate: 45", "5:39", "is no quarter turn"),
    "a flip of a coin": ("flip: heads", "5:37", '"heads" is not known here'),
    "an aspect that is none": ("sample-aspect: wide", "5:46", "aspect"),
    "an area unlike the other reel's": (
        'area: "0,0,100,96"',
        "18:14",
        "the first scan is 100x96 and scan 2 is 160x96",
    ),
}


@pytest.fixture
def desk(work: Path) -> Path:
    """Return the folder with a card, a small movie, junk, and a folder with two cards of a shot."""
    (card,) = encode_files([draw(7, 320, 240, "gray")], "png")
    (work / "card.png").write_bytes(card)
    (work / "junk.png").write_bytes(b"no picture")
    (work / "twice").mkdir()
    for ending in ("png", "tif"):
        (work / "twice" / f"1-2.{ending}").write_bytes(card)
    write_scan(work / "small.mkv", 3, size=(200, 120))
    return work


@pytest.mark.parametrize("case", ASSEMBLED)
def test_what_cannot_be_assembled_is_refused_at_its_line(
    case: str, desk: Path, retime: Program
) -> None:
    written, place, words = ASSEMBLED[case]
    source = MAP.replace("ASSEMBLED", written).replace("    LED\n", "")
    assert_told(refused(source, desk, retime), place, words)


@pytest.mark.parametrize("case", LED)
def test_what_cannot_stand_before_or_on_the_film_is_refused_at_its_line(
    case: str, desk: Path, retime: Program
) -> None:
    written, place, words = LED[case]
    source = MAP.replace("    ASSEMBLED\n", "")
    source = source.replace("LED", f"drop-frame: no\n    {written}")
    assert_told(refused(source, desk, retime), place, words)


@pytest.mark.parametrize("case", FRAMED)
def test_what_is_no_area_of_the_scan_is_refused_at_its_line(
    case: str, desk: Path, retime: Program
) -> None:
    written, place, words = FRAMED[case]
    source = MAP.replace("1, scan: lamp.mkv", f"1, scan: lamp.mkv, {written}")
    source = source.replace("ASSEMBLED", "titles: {speed: 18 fps}").replace("    LED\n", "")
    assert_told(refused(source, desk, retime), place, words)


def test_what_is_only_odd_is_a_warning(desk: Path, retime: Program) -> None:
    """An order that loses a shot, a folder with another file and without a title, another rate."""
    (desk / "titles").mkdir()
    (desk / "titles" / "notes.txt").write_text("remember the tide")
    (desk / "titles" / "2-1.png").write_bytes((desk / "card.png").read_bytes())
    path = desk / "lamp.yaml"
    assembled = "order: [2/1, 1/1]\n    replace: titles"
    path.write_text(MAP.replace("ASSEMBLED", assembled).replace("LED", "head: {movie: lamp.mkv}"))
    ran = retime("lint", path)

    assert 1 == ran.code, ran.said
    said = ran.out.replace(f"{path}:", "")
    assert "14:13: warning: in the order of version slow is lost: shot 1/2; add it to order" in said
    assert "15:14: warning: in titles, named by no shot: notes.txt" in said
    assert "15:14: warning: titles has no picture for title 1/2" in said
    assert "lamp.mkv says that it has 18 frames a second; it runs at 24 here" in said


def test_a_mistake_elsewhere_does_not_make_a_reel_unknown(desk: Path, retime: Program) -> None:
    path = desk / "lamp.yaml"
    source = MAP.replace("1, scan: lamp.mkv", "1, scan: lamp.mkv, rotate: 45")
    path.write_text(source.replace("ASSEMBLED", "order: [2, 1]").replace("    LED\n", ""))
    (line,) = retime("lint", path).out.splitlines()

    assert "is no quarter turn" in line
