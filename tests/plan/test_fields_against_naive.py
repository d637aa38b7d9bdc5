"""Fields, carried pictures and blends equal naive lists built from the definitions."""

from __future__ import annotations

from fractions import Fraction
from itertools import pairwise
from math import sqrt
from typing import TYPE_CHECKING

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from naive import NoRoomError, blended, carried, rows, shown, starts_of
from randomfilms import films

from retime.errors import NotationError
from retime.film.speed import Rate
from retime.plan.assembly import assemble
from retime.plan.carry import FIELDS, FRAMES, THREE_TWO, TWO_THREE, Carry
from retime.plan.conform import Conform
from retime.plan.drift import drift_of
from retime.plan.plan import plan_blend, plan_repeats
from retime.speedmap.model import Phase

if TYPE_CHECKING:
    from naive import Row

    from retime.plan.plan import Plan
    from retime.speedmap.decisions import Segment

INTERLACED = [Fraction(25), Fraction(30000, 1001), Fraction(30)]
SIXTY = [Fraction(30000, 1001), Fraction(30)]

conforms = st.builds(
    lambda rate, at: Conform.of(Rate(rate), at and Rate(at)),
    st.sampled_from(INTERLACED),
    st.none() | st.sampled_from([Fraction(24), *INTERLACED]),
)


def fields_of(plan: Plan) -> list[tuple[int | None, int | None]]:
    """Return what each field shows, two to an output frame, as unit and frame."""
    return [
        (look[0].unit, look[0].frame)
        for times, looks in plan.pictures()
        for _ in range(times)
        for look in (looks[0], looks[-1])
    ]


def check_counts_and_drift(plan: Plan, units: list[list[Row]], fields: list[Row]) -> None:
    """Hold counts and drift against a list of fields."""
    film = [row for unit in units for row in unit]
    starts = dict(zip(film, starts_of(film), strict=False))
    first: dict[Row, int] = {}
    for number, row in enumerate(fields):
        first.setdefault(row, number)
    held = sum(row.held for row in fields) - sum(row.held for row in first)
    counts, drift, at = plan.counts(), drift_of(plan), plan.conform.at.fps
    assert len(film) - len(first) == counts.dropped
    assert held == counts.held
    assert len(fields) - len(first) - held == counts.repeated
    assert counts.shown == len(fields)
    assert drift is not None
    drifts = [Fraction(number, 2) - starts[row] * at for row, number in first.items()]
    assert max(map(abs, drifts)) == drift.largest
    rms = sqrt(sum(float(one) ** 2 for one in drifts) / len(drifts)) / plan.conform.rate.fps * 1000
    assert drift.rms_ms == pytest.approx(rms, abs=1e-6)


@settings(max_examples=250, deadline=None)
@given(films(), conforms, st.sampled_from(Phase))
def test_a_cadence_in_fields_equals_the_list_that_the_definitions_give(
    film: list[Segment], conform: Conform, phase: Phase
) -> None:
    units, at = rows(film), conform.at.fps
    assume(sum(starts_of(unit)[-1] for unit in units) * at >= Fraction(1, 2))
    try:
        expected = shown(units, at, per_shot=phase is Phase.PER_SHOT, fields=True)
    except NoRoomError:
        with pytest.raises(NotationError, match="both need output field"):
            plan_repeats(assemble(film, {}), conform, phase, FIELDS)
        return
    plan = plan_repeats(assemble(film, {}), conform, phase, FIELDS)

    assert [(row.unit, row.frame) for row in expected] == fields_of(plan)
    assert len(expected) == 2 * plan.outputs
    check_counts_and_drift(plan, units, expected)


@settings(max_examples=150, deadline=None)
@given(
    films(),
    st.sampled_from(SIXTY).map(lambda rate: Conform.of(Rate(rate))),
    st.sampled_from(Phase),
    st.sampled_from([TWO_THREE, THREE_TWO]),
)
def test_pictures_carried_by_two_and_three_fields_equal_the_list(
    film: list[Segment], conform: Conform, phase: Phase, carry: Carry
) -> None:
    units = rows(film)
    total = sum(starts_of(unit)[-1] for unit in units)
    assume(total * 24 >= Fraction(1, 2))
    try:
        pulses = shown(units, Fraction(24), per_shot=phase is Phase.PER_SHOT)
    except NoRoomError:
        return
    expected = carried(pulses, carry.pattern)
    plan = plan_repeats(assemble(film, {}), conform, phase, carry)

    assert [(row.unit, row.frame) for row in expected] == fields_of(plan)
    check_counts_and_drift(plan, units, expected)


@settings(max_examples=150, deadline=None)
@given(films(), conforms, st.sampled_from(Phase))
def test_frames_carried_in_fields_are_the_frames_of_a_progressive_cadence(
    film: list[Segment], conform: Conform, phase: Phase
) -> None:
    try:
        plan = plan_repeats(assemble(film, {}), conform, phase, FRAMES)
    except NotationError:
        return
    units = rows(film)
    expected = shown(units, conform.at.fps, per_shot=phase is Phase.PER_SHOT)

    assert [(row.unit, row.frame) for row in expected for _ in (1, 2)] == fields_of(plan)


@settings(max_examples=150, deadline=None)
@given(
    films(),
    st.sampled_from([*INTERLACED, Fraction(24), Fraction(24000, 1001), Fraction(48)]),
    st.sampled_from(Phase),
    st.sampled_from([Fraction(1), Fraction(1, 2), Fraction(9, 10), Fraction(1, 7)]),
)
def test_a_blend_equals_the_weights_that_the_definitions_give(
    film: list[Segment], rate: Fraction, phase: Phase, window: Fraction
) -> None:
    conform, units = Conform.of(Rate(rate)), rows(film)
    at = conform.at.fps
    assume(sum(starts_of(unit)[-1] for unit in units) * at >= Fraction(1, 2))
    try:
        expected = blended(units, at, window, per_shot=phase is Phase.PER_SHOT)
    except NoRoomError:
        return
    plan = plan_blend(assemble(film, {}), conform, phase, window)
    found = [looks for times, looks in plan.pictures() for _ in range(times)]

    assert expected == [
        {(part.unit, part.frame): part.weight for part in look} for (look,) in found
    ]
    assert all(1 == sum(part.weight for part in look) for (look,) in found)
    assert len(expected) == plan.outputs
    counts = plan.counts()
    assert sum(len(look) > 1 for look in expected) == counts.blended
    shown_frames = {key for look in expected for key in look}
    assert sum(map(len, units)) - len(shown_frames) == counts.dropped
    assert drift_of(plan) is None


@settings(max_examples=200, deadline=None)
@given(films(), conforms, st.sampled_from(Phase), st.sampled_from([FIELDS, FRAMES]))
def test_neighbouring_pictures_differ(
    film: list[Segment], conform: Conform, phase: Phase, carry: Carry
) -> None:
    try:
        plan = plan_repeats(assemble(film, {}), conform, phase, carry)
    except NotationError:
        return
    pictures = list(plan.pictures())

    assert plan.outputs == sum(times for times, _ in pictures)
    assert all(len(fields) == 1 or fields[0] != fields[1] for _, fields in pictures)
    assert all(a != b for (_, a), (_, b) in pairwise(pictures))
