"""The taut string is what brute force finds on small cases, exactly."""

from __future__ import annotations

from fractions import Fraction
from itertools import accumulate, combinations, pairwise, product
from typing import TYPE_CHECKING, NamedTuple, TypeAlias

import pytest
from hypothesis import event, given, settings
from hypothesis import strategies as st

from retime.film.speed import Speed
from retime.plan.meeting import Between, Cue, meet
from retime.plan.passage import Limited, Passage
from retime.plan.taut_string import Gate, taut_string

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

LOW, HIGH = Fraction(1, 26), Fraction(1, 16)
LIMITS = Between(slowest=Speed(1 / HIGH), fastest=Speed(1 / LOW))

Frames: TypeAlias = tuple[Fraction, ...]
Row: TypeAlias = tuple[Fraction, ...]
"""The coefficients of a linear equation in the frame durations, and its right side."""


class Case(NamedTuple):
    """Passages without titles, and the cues at their ends."""

    film: list[Passage]
    score: list[Cue]


@st.composite
def cases(draw: st.DrawFn, count: int) -> Case:
    """Draw few passages with cues that lie near, some in reach and some not."""
    film, score, time = [], [], Fraction(0)
    for _ in range(count):
        passage = Passage(
            free=draw(st.integers(1, 12)) * 20, fixed=Fraction(draw(st.integers(0, 3)))
        )
        time += passage.lasts(Fraction(1, draw(st.integers(15, 28))))
        film.append(passage)
        score.append(Cue(time=time, tolerance=Fraction(draw(st.integers(0, 4)), 4)))
    return Case(film, score)


def ends(film: Sequence[Passage], frames: Sequence[Fraction]) -> list[Fraction]:
    """Return when each passage ends."""
    return list(accumulate(one.lasts(frame) for one, frame in zip(film, frames, strict=True)))


def beyond(case: Case, frames: Sequence[Fraction]) -> tuple[Fraction, ...]:
    """Return by how much each cue is missed beyond its tolerance."""
    return tuple(
        max(abs(end - cue.time) - cue.tolerance, Fraction(0))
        for end, cue in zip(ends(case.film, frames), case.score, strict=True)
    )


def variation(frames: Sequence[Fraction]) -> Fraction:
    """Return the sum of all changes."""
    return sum((abs(b - a) for a, b in pairwise(frames)), Fraction(0))


def smoothly(case: Case) -> Frames:
    met = meet(Fraction(0), case.film, case.score, LIMITS, smooth=True)
    return tuple(one.frame for one in met)


def planes(case: Case) -> Iterator[Row]:
    """Yield where a duration is at a limit, a cue at an end of its tolerance, two durations alike.

    Every sum or maximum of changes is linear in between, so that its least value within the
    limits is taken where as many planes cross as there are passages.
    """
    count = len(case.film)
    for number in range(count):
        own = [Fraction(one == number) for one in range(count)]
        yield (*own, LOW)
        yield (*own, HIGH)
    fixed = Fraction(0)
    for number, cue in enumerate(case.score, start=1):
        fixed += case.film[number - 1].fixed
        row = [Fraction(one.free if at < number else 0) for at, one in enumerate(case.film)]
        for side in {-cue.tolerance, cue.tolerance}:
            yield (*row, cue.time + side - fixed)
    for one, other in combinations(range(count), 2):
        yield (*(Fraction((at == one) - (at == other)) for at in range(count)), Fraction(0))


def crossing(rows: Sequence[Row]) -> Frames | None:
    """Solve as many equations as there are unknowns; None where they are not independent."""
    left, count = [list(row) for row in rows], len(rows)
    for column in range(count):
        pivot = next((at for at in range(column, count) if left[at][column]), None)
        if pivot is None:
            return None
        left[column], left[pivot] = left[pivot], left[column]
        top = [value / left[column][column] for value in left[column]]
        left = [
            top if at == column else [a - row[column] * b for a, b in zip(row, top, strict=True)]
            for at, row in enumerate(left)
        ]
    return tuple(row[-1] for row in left)


def corners(case: Case) -> list[Frames]:
    """Return every point within the limits where the least value of anything can lie."""
    found = (crossing(rows) for rows in combinations(planes(case), len(case.film)))
    return [frames for frames in found if frames and LOW <= min(frames) and max(frames) <= HIGH]


def check_against_corners(case: Case) -> None:
    own, all_corners = smoothly(case), corners(case)
    misses = min(beyond(case, frames) for frames in all_corners)
    best = [frames for frames in all_corners if misses == beyond(case, frames)]
    event("missed" if any(misses) else "met")
    event(f"changes: {sum(a != b for a, b in pairwise(own))}")

    assert misses == beyond(case, own)
    assert min(map(variation, best)) == variation(own)
    if variation(own):  # one speed throughout may be any that the gates let pass
        assert min(map(max, best)) == max(own)
        assert max(map(min, best)) == min(own)


@settings(max_examples=60, deadline=None)
@given(cases(2))
def test_two_passages_miss_and_change_as_little_as_any_corner_of_what_is_possible(
    case: Case,
) -> None:
    check_against_corners(case)


@settings(max_examples=40, deadline=None)
@given(cases(3))
def test_three_passages_miss_and_change_as_little_as_any_corner_of_what_is_possible(
    case: Case,
) -> None:
    check_against_corners(case)


def strings(film: Sequence[Passage], gates: Sequence[Gate]) -> Iterator[Frames]:
    """Yield every path through the gates that is straight between the posts that it touches.

    The last gate is a point; every other one may be touched early, late, or not at all.
    """
    for touched in product((None, 0, 1), repeat=len(gates) - 1):
        frames: list[Fraction] = []
        since, now, total = 0, Fraction(0), Passage()
        for number, (passage, gate) in enumerate(zip(film, gates, strict=True)):
            total += passage
            post = 0 if number == len(gates) - 1 else touched[number]
            if post is not None:
                frame = (gate[post] - now - total.fixed) / total.free
                frames += [frame] * (number + 1 - since)
                since, now, total = number + 1, gate[post], Passage()
        if all(
            gate.early <= end <= gate.late
            for end, gate in zip(ends(film, frames), gates, strict=True)
        ):
            yield tuple(frames)


@settings(max_examples=100, deadline=None)
@given(st.integers(2, 5).flatmap(cases))
def test_of_all_paths_with_its_end_the_string_has_the_least_squares(case: Case) -> None:
    # The least sum of squares over frames is, for some choice of touched posts, straight between
    # them: the quadratic problem's active sets, all tried.
    gates = [Gate(cue.time - cue.tolerance, cue.time + cue.tolerance) for cue in case.score]
    gates[-1] = Gate(case.score[-1].time, case.score[-1].time)
    own = taut_string(Fraction(0), case.film, gates, (Fraction(-9), Fraction(9)), Fraction(0))
    found = list(strings(case.film, gates))
    event(f"paths: {len(found)}")

    def squares(frames: Sequence[Fraction]) -> Fraction:
        pairs = zip(case.film, frames, strict=True)
        return sum((one.free * frame * frame for one, frame in pairs), Fraction(0))

    assert tuple(own) in found
    assert min(map(squares, found)) == squares(own)


@settings(max_examples=100, deadline=None)
@given(st.integers(1, 6).flatmap(cases))
def test_a_string_between_two_points_is_the_same_from_either_end(case: Case) -> None:
    gates = [Gate(cue.time - cue.tolerance, cue.time + cue.tolerance) for cue in case.score]
    end = case.score[-1].time
    gates[-1] = Gate(end, end)
    back = [Gate(end - gate.late, end - gate.early) for gate in reversed(gates[:-1])]
    lengths = (Fraction(-9), Fraction(9))

    there = taut_string(Fraction(0), case.film, gates, lengths, Fraction(0))
    again = taut_string(Fraction(0), case.film[::-1], [*back, Gate(end, end)], lengths, Fraction(0))

    assert there == again[::-1]


TITLED = [
    Passage(free=100, limited=(Limited(frames=40, at_least=Fraction(3)),)),
    Passage(free=20, fixed=Fraction(2), limited=(Limited(frames=60, at_most=Fraction(3)),)),
    Passage(limited=(Limited(frames=50, at_least=Fraction(2), at_most=Fraction(5, 2)),)),
    Passage(free=120),
]


@pytest.mark.parametrize(
    ("times", "tolerance"),
    [((8, 14, 16, 22), 1), ((9, 15, 18, 24), 1), ((8, 15, 17, 24), Fraction(1, 2))],
)
def test_among_titles_with_limits_no_point_of_a_grid_changes_less(
    times: tuple[int, ...], tolerance: Fraction | int
) -> None:
    score = [Cue(time=Fraction(time), tolerance=Fraction(tolerance)) for time in times]
    case = Case(TITLED, score)
    own = smoothly(case)
    grid = [LOW + (HIGH - LOW) * Fraction(step, 8) for step in range(9)]
    inside = [
        frames for frames in product(grid, repeat=len(TITLED)) if not any(beyond(case, frames))
    ]

    assert inside
    assert not any(beyond(case, own))
    assert variation(own) <= min(map(variation, inside))


def test_gates_that_no_limits_of_speed_let_pass_are_a_mistake_of_the_callers() -> None:
    with pytest.raises(AssertionError, match="pass the gates"):
        taut_string(
            Fraction(0),
            [Passage(free=10)],
            [Gate(Fraction(9), Fraction(9))],
            (LOW, HIGH),
            LOW,
        )
