"""Every frame that is shown has a place, and places come in the order in which pictures do."""

from __future__ import annotations

from collections import defaultdict
from fractions import Fraction
from itertools import pairwise
from typing import TYPE_CHECKING, NamedTuple

import pytest
from filmstrips import strip
from hypothesis import event, given, settings
from hypothesis import strategies as st
from msgspec.structs import replace
from randomfilms import arrangements, films, holed

from retime.errors import NotationError
from retime.film.speed import Rate
from retime.light.raster import Rectangle
from retime.plan.assembly import Hole, assemble
from retime.plan.carry import FIELDS, FRAMES
from retime.plan.conform import Conform
from retime.plan.plan import plan_blend, plan_repeats
from retime.plan.timeline import Shows
from retime.render.cursor import Cursor
from retime.render.reading import Run, readings_of
from retime.render.recipe import frames_of
from retime.render.sources import Sources
from retime.speedmap.arrangement import Inserted
from retime.speedmap.assembly import Plate
from retime.speedmap.model import Phase, ShotKind

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from retime.plan.plan import Plan
    from retime.plan.timeline import Stretch, Timeline
    from retime.render.reading import Place, Places, Reading
    from retime.speedmap.arrangement import Item
    from retime.speedmap.decisions import Segment

SCANS = {"0": 0, "1": 1, "print": 2}
BLACK = Inserted(reel="0", kind=ShotKind.ACTION, lasts=Fraction(1))


class Slot(NamedTuple):
    """A film frame where a version shows it."""

    reel: str
    frame: int
    unit: int
    stretch: Stretch


def slots_of(timeline: Timeline) -> Iterator[Slot]:
    """Yield every slot that shows a film frame, in the order of time."""
    for stretch in timeline.stretches:
        reel = timeline.reels[timeline.units[stretch.unit].reel].name
        for number in range(stretch.count):
            frame = stretch.frame(number)
            if frame is not None:
                yield Slot(reel, frame, stretch.unit, stretch)


@st.composite
def version_lists(draw: st.DrawFn) -> list[Timeline]:
    """Draw some versions of one film, each assembled in its own way."""
    film = draw(films(reels=2, shots=3, longest=12))
    holes = draw(holed(film))
    each = draw(st.lists(arrangements(film), min_size=1, max_size=3))
    return [assemble(items, holes) for items in each]


def read(timelines: Sequence[Timeline]) -> list[tuple[Timeline, Reading, Places]]:
    found = readings_of(timelines, SCANS)
    return [(one, *two) for one, two in zip(timelines, found, strict=True)]


@settings(max_examples=100, deadline=None)
@given(version_lists())
def test_every_film_frame_that_is_shown_has_a_place_in_a_run_of_its_scan(
    timelines: list[Timeline],
) -> None:
    for timeline, reading, places in read(timelines):
        for slot in slots_of(timeline):
            number, frame = places.of(slot.unit, slot.frame)
            run = reading.runs[number]
            assert slot.frame == frame
            assert SCANS[slot.reel] == run.scan
            assert run.first <= frame <= run.last


@settings(max_examples=100, deadline=None)
@given(version_lists())
def test_places_rise_in_playing_order_and_a_loop_keeps_within_its_span(
    timelines: list[Timeline],
) -> None:
    for timeline, _, places in read(timelines):
        reached: Place = (0, 0)
        for slot in slots_of(timeline):
            place = places.of(slot.unit, slot.frame)
            if slot.stretch.again:
                assert any(first <= place <= last for first, last in places.loops)
            else:
                assert reached <= place
            reached = max(reached, place)
        assert all(before[1] < after[0] for before, after in pairwise(places.loops))


@settings(max_examples=100, deadline=None)
@given(version_lists())
def test_a_frame_has_as_many_places_as_it_has_turns(timelines: list[Timeline]) -> None:
    for timeline, _, places in read(timelines):
        turns: dict[tuple[str, int], list[Place]] = defaultdict(list)
        for slot in slots_of(timeline):
            if slot.stretch.fresh:
                turns[slot.reel, slot.frame].append(places.of(slot.unit, slot.frame))
        assert all(sorted(set(found)) == found for found in turns.values())


@settings(max_examples=100, deadline=None)
@given(version_lists())
def test_no_run_goes_on_where_the_one_before_it_ends(timelines: list[Timeline]) -> None:
    for _, reading, _ in read(timelines):
        assert all(run.first <= run.last for run in reading.runs)
        assert all(
            (before.scan, before.last + 1) != (after.scan, after.first)
            for before, after in pairwise(reading.runs)
        )
        assert reading.frames == sum(len(range(run.first, run.last + 1)) for run in reading.runs)


def missing_from(pictures: Plan, reading: Reading, places: Places) -> int:
    """Return how many pictures cannot be made while a reading goes by once, keeping what it wants.

    A frame is kept as long as the cursor says that a picture to come is made of it.
    """
    sources = Sources(places=places, areas={}, whole=Rectangle(left=0, top=0, width=16, height=16))
    cursor = Cursor(sources.wanted(pictures), places.loops)
    kept: set[Place] = set()
    missing = 0
    for number, run in enumerate(reading.runs):
        for frame in range(run.first, run.last + 1):
            place = number, frame
            if not cursor.wants(place):
                continue
            kept.add(place)
            missing += sum(not frames_of(one.recipe) <= kept for one in cursor.ready(place))
            oldest = cursor.oldest()
            kept = {one for one in kept if oldest is not None and one >= oldest}
    missing += sum(not frames_of(one.recipe) <= kept for one in cursor.ready(None))
    return missing


@settings(max_examples=100, deadline=None)
@given(version_lists(), st.sampled_from(["repeat", "blend", "fields"]), st.sampled_from(Phase))
def test_every_picture_can_be_made_while_the_scans_go_by_once(
    timelines: list[Timeline], method: str, phase: Phase
) -> None:
    conform = Conform.of(Rate(Fraction(25)))
    for timeline, reading, places in read(timelines):
        try:
            if method == "blend":
                plan = plan_blend(timeline, conform, phase)
            else:
                carry = FIELDS if method == "fields" else FRAMES
                plan = plan_repeats(timeline, conform, phase, carry)
        except NotationError:
            continue
        event(method)
        assert 0 == missing_from(plan, reading, places)


@st.composite
def cut_versions(draw: st.DrawFn) -> list[list[Item]]:
    """Draw versions of one film that leave out shots, put stills and black in and in place."""
    film = draw(films(reels=2, shots=4, longest=12))
    versions: list[list[Item]] = []
    for _ in range(draw(st.integers(1, 4))):
        items: list[Item] = []
        for segment in film:
            match draw(st.sampled_from(["play", "play", "leave out", "replace", "put in"])):
                case "play":
                    items.append(segment)
                case "replace":
                    items.append(replace(segment, plate=Plate(address="title.png")))
                case "put in":
                    items += [segment, BLACK]
        versions.append(items or [BLACK])
    return versions


@settings(max_examples=100, deadline=None)
@given(cut_versions())
def test_versions_that_leave_out_and_put_in_share_one_reading_in_the_scans_own_order(
    versions: list[list[Item]],
) -> None:
    timelines = [assemble(items, {}) for items in versions]
    found = read(timelines)
    (reading,) = {reading for _, reading, _ in found}
    played = {(SCANS[one.reel], one.frame) for each in timelines for one in slots_of(each)}

    assert sorted(reading.runs) == list(reading.runs)
    everything = [(run.scan, at) for run in reading.runs for at in range(run.first, run.last + 1)]
    assert sorted(played) == everything


@settings(max_examples=60, deadline=None)
@given(st.data(), films(reels=2, shots=4, longest=12))
def test_versions_that_play_two_shots_in_opposite_orders_are_read_apart(
    data: st.DataObject, film: list[Segment]
) -> None:
    if len(film) == 1:
        return
    first = data.draw(st.integers(0, len(film) - 2))
    second = data.draw(st.integers(first + 1, len(film) - 1))
    swapped = list(film)
    swapped[first], swapped[second] = swapped[second], swapped[first]
    one, other = readings_of([assemble(film, {}), assemble(swapped, {})], SCANS)

    assert one[0] != other[0]


def runs_of(*versions: Sequence[Item], holes: Sequence[Hole] = ()) -> list[tuple[Run, ...]]:
    """Return the runs of every version of one reel, which is scan 0."""
    timelines = [assemble(items, {"1": holes}) for items in versions]
    return [reading.runs for reading, _ in readings_of(timelines, {"1": 0})]


A, B, C, D = strip((10, 20), (10, 20), (10, 20), (10, 20))


def test_a_film_as_scanned_is_one_run() -> None:
    assert [(Run(0, 0, 39),)] == runs_of([A, B, C, D])


def test_frames_that_no_version_plays_are_not_read() -> None:
    assert [(Run(0, 0, 9), Run(0, 20, 29)), (Run(0, 0, 9), Run(0, 20, 29))] == runs_of([A, C], [A])


def test_a_shot_that_plays_again_is_read_again() -> None:
    assert [(Run(0, 0, 19), Run(0, 0, 9))] == runs_of([A, B, A])


def test_orders_that_are_at_odds_nowhere_share_a_pass() -> None:
    both = (Run(0, 20, 29), Run(0, 0, 19), Run(0, 0, 9), Run(0, 30, 39))

    assert [both, both, both] == runs_of([A, B, A], [C, B, D], [C, A, D])


def test_orders_at_odds_are_read_apart_and_others_go_with_the_first_that_takes_them() -> None:
    forward, backward = (Run(0, 0, 39),), (Run(0, 10, 19), Run(0, 0, 9))

    assert [forward, backward, forward] == runs_of([A, B, C, D], [B, A], [A, D])


def places_of(items: Sequence[Item], holes: Sequence[Hole]) -> tuple[Reading, list[Place]]:
    """Return the reading of a version of one reel, and the places of all its slots in order."""
    timeline = assemble(items, {"1": holes})
    ((reading, places),) = readings_of([timeline], {"1": 0})
    return reading, [places.of(one.unit, one.frame) for one in slots_of(timeline)]


def hole(first: int, count: int) -> Hole:
    return Hole(first=first, count=count, shows=Shows.STILL)


def test_what_stands_in_for_a_whole_missing_shot_is_not_read_twice_after_its_own() -> None:
    reading, places = places_of([A, B, C], [hole(10, 10)])

    assert (Run(0, 0, 29),) == reading.runs
    assert [(0, frame) for frame in (*range(10), *[9] * 10, *range(20, 30))] == places


def test_what_stands_in_for_several_missing_shots_in_a_row_is_not_read_twice_either() -> None:
    reading, places = places_of([A, B, C, D], [hole(10, 20)])

    assert (Run(0, 0, 39),) == reading.runs
    assert [(0, frame) for frame in (*range(10), *[9] * 20, *range(30, 40))] == places


def test_what_stands_in_for_a_missing_shot_is_read_for_it_where_its_own_shot_does_not_play() -> (
    None
):
    reading, places = places_of([B, C], [hole(10, 10)])

    assert (Run(0, 9, 29),) == reading.runs
    assert [(0, frame) for frame in (*[9] * 10, *range(20, 30))] == places


def test_what_stands_in_is_read_again_where_its_own_shot_has_gone_on_since() -> None:
    """Frames 0 to 29 are put in, of which 10 to 19 are missing, and then B, which is just these."""
    whole = replace(A, last=29, shot=None)
    reading, places = places_of([whole, B], [hole(10, 10)])

    assert (Run(0, 0, 29), Run(0, 9, 19)) == reading.runs
    assert [(1, 9)] * 10 == places[-10:]
    assert sorted(places) == places


def test_a_part_is_read_from_its_first_place_to_its_last_in_every_run_that_it_has() -> None:
    ((reading, _),) = readings_of([assemble([A, B, A, D], {})], {"1": 0})

    assert (Run(0, 0, 19), Run(0, 0, 9), Run(0, 30, 39)) == reading.runs
    assert {0: Run(0, 15, 18), 2: Run(0, 33, 33)} == reading.trimmed([(0, 18), (2, 33), (0, 15)])
    assert {} == reading.trimmed([])


@pytest.mark.parametrize("loop", [2, 5])
def test_a_loops_span_is_from_its_first_frame_to_its_last(loop: int) -> None:
    looped = replace(B, exactly=Fraction(2), loop=loop)
    ((_, places),) = readings_of([assemble([A, looped], {})], {"1": 0})
    low = 14 - (loop - 1) // 2

    assert (((0, low), (0, low + loop - 1)),) == places.loops
