"""Plans of assembled films equal, frame for frame, a naive list built from the definitions."""

from __future__ import annotations

from fractions import Fraction
from math import sqrt
from typing import TYPE_CHECKING, TypeAlias

import pytest
from filmstrips import planned, strip
from filmstrips import shown as shown_frames
from hypothesis import assume, event, given, settings
from hypothesis import strategies as st
from msgspec.structs import replace
from naive import Kind, NoRoomError, blended, carried, rows, shown, starts_of, tally
from randomfilms import assemblies, conforms, leads

from retime.errors import NotationError
from retime.film.speed import Ramp, Rate, Speed
from retime.plan.assembly import Hole, assemble
from retime.plan.carry import FIELDS, THREE_TWO, TWO_THREE, Carry
from retime.plan.conform import Conform
from retime.plan.drift import drift_of
from retime.plan.plan import plan_blend, plan_repeats
from retime.plan.timeline import Shows
from retime.speedmap.decisions import RampPart
from retime.speedmap.model import Phase

if TYPE_CHECKING:
    from naive import Row
    from randomfilms import Assembled

    from retime.plan.look import Look
    from retime.plan.plan import Lead, Plan
    from retime.speedmap.assembly import Plate

Seen: TypeAlias = tuple[int | None, int | None, "Plate | None"]
"""What an output frame or field shows: unit, film frame, plate."""

interlaced = st.builds(
    lambda rate, at: Conform.of(Rate(rate), at and Rate(at)),
    st.sampled_from([Fraction(25), Fraction(30000, 1001), Fraction(30)]),
    st.none() | st.sampled_from([Fraction(24), Fraction(25), Fraction(30)]),
)
in_sixty = st.sampled_from([Fraction(30000, 1001), Fraction(30)]).map(
    lambda rate: Conform.of(Rate(rate))
)


def fields_of(plan: Plan) -> list[Look]:
    """Return what each field shows, two to an output frame."""
    return [
        look
        for times, looks in plan.pictures()
        for _ in range(times)
        for look in (looks[0], looks[-1])
    ]


def seen_in(plan: Plan) -> list[Seen]:
    """Return what each field of a plan that mixes nothing shows."""
    assert all(1 == len(look) and 1 == look[0].weight for look in fields_of(plan))
    return [(part.unit, part.frame, part.plate) for (part,) in fields_of(plan)]


def expected_of(row: Row) -> Seen:
    return row.unit, row.frame, row.plate


def expected_of_leads(leads: tuple[Lead, ...]) -> list[Seen]:
    """Return what the fields of a head or a tail show: a movie plays on, frame by frame."""
    found: list[Seen] = []
    for lead in leads:
        for number in range(lead.frames):
            plate = lead.plate
            if lead.moving and plate is not None:
                plate = replace(plate, frame=number)
            found += [(None, None, plate)] * 2
    return found


def check_bounds(plan: Plan, film: Assembled, fields: list[int]) -> None:
    """Hold where shots and reels begin and end against the units of the film's ``fields``."""
    head = 2 * plan.head_frames
    firsts = {unit: head + fields.index(unit) for unit in range(len(film.items))}
    stops = {unit: firsts.get(unit + 1, head + len(fields)) for unit in firsts}
    assert {unit: (firsts[unit], stops[unit]) for unit in firsts} == plan.unit_fields()
    opens = [
        unit
        for unit, item in enumerate(film.items)
        if unit == 0 or film.items[unit - 1].reel != item.reel
    ]
    closes = [*(unit - 1 for unit in opens[1:]), len(film.items) - 1]
    expected = [(firsts[one], stops[other]) for one, other in zip(opens, closes, strict=True)]
    assert expected == plan.reel_fields()
    assert [film.items[unit].reel for unit in opens] == [one.name for one in plan.timeline.reels]


def check_counts(plan: Plan, units: list[list[Row]], fields: list[Row], each: int) -> None:
    """Hold counts and drift against a list of fields, or of output frames."""
    at, rate = plan.conform.at.fps, plan.conform.rate.fps
    expected, counts, drift = tally(units, fields, at, each=each), plan.counts(), drift_of(plan)
    assert expected.source == counts.source
    assert len(fields) == counts.shown
    assert expected.repeated == counts.repeated
    assert expected.dropped == counts.dropped
    assert expected.held == counts.held
    assert expected.inserted == counts.inserted
    assert counts.shown == (
        counts.source - counts.dropped + counts.repeated + counts.held + counts.inserted
    )
    assert drift is not None
    assert max(map(abs, expected.drifts), default=0) == drift.largest
    squares = [float(one) ** 2 for one in expected.drifts]
    rms = sqrt(sum(squares) / len(squares)) / rate * 1000 if squares else 0
    assert drift.rms_ms == pytest.approx(rms, abs=1e-6)
    clock, ends = Fraction(0), []
    for unit in units:
        clock += starts_of(unit)[-1]
        ends.append(clock)
    assert clock == plan.timeline.duration
    assert (plan.outputs - clock * at) / rate == drift.end
    lasts = [reel.units[1] - 1 for reel in plan.timeline.reels]
    stops = [stop - 2 * plan.head_frames for _, stop in plan.reel_fields()]
    assert drift.reel_ends == tuple(
        (Fraction(stop, 2) - ends[last] * at) / rate
        for stop, last in zip(stops, lasts, strict=True)
    )


def units_of(film: Assembled, grid: Fraction) -> list[list[Row]]:
    units = rows(film.items, holes=film.holes)
    assume(sum(starts_of(unit)[-1] for unit in units) * grid >= Fraction(1, 2))
    for kind in {row.kind for unit in units for row in unit}:
        event(str(kind))
    return units


@settings(max_examples=250, deadline=None)
@given(assemblies(), conforms, st.sampled_from(Phase), leads(), leads())
def test_a_plan_of_an_assembled_film_equals_the_list(
    film: Assembled,
    conform: Conform,
    phase: Phase,
    head: tuple[Lead, ...],
    tail: tuple[Lead, ...],
) -> None:
    grid = conform.at.fps
    units = units_of(film, grid)
    try:
        expected = shown(units, grid, per_shot=phase is Phase.PER_SHOT)
    except NoRoomError:
        with pytest.raises(NotationError, match="both need output frame"):
            plan_repeats(assemble(film.items, film.holes), conform, phase)
        return
    plan = plan_repeats(assemble(film.items, film.holes), conform, phase)
    plan = replace(plan, head=head, tail=tail)
    in_fields = [row for row in expected for _ in (1, 2)]

    before, after = expected_of_leads(head), expected_of_leads(tail)
    assert [*before, *map(expected_of, in_fields), *after] == seen_in(plan)
    assert len(expected) == plan.outputs
    assert len(expected) / conform.rate.fps == plan.runtime
    assert (len(before) + len(in_fields) + len(after)) / 2 == plan.total
    check_counts(plan, units, expected, 1)
    check_bounds(plan, film, [row.unit for row in in_fields])


@settings(max_examples=120, deadline=None)
@given(assemblies(), interlaced, st.sampled_from(Phase), leads())
def test_a_cadence_in_fields_of_an_assembled_film_equals_the_list(
    film: Assembled, conform: Conform, phase: Phase, head: tuple[Lead, ...]
) -> None:
    at, per_shot = conform.at.fps, phase is Phase.PER_SHOT
    units = units_of(film, at)
    try:
        expected = shown(units, at, per_shot=per_shot, fields=True)
    except NoRoomError:
        with pytest.raises(NotationError, match="both need output field"):
            plan_repeats(assemble(film.items, film.holes), conform, phase, FIELDS)
        return
    plan = plan_repeats(assemble(film.items, film.holes), conform, phase, FIELDS)
    plan = replace(plan, head=head)

    assert [*expected_of_leads(head), *map(expected_of, expected)] == seen_in(plan)
    assert len(expected) == 2 * plan.outputs
    check_counts(plan, units, expected, 2)
    check_bounds(plan, film, [row.unit for row in expected])


@settings(max_examples=100, deadline=None)
@given(
    assemblies(),
    in_sixty,
    st.sampled_from(Phase),
    st.sampled_from([TWO_THREE, THREE_TWO]),
    leads(),
)
def test_an_assembled_film_carried_by_two_and_three_fields_equals_the_list(
    film: Assembled, conform: Conform, phase: Phase, carry: Carry, head: tuple[Lead, ...]
) -> None:
    units = units_of(film, Fraction(24))
    try:
        pulses = shown(units, Fraction(24), per_shot=phase is Phase.PER_SHOT)
    except NoRoomError:
        assume(False)
    expected = carried(pulses, carry.pattern)
    plan = plan_repeats(assemble(film.items, film.holes), conform, phase, carry)
    plan = replace(plan, head=head)

    assert [*expected_of_leads(head), *map(expected_of, expected)] == seen_in(plan)
    check_counts(plan, units, expected, 2)
    check_bounds(plan, film, [row.unit for row in expected])


@settings(max_examples=130, deadline=None)
@given(
    assemblies(),
    conforms,
    st.sampled_from(Phase),
    st.sampled_from([Fraction(1), Fraction(1, 2), Fraction(9, 10), Fraction(1, 7)]),
    leads(),
)
def test_a_blend_of_an_assembled_film_equals_the_weights_that_the_definitions_give(
    film: Assembled, conform: Conform, phase: Phase, window: Fraction, head: tuple[Lead, ...]
) -> None:
    at, per_shot = conform.at.fps, phase is Phase.PER_SHOT
    units = units_of(film, at)
    try:
        expected = blended(units, at, window, per_shot=per_shot)
    except NoRoomError:
        assume(False)
    plan = plan_blend(assemble(film.items, film.holes), conform, phase, window)
    plan = replace(plan, head=head)
    looks = [look for times, (look,) in plan.pictures() for _ in range(times)]
    looks = looks[plan.head_frames :]

    assert expected == [{(part.unit, part.frame): part.weight for part in look} for look in looks]
    plates = {(row.unit, row.frame): row.plate for unit in units for row in unit}
    assert all(plates[part.unit or 0, part.frame] == part.plate for one in looks for part in one)
    check_blend_counts(plan, units, expected)
    owners = [row.unit for row in shown(units, at, per_shot=per_shot) for _ in (1, 2)]
    check_bounds(plan, film, owners)


def check_blend_counts(
    plan: Plan, units: list[list[Row]], looks: list[dict[tuple[int, int | None], Fraction]]
) -> None:
    """Hold a blend's counts against what its output frames are means of."""
    kinds = {(row.unit, row.frame): row.kind for unit in units for row in unit}
    film = {(row.unit, row.frame) for unit in units for row in unit if row.kind is Kind.FILM}
    alone = [next(iter(look)) for look in looks if len(look) == 1]
    counts = plan.counts()
    assert len(looks) == plan.outputs == counts.shown
    assert len(looks) - len(alone) == counts.blended
    assert len(film) == counts.source
    assert len(film - {key for look in looks for key in look}) == counts.dropped
    assert sum(kinds[key] is Kind.INSET for key in alone) == counts.inserted
    assert drift_of(plan) is None


def test_a_hole_that_ends_a_shot_takes_no_repeat_from_its_frames() -> None:
    """Shots of 3, 4 and 5 frames at 20 in 24: frame 6 would be given the second shot's repeat."""
    film, black = strip((3, 20), (4, 20), (5, 20)), Hole(first=6, count=1, shows=Shows.BLACK)
    last = [7, 8, 9, 9, 10, 11]

    assert [0, 1, 2, 2, 3, 4, 5, 6, *last] == shown_frames(planned(film, 24, phase=Phase.PER_SHOT))
    holed = planned(film, 24, phase=Phase.PER_SHOT, holes=[black])
    assert [0, 1, 2, 2, 3, 4, 5, 5, *last] == shown_frames(holed)


def test_a_frame_whose_first_showing_goes_to_a_vanishing_shot_counts_by_its_next() -> None:
    """Frame 6 is shown twice, and the first of the two is given up for frame 4; 5 is dropped."""
    ramp = RampPart(ramp=Ramp(Speed(Fraction(16)), Speed(Fraction(8))), index=0, count=2)
    limits = {2: {"at_most": Fraction(1, 60)}, 3: {"at_most": Fraction(1, 20)}}
    film = strip((2, 16), (2, 16), (1, 16), (2, ramp), limits=limits)
    plan = planned(film, 24, phase=Phase.PER_SHOT)

    assert [0, 1, 1, 2, 3, 3, 4, 6] == shown_frames(plan)
    assert (1, 2) == (plan.counts().dropped, plan.counts().repeated)
    check_counts(plan, rows(film), shown(rows(film), Fraction(24), per_shot=True), 1)
