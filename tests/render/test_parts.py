"""A part is those output frames of the whole that show what was asked for, and no others.

No scan is opened: what a part is can be known from a map that states how many frames each has.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, TypeAlias

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import Image

from retime.edition.join import join
from retime.errors import CommandError
from retime.film.timecode import label
from retime.render.parts import Part, part_outputs
from retime.report.listing import listing

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

    from retime.edition.edition import Edition, Making

MAP = """\
format: retime-map/1
film: The Lock-keeper               # invented
gauge: 35mm
transfer: bt1886
reels:
  - {reel: 1, scan: one.mkv, first: 4, last: 51, frames: 60}
  - {reel: 2, scan: two.mkv, last: 39, frames: 40}
  - {reel: 3, scan: three.mkv, frames: 9, gauge: 16mm}
shots:
  - {reel: 1, first: 4, last: 19, shot: 1}
  - {reel: 1, first: 20, last: 35, shot: 2, kind: title}
  - {reel: 1, first: 38, last: 51, shot: 3}
  - {reel: 2, first: 0, last: 6, shot: 1}
  - {reel: 2, first: 7, last: 24, shot: 2}
  - {reel: 2, first: 25, last: 39, shot: 3}
  - {reel: 3, first: 0, last: 8, shot: 1}
versions:
  plain: {speed: 20 fps, omit: [3]}
  assembled:
    speed: 20 fps
    omit: [3, 2/2]
    insert:
      - {after: 1/1, black: 0.3 s}
      - {after: 2/2, still: title.png, for: 0.2 s}
      - {after: 2, black: 0.1 s}
      - {before: 1, black: 0.2 s}
    replace: {1/2: title.png}
    titles: {at least: 1.5 s, loop: 5}
  moved:
    speed: 18 fps
    order: [2/2, 1, 2/3, 2/1, 2/1, 3]
    insert: {after: 3, play: 1/1}
deliverables:
  plain-24: {version: plain, profile: ffv1-master, rate: 24}
  assembled-24:
    version: assembled
    profile: ffv1-master
    rate: 24
    timecode: 01:00:00:00
    head: [{black: 0.5 s}, {still: title.png, for: 1 s}]
    tail: {black: 0.5 s}
  dropping:
    version: assembled
    profile: ffv1-master
    rate: 29.97
    timecode: 00:01:00;02
    head: {black: 1.4 s}
  past-midnight:
    version: plain
    profile: ffv1-master
    rate: 25
    timecode: 00:00:00:00
    head: {black: 2 s}
  fields: {version: assembled, profile: ffv1-master, rate: 25, scanning: top-first}
  two-three:
    version: moved
    profile: ffv1-master
    rate: 29.97
    scanning: bottom-first
    pulldown: 2:3
    head: {black: 1 s}
  counting-all: {version: plain, profile: ffv1-master, rate: 29.97, drop-frame: no}
  blend: {version: moved, profile: ffv1-master, rate: 24, method: blend}
  per-shot: {version: moved, profile: ffv1-master, rate: 25, phase: per-shot, tail: {black: 1 s}}
"""
NAMES = [
    "plain-24",
    "assembled-24",
    "dropping",
    "past-midnight",
    "fields",
    "two-three",
    "counting-all",
    "blend",
    "per-shot",
]
FIRSTS = {"1": 4, "2": 0, "3": 0}
FRAMES = {"1": 48, "2": 40, "3": 9}
PER_FOOT = {"1": 16, "2": 16, "3": 40}  # common practice for 35mm and 16mm

Owner: TypeAlias = tuple[str, str | None]
"""A reel, and a shot of it, None for what is in no shot."""


@pytest.fixture(scope="module")
def edition(tmp_path_factory: pytest.TempPathFactory) -> Edition:
    """Return the map's edition, planned without its scans."""
    folder: Path = tmp_path_factory.mktemp("lock")
    (folder / "lock.yaml").write_text(MAP)
    Image.new("RGB", (64, 48), "white").save(folder / "title.png")
    return join(folder / "lock.yaml")


def making_of(edition: Edition, name: str) -> Making:
    return next(making for making in edition.makings if making.name == name)


def outputs(edition: Edition, name: str, **part: str) -> range:
    return part_outputs(edition, making_of(edition, name), Part(**part))


def refusal(edition: Edition, name: str, **part: str) -> str:
    with pytest.raises(CommandError) as refused:
        outputs(edition, name, **part)
    return str(refused.value)


def owners(making: Making) -> list[set[Owner]]:
    """Return which shots each output frame shows something of; none in head and tail."""
    timeline = making.plan.timeline
    found: list[set[Owner]] = []
    for times, fields in making.plan.pictures():
        units = {part.unit for look in fields for part in look} - {None}
        shown = {timeline.units[unit] for unit in units if unit is not None}
        found += [{(timeline.reels[one.reel].name, one.shot) for one in shown}] * times
    return found


def span(numbers: Sequence[int]) -> range:
    return range(min(numbers), max(numbers) + 1)


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("reel", ["1", "2", "3"])
def test_a_reels_part_is_what_shows_anything_of_it(edition: Edition, name: str, reel: str) -> None:
    """What is put into a reel, at its end too, is of it."""
    making = making_of(edition, name)
    numbers = [
        output for output, shown in enumerate(owners(making)) if reel in {one for one, _ in shown}
    ]
    pieces = sum(one.name == reel for one in making.plan.timeline.reels)
    if pieces == 1:
        assert len(numbers) == len(span(numbers))
        assert span(numbers) == outputs(edition, name, reel=reel)
    elif pieces:
        assert f"reel {reel} plays in {pieces} pieces" in refusal(edition, name, reel=reel)
    else:
        assert f'reel "{reel}" does not play in {name}' in refusal(edition, name, reel=reel)


@pytest.mark.parametrize("name", NAMES)
def test_a_part_of_shots_is_from_the_first_of_them_to_the_last(edition: Edition, name: str) -> None:
    """What is put in between them is too; another shot between them is not."""
    keys = [shot.key for shot in edition.speed_map.shots]
    shown = owners(making_of(edition, name))
    for first in range(len(keys)):
        for last in range(first, len(keys)):
            wanted = set(keys[first : last + 1])
            text = f"{keys[first]}-{keys[last]}" if first < last else str(keys[first])
            numbers = [output for output, inside in enumerate(shown) if inside & wanted]
            if not numbers:
                assert f"{text} does not play in" in refusal(edition, name, shots=text)
                continue
            between = set().union(*shown[min(numbers) + 1 : max(numbers)]) & set(keys)
            if between <= wanted:
                assert span(numbers) == outputs(edition, name, shots=text)
            else:
                assert "does not play in one piece" in refusal(edition, name, shots=text)


@settings(deadline=None)
@given(st.data(), st.sampled_from(NAMES))
def test_labels_cut_where_the_whole_bears_them(
    edition: Edition, data: st.DataObject, name: str
) -> None:
    making = making_of(edition, name)
    labels = list(dict.fromkeys(row.timecode for row in listing(making)))
    total = making.plan.total
    assert total == len(labels)
    labels.append(label(making.start + total, making.plan.conform.rate, drop=making.drop_frame))
    begin = data.draw(st.integers(0, total - 1))
    end = data.draw(st.integers(begin + 1, total))

    assert range(begin, end) == outputs(edition, name, begin=labels[begin], end=labels[end])
    assert range(begin, total) == outputs(edition, name, begin=labels[begin])
    assert range(end) == outputs(edition, name, end=labels[end])
    assert "nothing plays in from" in refusal(edition, name, begin=labels[end], end=labels[begin])


@settings(deadline=None)
@given(st.data(), st.sampled_from(["plain-24", "assembled-24", "dropping", "fields"]))
def test_labels_and_a_reel_cut_what_is_within_both(
    edition: Edition, data: st.DataObject, name: str
) -> None:
    making = making_of(edition, name)
    labels = list(dict.fromkeys(row.timecode for row in listing(making)))
    begin = data.draw(st.integers(0, len(labels) - 2))
    end = data.draw(st.integers(begin + 1, len(labels) - 1))
    part = {"reel": "2", "begin": labels[begin], "end": labels[end]}
    whole = outputs(edition, name, reel="2")
    both = range(max(begin, whole.start), min(end, whole.stop))
    if both:
        assert both == outputs(edition, name, **part)
    else:
        assert "nothing plays in reel 2" in refusal(edition, name, **part)


def first_shown(making: Making, reel: str, frame: int) -> int:
    """Return the first output frame of a film frame, or of the next one of its reel that is shown.

    After the last of the reel, the one after it.
    """
    rows = [row for row in listing(making) if row.reel == reel]
    found = [(int(row.frame), row.output) for row in rows if int(row.frame) >= frame]
    return min(found)[1] if found else rows[-1].output + 1


@pytest.mark.parametrize(
    ("name", "reel"),
    [
        ("plain-24", "1"),
        ("plain-24", "2"),
        ("assembled-24", "1"),
        ("assembled-24", "2"),
        ("dropping", "2"),
        ("fields", "1"),
        ("two-three", "3"),
        ("blend", "3"),
        ("per-shot", "3"),
    ],
)
def test_feet_and_frames_cut_at_the_first_showing_of_that_film_frame(
    edition: Edition, name: str, reel: str
) -> None:
    """A foot holds 16 frames of 35mm and 40 of 16mm; 0+00 is the first frame of picture."""
    making = making_of(edition, name)
    for number in range(FRAMES[reel] + 1):
        feet = f"{number // PER_FOOT[reel]}+{number % PER_FOOT[reel]:02}"
        at = first_shown(making, reel, FIRSTS[reel] + number)
        whole = outputs(edition, name, reel=reel)
        if at > whole.start:
            assert range(whole.start, at) == outputs(edition, name, reel=reel, end=feet)
        if at < whole.stop:
            assert range(at, whole.stop) == outputs(edition, name, reel=reel, begin=feet)


@pytest.mark.parametrize(("name", "reel"), [("plain-24", "1"), ("per-shot", "2")])
@pytest.mark.parametrize(("feet", "number"), [("0+00", 0), ("0+07", 7), ("1+00", 16), ("2+05", 37)])
def test_feet_without_a_reel_are_of_the_one_that_plays_first(
    edition: Edition, name: str, reel: str, feet: str, number: int
) -> None:
    """Where a reel's shots are out of order too, a place is that of its film frame."""
    making = making_of(edition, name)
    at = first_shown(making, reel, FIRSTS[reel] + number)

    assert range(at, making.plan.total) == outputs(edition, name, begin=feet)


@pytest.mark.parametrize(
    ("name", "part", "text"),
    [
        ("plain-24", {"reel": "4"}, 'reel "4" does not play in plain-24; it has 1, 2'),
        ("plain-24", {"shots": "1/9"}, 'there is no shot "1/9"'),
        ("plain-24", {"shots": "2"}, '"2" names no shot; write reel/shot, such as 1/14'),
        ("plain-24", {"reel": "1", "shots": "2/1"}, "nothing plays in reel 1, shots 2/1"),
        ("plain-24", {"begin": "00:00:00;00"}, "a rate of 24 has no drop-frame labels"),
        ("two-three", {"begin": "00:00:01:00"}, "the labels of two-three are drop-frame"),
        ("per-shot", {"end": "00:00:01;00"}, "a rate of 25 has no drop-frame labels"),
        ("counting-all", {"end": "00:00:01;00"}, "the labels of counting-all are not drop-frame"),
        ("dropping", {"begin": "00:01:10:00"}, "the labels of dropping are drop-frame"),
        ("dropping", {"begin": "00:01:00;01"}, "does not exist: drop-frame skips it"),
        ("plain-24", {"begin": "00:00:00:24"}, "does not exist at 24"),
        ("plain-24", {"begin": "00:10:00:00"}, "00:10:00:00 is no label of plain-24"),
        ("assembled-24", {"end": "00:59:58:00"}, "00:59:58:00 is no label of assembled-24"),
        ("plain-24", {"end": "0:01"}, "is no timecode"),
        ("plain-24", {"end": "1+16"}, "has 16 frames beyond whole feet"),
        ("plain-24", {"end": "0+00"}, "nothing plays in to 0+00"),
        # Reel 1 has 48 frames of picture, three feet; reel 2 has 40.
        ("plain-24", {"begin": "3+01"}, "3+01 is past the end of reel 1, which is 3+00"),
        ("plain-24", {"begin": "1+00", "end": "99+00"}, "99+00 is past the end of reel 1"),
        ("plain-24", {"reel": "2", "end": "2+09"}, "2+09 is past the end of reel 2, which is 2+08"),
    ],
)
def test_what_is_no_part_is_refused(
    edition: Edition, name: str, part: dict[str, str], text: str
) -> None:
    assert text in refusal(edition, name, **part)


def test_nothing_asked_is_the_whole(edition: Edition) -> None:
    for making in edition.makings:
        assert range(making.plan.total) == part_outputs(edition, making, Part())


def test_a_part_says_what_it_is_and_names_its_file_so() -> None:
    part = Part(reel="2", begin="01:00:10:00", end="39+14")

    assert "reel 2, from 01:00:10:00, to 39+14" == part.said
    assert ".reel-2_from-01.00.10.00_to-39+14" == part.suffix
    assert ".shots-2-3-2-7" == Part(shots="2/3-2/7").suffix
