"""Loops play back and forth on neighbouring frames, and last exactly as long as the hold."""

from __future__ import annotations

from fractions import Fraction
from itertools import pairwise
from typing import TYPE_CHECKING

import pytest
from filmstrips import planned, shown, strip
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from msgspec.structs import replace

from retime.film.rounding import floor_of
from retime.plan.assembly import Hole, assemble
from retime.plan.loop import loop_runs, loop_window
from retime.plan.timeline import Shows

if TYPE_CHECKING:
    from retime.plan.loop import LoopRun
    from retime.plan.timeline import Timeline

durations = st.fractions(min_value=Fraction(1, 120), max_value=1, max_denominator=1001)
windows = st.tuples(st.integers(0, 50), st.integers(1, 15)).map(lambda two: (two[0], sum(two)))


def frames_of(run: LoopRun) -> list[int]:
    step = -1 if run.backward else 1
    return [run.first + step * number for number in range(run.frames)]


def path(low: int, high: int, slots: int) -> list[int]:
    runs = loop_runs(low, high, Fraction(1), Fraction(slots))
    return [frame for run in runs for frame in frames_of(run)]


@pytest.mark.parametrize(
    ("slots", "frames"),
    [
        (1, [5]),
        (2, [4, 5]),
        (3, [4, 4, 5]),
        (4, [4, 3, 4, 5]),
        (5, [4, 3, 4, 5, 5]),
        (6, [4, 3, 4, 5, 4, 5]),
        (7, [4, 3, 4, 5, 4, 4, 5]),
        (8, [4, 3, 4, 5, 4, 3, 4, 5]),
    ],
)
def test_the_last_turn_is_as_short_as_it_has_to_be(slots: int, frames: list[int]) -> None:
    assert frames == path(3, 5, slots)


@given(windows, durations, st.fractions(min_value=1, max_value=200, max_denominator=1001))
def test_a_loop_lasts_the_hold_in_whole_frames_and_a_rest_that_is_shorter(
    window: tuple[int, int], duration: Fraction, frames: Fraction
) -> None:
    hold = frames * duration
    runs = list(loop_runs(*window, duration, hold))
    slots, rest = floor_of(hold / duration), hold % duration

    assert hold == sum(run.duration * run.frames for run in runs)
    assert slots == sum(run.frames for run in runs if run.duration == duration)
    assert [rest] * bool(rest) == [run.duration for run in runs if run.duration != duration]
    assert all(run.frames for run in runs)
    if rest:
        assert (window[1], 1, False, rest) == runs[-1]


@given(windows, st.integers(1, 200))
def test_a_loop_moves_on_from_its_end_and_comes_back_to_it_by_neighbours_inside_itself(
    window: tuple[int, int], slots: int
) -> None:
    low, high = window
    frames = [high, *path(low, high, slots)]

    assert all(low <= frame <= high for frame in frames)
    assert high == frames[-1]
    steps = [after - before for before, after in pairwise(frames)]
    assert all(abs(step) <= 1 for step in steps)
    assert slots % 2 == steps.count(0)


@given(windows, st.integers(1, 200))
def test_every_turn_but_the_last_goes_down_to_the_loops_first_frame(
    window: tuple[int, int], slots: int
) -> None:
    low, high = window
    turn = 2 * (high - low)

    assert slots // turn <= path(low, high, slots).count(low) <= slots // turn + 2


@given(st.integers(0, 50), st.integers(1, 40), st.integers(1, 60))
def test_a_loops_frames_lie_in_the_shot_about_its_middle_and_are_as_many_as_said(
    first: int, count: int, loop: int
) -> None:
    last = first + count - 1
    low, high = loop_window(first, last, loop)

    assert first <= low <= high <= last
    assert min(loop, count) == high - low + 1
    assert abs((low + high) - (first + last)) <= 1
    assert low <= (first + last) // 2 <= high  # the frame that would stand still


def slots_of(timeline: Timeline) -> list[tuple[int | None, Fraction]]:
    """Return every slot's film frame and duration, neighbours of one frame put together."""
    found: list[tuple[int | None, Fraction]] = []
    for stretch in timeline.stretches:
        for slot in range(stretch.count):
            lasts = stretch.pace.elapsed(slot + 1) - stretch.pace.elapsed(slot)
            found.append((stretch.frame(slot), lasts))
    return found


@settings(deadline=None)
@given(
    st.integers(1, 30),
    st.integers(1, 15),
    st.fractions(min_value=5, max_value=60, max_denominator=20),
    st.fractions(min_value=Fraction(1, 10), max_value=10, max_denominator=60),
)
def test_a_held_shot_with_a_loop_lasts_as_told_and_never_jumps(
    count: int, loop: int, speed: Fraction, lasts: Fraction
) -> None:
    (shot,) = strip((count, speed), limits={0: {"exactly": lasts}})
    natural = count / speed
    assume(lasts >= natural)
    slots = slots_of(assemble([replace(shot, loop=loop)], {}))
    frames = [frame for frame, _ in slots]

    assert lasts == sum(duration for _, duration in slots)
    assert all(
        abs(after - before) <= 1
        for before, after in pairwise(frames)
        if before is not None and after is not None
    )
    assert set(range(count)) == set(frames)
    low, high = loop_window(0, count - 1, loop)
    often = {frame for frame in frames if frame is not None and frames.count(frame) > 1}
    assert often <= set(range(low, high + 1))
    if low < high and lasts - natural >= 1 / speed:
        assert all(duration <= 1 / speed for _, duration in slots)
    else:  # one frame stands still
        assert list(range(count)) == frames


def test_a_loop_plays_where_the_middle_frame_would_stand() -> None:
    """Nine frames at 10 in 10, a loop of three, and a hold of five: down, up, and one stands."""
    (shot,) = strip((9, 10), limits={0: {"exactly": Fraction(14, 10)}})
    plan = planned([replace(shot, loop=3)], 10)

    assert [0, 1, 2, 3, 4, 5, 4, 3, 4, 5, 5, 6, 7, 8] == shown(plan)
    counts = plan.counts()
    assert (9, 14, 0, 0, 5) == (
        counts.source,
        counts.outputs,
        counts.repeated,
        counts.dropped,
        counts.held,
    )


@pytest.mark.parametrize("missing", [3, 4, 5])
def test_a_loop_with_a_frame_missing_stands_still(missing: int) -> None:
    (shot,) = strip((9, 10), limits={0: {"exactly": Fraction(14, 10)}})
    hole = Hole(first=missing, count=1, shows=Shows.STILL)
    there = [frame if frame != missing else missing - 1 for frame in range(9)]

    assert [*there[:4], *[there[4]] * 6, *there[5:]] == shown(
        planned([replace(shot, loop=3)], 10, holes=[hole])
    )


@pytest.mark.parametrize("missing", [2, 6])
def test_a_frame_missing_beside_the_loop_leaves_it_alone(missing: int) -> None:
    (shot,) = strip((9, 10), limits={0: {"exactly": Fraction(14, 10)}})
    hole = Hole(first=missing, count=1, shows=Shows.STILL)
    there = [frame if frame != missing else missing - 1 for frame in range(9)]

    assert [*there[:6], 4, 3, 4, 5, 5, *there[6:]] == shown(
        planned([replace(shot, loop=3)], 10, holes=[hole])
    )


def test_a_hold_shorter_than_a_frame_stands_still_and_one_of_a_frame_plays() -> None:
    """Five frames at 10, a loop of frames 1 to 3: a frame over stands where the loop ends."""
    (shorter,) = strip((5, 10), limits={0: {"exactly": Fraction(59, 100)}})
    (just_one,) = strip((5, 10), limits={0: {"exactly": Fraction(6, 10)}})

    assert 1 == len([one for one in assemble([replace(shorter, loop=3)], {}).stretches if one.hold])
    assert [0, 1, 2, 3, 3, 4] == shown(planned([replace(just_one, loop=3)], 10))
