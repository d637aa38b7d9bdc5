"""Drift over time equals what a frame-by-frame listing finds in every column."""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING

import pytest
from filmstrips import planned, strip
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from naive import Kind, NoRoomError, rows, shown, starts_of
from randomfilms import Assembled, assemblies, conforms, films

from retime.film.speed import Ramp, Rate, Speed
from retime.plan.assembly import assemble
from retime.plan.carry import FIELDS, THREE_TWO, TWO_THREE, Carry
from retime.plan.conform import Conform
from retime.plan.drift import drift_of
from retime.plan.drift_bands import drift_bands
from retime.plan.plan import plan_blend, plan_repeats
from retime.speedmap.decisions import RampPart, Segment
from retime.speedmap.model import Phase

if TYPE_CHECKING:
    from collections.abc import Sequence

    from naive import Row

    from retime.plan.plan import Plan

sixty = st.sampled_from([Fraction(30000, 1001), Fraction(30)]).map(
    lambda rate: Conform.of(Rate(rate))
)


def listed(
    plan: Plan, units: list[list[Row]], pulses: Sequence[Row], columns: int
) -> dict[int, list[float]]:
    """Return the drifts in every column, in seconds, frame by frame from the definitions."""
    film = [row for unit in units for row in unit]
    starts = dict(zip(film, starts_of(film), strict=False))
    pattern, field = plan.carry.pattern, 0
    seen: set[tuple[int, int | None]] = set()
    found: dict[int, list[float]] = {}
    for pulse, row in enumerate(pulses):
        if row.kind in {Kind.FILM, Kind.AGAIN} and (row.unit, row.frame) not in seen:
            seen.add((row.unit, row.frame))
            if row.kind is Kind.FILM:
                late = Fraction(field, 2) - starts[row] * plan.conform.at.fps
                drifts = found.setdefault(pulse * columns // len(pulses), [])
                drifts.append(float(late / plan.conform.rate.fps))
        field += pattern[pulse % len(pattern)]
    return found


def check(plan: Plan, units: list[list[Row]], pulses: Sequence[Row], columns: int) -> None:
    expected = listed(plan, units, pulses, columns)
    bands = drift_bands(plan, columns)

    assert sorted(expected) == [band.column for band in bands]
    assert [min(one) for _, one in sorted(expected.items())] == pytest.approx(
        [band.low for band in bands], abs=1e-9
    )
    assert [max(one) for _, one in sorted(expected.items())] == pytest.approx(
        [band.high for band in bands], abs=1e-9
    )


@settings(max_examples=80, deadline=None)
@given(films(), conforms, st.sampled_from(Phase), st.integers(1, 400))
def test_bands_hold_what_a_list_of_all_frames_gives(
    film: list[Segment], conform: Conform, phase: Phase, columns: int
) -> None:
    units, grid = rows(film), conform.at.fps
    assume(sum(starts_of(unit)[-1] for unit in units) * grid >= Fraction(1, 2))
    try:
        pulses = shown(units, grid, per_shot=phase is Phase.PER_SHOT)
    except NoRoomError:
        return

    check(plan_repeats(assemble(film, {}), conform, phase), units, pulses, columns)


@settings(max_examples=50, deadline=None)
@given(
    films(),
    sixty,
    st.sampled_from(Phase),
    st.sampled_from([FIELDS, TWO_THREE, THREE_TWO]),
    st.integers(1, 400),
)
def test_bands_hold_it_in_fields_and_where_two_and_three_carry(
    film: list[Segment], conform: Conform, phase: Phase, carry: Carry, columns: int
) -> None:
    units, fields = rows(film), carry is FIELDS
    grid = conform.at.fps if fields else Fraction(24)
    assume(sum(starts_of(unit)[-1] for unit in units) * grid >= Fraction(1, 2))
    try:
        pulses = shown(units, grid, per_shot=phase is Phase.PER_SHOT, fields=fields)
    except NoRoomError:
        return

    check(plan_repeats(assemble(film, {}), conform, phase, carry), units, pulses, columns)


@settings(max_examples=50, deadline=None)
@given(assemblies(), conforms, st.integers(1, 400))
def test_bands_leave_out_what_is_put_in_and_a_loops_showings(
    assembled: Assembled, conform: Conform, columns: int
) -> None:
    units, grid = rows(assembled.items, holes=assembled.holes), conform.at.fps
    assume(sum(starts_of(unit)[-1] for unit in units) * grid >= Fraction(1, 2))
    try:
        pulses = shown(units, grid, per_shot=False)
    except NoRoomError:
        return
    plan = plan_repeats(assemble(assembled.items, assembled.holes), conform, Phase.CONTINUOUS)

    check(plan, units, pulses, columns)


def test_a_long_ramp_and_a_long_shot_have_the_largest_drift_that_the_whole_has() -> None:
    ramp = RampPart(ramp=Ramp(Speed(Fraction(16)), Speed(Fraction(22))), index=0, count=20_000)
    plan = planned(strip((40_000, Fraction(179, 10)), (20_000, ramp)), 24)
    drift, bands = drift_of(plan), drift_bands(plan, 500)

    assert drift is not None
    assert 500 == len(bands)
    largest = max(max(-band.low, band.high) for band in bands)
    assert drift.largest_ms == pytest.approx(1000 * largest, abs=1e-9)


def test_a_blend_has_no_bands() -> None:
    blend = plan_blend(
        assemble(strip((30, 18)), {}), Conform.of(Rate(Fraction(24))), Phase.CONTINUOUS
    )

    assert [] == drift_bands(blend, 10)


def test_eighteen_in_twenty_four_drifts_by_thirds_of_a_frame() -> None:
    # Frame n of 18 begins at n/18 s, 4n/3 output frames; it is first shown on the output frame
    # whose middle is the first at or past that: 0, 1, 3 and so on, off by 0, -1/3 and 1/3.
    bands = drift_bands(planned(strip((18, 18)), 24), 24)

    assert [0, 1, 3] == [band.column for band in bands[:3]]
    assert pytest.approx([0, -1 / 72, 1 / 72]) == [band.low for band in bands[:3]]
    assert pytest.approx([0, -1 / 72, 1 / 72]) == [band.high for band in bands[:3]]
