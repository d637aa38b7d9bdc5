"""Holes in a sequence: held or black, their time kept, and every output frame accounted for."""

from __future__ import annotations

from fractions import Fraction

import pytest
from filmstrips import planned, shown, strip
from hypothesis import given, reject, settings
from hypothesis import strategies as st
from msgspec.structs import replace

from retime.errors import NotationError
from retime.plan.assembly import Hole
from retime.plan.timeline import Shows
from retime.speedmap.model import Phase


def hole(first: int, count: int, shows: Shows) -> Hole:
    return Hole(first=first, count=count, shows=shows)


def test_a_held_hole_shows_the_frame_before_it() -> None:
    plan = planned(strip((6, 24)), 24, holes=[hole(2, 2, Shows.STILL)])

    assert shown(plan) == [0, 1, 1, 1, 4, 5]
    counts = plan.counts()
    assert (counts.source, counts.held, counts.repeated, counts.dropped) == (4, 2, 0, 0)


def test_a_black_hole_is_black_for_its_time() -> None:
    plan = planned(strip((6, 12)), 24, holes=[hole(2, 2, Shows.BLACK)])

    assert shown(plan) == [0, 0, 1, 1, None, None, None, None, 4, 4, 5, 5]
    assert {None} == plan.plates()
    assert plan.counts().held == 4


def test_a_hole_that_opens_a_shot_shows_the_shots_own_next_frame() -> None:
    plan = planned(strip((3, 24), (3, 24)), 24, holes=[hole(3, 1, Shows.STILL)])

    assert shown(plan) == [0, 1, 2, 4, 4, 5]


def test_a_hole_that_is_a_whole_shot_shows_the_frame_before() -> None:
    plan = planned(strip((3, 24), (2, 24), (3, 24)), 24, holes=[hole(3, 2, Shows.STILL)])

    assert shown(plan) == [0, 1, 2, 2, 2, 5, 6, 7]


def test_a_held_title_whose_middle_is_a_hole_holds_what_stands_in_it() -> None:
    film = strip((5, 10), limits={0: {"at_least": Fraction(1)}})
    plan = planned(film, 10, holes=[hole(2, 1, Shows.STILL)])

    assert shown(plan) == [0, 1, 1, 1, 1, 1, 1, 1, 3, 4]


shot_lists = st.lists(
    st.tuples(st.integers(1, 20), st.sampled_from([12, 16, 20, 24, 30])), min_size=1, max_size=5
)


@settings(max_examples=200, deadline=None)
@given(
    shot_lists,
    st.integers(0, 30),
    st.integers(1, 6),
    st.sampled_from([Shows.STILL, Shows.BLACK]),
    st.sampled_from(Phase),
)  # fmt: skip
def test_output_frames_are_source_less_dropped_plus_repeated_plus_held(
    shots: list[tuple[int, int]], first: int, count: int, shows: Shows, phase: Phase
) -> None:
    total = sum(frames for frames, _ in shots)
    inner = first >= 1 and first + count < total  # a scan neither opens nor closes with a hole
    holes = [hole(first, count, shows)] if inner else []
    try:
        plan = planned(strip(*shots), 24, holes=holes, phase=phase)
    except NotationError:  # several shots too short for an output frame each
        reject()
    counts = plan.counts()

    assert counts.outputs == len(shown(plan))
    assert counts.outputs == counts.source - counts.dropped + counts.repeated + counts.held
    assert counts.source == total - (count if inner else 0)


@pytest.mark.parametrize("phase", Phase)
def test_a_plan_is_as_small_as_its_shots_are_few(phase: Phase) -> None:
    def pieces(times: int) -> int:
        return len(planned(strip((97 * times, 18), (53 * times, 20)), 24, phase=phase).pieces)

    assert pieces(1) == pieces(1000) == 2


def test_a_film_shorter_than_half_an_output_frame_is_refused() -> None:
    film = [replace(segment, last=0) for segment in strip((1, 100))]

    with pytest.raises(ValueError, match="shorter than half an output frame"):
        planned(film, 24)
