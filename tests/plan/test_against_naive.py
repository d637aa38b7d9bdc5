"""The run-length plan equals, frame for frame, a naive list built from the definitions."""

from __future__ import annotations

from fractions import Fraction
from math import sqrt
from typing import TYPE_CHECKING

import pytest
from filmstrips import drifted
from hypothesis import assume, event, given, settings
from hypothesis import strategies as st
from naive import NoRoomError, Row, rows, shown, starts_of, tally
from randomfilms import conforms, films

from retime.errors import NotationError
from retime.plan.assembly import assemble, solved_duration
from retime.plan.plan import Plan, plan_repeats
from retime.speedmap.decisions import Free, Segment
from retime.speedmap.model import Phase

if TYPE_CHECKING:
    from retime.plan.conform import Conform


def listed(plan: Plan) -> list[tuple[int, int | None]]:
    """Return the plan's output frames one by one, as unit and frame."""
    return [
        (showing.unit, showing.frame) for showing in plan.showings() for _ in range(showing.times)
    ]


def planned(film: list[Segment], conform: Conform, *, per_shot: bool) -> Plan:
    return plan_repeats(
        assemble(film, {}), conform, Phase.PER_SHOT if per_shot else Phase.CONTINUOUS
    )


@settings(max_examples=800, deadline=None)
@given(films(), conforms, st.sampled_from(Phase))
def test_a_plan_equals_the_list_that_the_definitions_give(
    film: list[Segment], conform: Conform, phase: Phase
) -> None:
    per_shot = phase is Phase.PER_SHOT
    units, grid = rows(film), conform.at.fps
    assume(sum(starts_of(unit)[-1] for unit in units) * grid >= Fraction(1, 2))
    try:
        expected = shown(units, grid, per_shot=per_shot)
    except NoRoomError:
        event("no room")
        with pytest.raises(NotationError, match="both need output frame"):
            planned(film, conform, per_shot=per_shot)
        return
    plan = planned(film, conform, per_shot=per_shot)

    assert [(row.unit, row.frame) for row in expected] == listed(plan)
    assert len(expected) / conform.rate.fps == plan.runtime
    expected_tally, counts = tally(units, expected, grid), plan.counts()
    assert expected_tally.repeated == counts.repeated
    assert expected_tally.dropped == counts.dropped
    assert expected_tally.held == counts.held
    assert counts.outputs == counts.source - counts.dropped + counts.repeated + counts.held

    drift = drifted(plan)
    drifts = expected_tally.drifts
    assert max(map(abs, drifts)) == drift.largest
    rms = sqrt(sum(float(one) ** 2 for one in drifts) / len(drifts)) / conform.rate.fps * 1000
    assert drift.rms_ms == pytest.approx(rms, abs=1e-6)
    total = sum(starts_of(unit)[-1] for unit in units)
    assert len(expected) / conform.rate.fps - total / conform.run_change == drift.end


@settings(max_examples=200, deadline=None)
@given(films(), conforms, st.sampled_from(Phase))
def test_a_plan_never_runs_backwards_and_keeps_its_drift_bound(
    film: list[Segment], conform: Conform, phase: Phase
) -> None:
    per_shot = phase is Phase.PER_SHOT
    units, grid = rows(film), conform.at.fps
    try:
        plan = planned(film, conform, per_shot=per_shot)
    except NotationError:
        return
    shown_frames = listed(plan)

    assert sorted(shown_frames) == shown_frames
    if rescued(units, grid, per_shot=per_shot):
        return  # the rule puts such a shot, and what it takes from, outside the bound
    assert drifted(plan).largest <= (1 if per_shot else Fraction(1, 2))
    long_enough = {
        (row.unit, row.frame) for unit in units for row in unit if row.duration >= 1 / grid
    }
    missing = long_enough - set(shown_frames)
    if not per_shot:
        assert not missing
    for unit, frame in missing:  # only a shot without any repeat has no room
        inside = [seen for seen in shown_frames if seen[0] == unit]
        assert len(set(inside)) == len(inside)
        assert frame == units[unit][-1].frame


def rescued(units: list[list[Row]], grid: Fraction, *, per_shot: bool) -> bool:
    """Tell whether some shot has no output frame by the plain rules."""
    clock = Fraction(0)
    for unit in units:
        length = starts_of(unit)[-1]
        first, stop = clock * grid, (clock + length) * grid
        if per_shot:
            empty = (first + Fraction(1, 2)) // 1 == (stop + Fraction(1, 2)) // 1
        else:
            empty = -((Fraction(1, 2) - first) // 1) == -((Fraction(1, 2) - stop) // 1)
        if empty:
            return True
        clock += length
    return False


@settings(max_examples=250, deadline=None)
@given(films(free=True), st.fractions(min_value=1, max_value=60, max_denominator=100))
def test_a_solved_speed_gives_exactly_the_runtime_asked_for(
    film: list[Segment], runtime: Fraction
) -> None:
    duration = solved_duration(film, runtime)
    if duration is None:
        event("unreachable")
        return

    assert duration > 0
    assert runtime == assemble(film, {}, duration).duration


@settings(max_examples=200, deadline=None)
@given(films(free=True), st.fractions(min_value=Fraction(1, 60), max_value=1, max_denominator=90))
def test_a_runtime_that_some_speed_gives_is_found(film: list[Segment], duration: Fraction) -> None:
    assume(any(isinstance(one.pace, Free) and one.exactly is None for one in film))
    runtime = assemble(film, {}, duration).duration
    solved = solved_duration(film, runtime)

    assert solved is not None
    assert runtime == assemble(film, {}, solved).duration
