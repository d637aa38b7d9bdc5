"""Cadence strips show what a frame-by-frame list shows, field by field and weight by weight."""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING

import pytest
from filmstrips import planned, strip
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from naive import Kind, NoRoomError, blended, carried, rows, shown, starts_of
from randomfilms import Assembled, assemblies, conforms, films

from retime.film.speed import Rate
from retime.plan.assembly import assemble
from retime.plan.carry import FIELDS, FRAMES, TWO_THREE, Carry
from retime.plan.conform import Conform
from retime.plan.plan import plan_blend, plan_repeats
from retime.report.edition_holds import drops_of
from retime.report.edition_strips import strip_of
from retime.report.stretches import passages
from retime.speedmap.model import Phase

if TYPE_CHECKING:
    from retime.plan.plan import Plan
    from retime.report.edition_strips import Cell
    from retime.speedmap.decisions import Segment

SIXTY = Conform.of(Rate(Fraction(30000, 1001)))


def cells_of(plan: Plan, pulses: int | None) -> list[Cell]:
    """Return the cells of the strips of all of a plan's passages."""
    strips = [strip_of(plan, passage, pulses, lambda _, frame: frame) for passage in passages(plan)]
    return [cell for one in strips if one is not None for cell in one.cells]


def named(plan: Plan, pulses: int) -> list[list[str]]:
    """Return the first passage's cells as the film frames of each face, repeats in brackets."""
    passage = next(passages(plan))
    told = strip_of(plan, passage, pulses, lambda _, frame: frame)
    assert told is not None
    assert told.whole
    return [
        [f"({face.seen[0].name})" if face.again else face.seen[0].name for face in cell.faces]
        for cell in told.cells
    ]


@settings(max_examples=50, deadline=None)
@given(
    films(),
    conforms,
    st.sampled_from(Phase),
    st.sampled_from([FRAMES, FIELDS, TWO_THREE]),
    st.none() | st.integers(1, 30),
)
def test_every_cell_shows_the_film_frames_of_the_list(
    film: list[Segment], conform: Conform, phase: Phase, carry: Carry, cycle: int | None
) -> None:
    if carry is TWO_THREE:
        conform = SIXTY
    units, grid = rows(film), Fraction(24) if carry is TWO_THREE else conform.at.fps
    assume(sum(starts_of(unit)[-1] for unit in units) * grid >= Fraction(1, 2))
    try:
        pulses = shown(units, grid, per_shot=phase is Phase.PER_SHOT, fields=carry is FIELDS)
    except NoRoomError:
        return
    fields = carried(pulses, carry.pattern)
    plan = plan_repeats(assemble(film, {}), conform, phase, carry)
    cells = cells_of(plan, cycle)

    assert len(cells) > 0
    for cell in cells:
        numbers = (2 * cell.output, 2 * cell.output + 1)[: len(cell.faces)]
        assert len(cell.faces) == (1 if carry is FRAMES else 2)
        for face, field in zip(cell.faces, numbers, strict=True):
            step = 2 if carry is FRAMES else 1
            row, before = fields[field], fields[field - step] if field >= step else None
            assert [str(row.frame)] == [seen.name for seen in face.seen]
            assert face.again == (
                before is not None and (before.unit, before.frame) == (row.unit, row.frame)
            )


@settings(max_examples=30, deadline=None)
@given(
    films(shots=3, longest=40),
    st.sampled_from(Phase),
    st.sampled_from([Fraction(1), Fraction(1, 2), Fraction(2, 3)]),
)
def test_a_blends_cells_tell_the_weights_of_the_list(
    film: list[Segment], phase: Phase, window: Fraction
) -> None:
    units, grid, per_shot = rows(film), Fraction(24), phase is Phase.PER_SHOT
    assume(sum(starts_of(unit)[-1] for unit in units) * grid >= Fraction(1, 2))
    try:
        looks = blended(units, grid, window, per_shot=per_shot)
    except NoRoomError:
        return
    plan = plan_blend(assemble(film, {}), Conform.of(Rate(grid)), phase, window)

    for cell in cells_of(plan, None):
        (face,) = cell.faces
        expected = {str(frame): float(part) for (_, frame), part in looks[cell.output].items()}
        assert expected == pytest.approx({seen.name: seen.share for seen in face.seen})
        assert 1 == pytest.approx(sum(seen.share for seen in face.seen))


@settings(max_examples=50, deadline=None)
@given(assemblies(), conforms, st.sampled_from([FRAMES, FIELDS]))
def test_drops_shot_by_shot_sum_to_what_the_plan_counts(
    assembled: Assembled, conform: Conform, carry: Carry
) -> None:
    units = rows(assembled.items, holes=assembled.holes)
    grid, fields = conform.at.fps, carry is FIELDS
    assume(sum(starts_of(unit)[-1] for unit in units) * grid >= Fraction(1, 2))
    try:
        pulses = shown(units, grid, per_shot=False, fields=fields)
    except NoRoomError:
        return
    timeline = assemble(assembled.items, assembled.holes)
    plan = plan_repeats(timeline, conform, Phase.CONTINUOUS, carry)
    film = {(row.unit, row.frame) for unit in units for row in unit if row.kind is Kind.FILM}
    turns = {Kind.FILM, Kind.AGAIN}  # not what stands in for a missing frame
    unseen = film - {(row.unit, row.frame) for row in pulses if row.kind in turns}
    drops = list(drops_of(plan))

    assert len(unseen) == sum(drop.frames for drop in drops) == plan.counts().dropped
    assert len({unit for unit, _ in unseen}) == len(drops)


def test_two_three_carries_four_film_frames_in_five_output_frames() -> None:
    # A A, B B, B C, C D, D D: the definition of pulldown at divxland.org, four film frames A to D
    # in the ten fields AABBBCCDDD.
    plan = plan_repeats(assemble(strip((48, 24)), {}), SIXTY, Phase.CONTINUOUS, TWO_THREE)

    expected = [["0", "(0)"], ["1", "(1)"], ["(1)", "2"], ["(2)", "3"], ["(3)", "(3)"]]
    assert expected == named(plan, pulses=1)


def test_twenty_in_fifty_fields_is_two_and_three_in_turn() -> None:
    # 2:3 in 25 interlaced (common practice): five fields hold two film frames, five frames four.
    cells = named(planned(strip((40, 20)), 25, carry=FIELDS), pulses=5)

    assert 5 == len(cells)
    flat = [name.strip("()") for cell in cells for name in cell]
    assert [flat.count(str(frame)) for frame in range(4)] in ([3, 2, 3, 2], [2, 3, 2, 3])


def test_a_dropped_film_frame_is_marked_where_it_would_stand() -> None:
    plan = planned(strip((30, 30)), 24)
    told = strip_of(plan, next(passages(plan)), 4, lambda _, frame: frame)

    assert told is not None
    assert 1 == sum(len(face.skipped) for cell in told.cells for face in cell.faces)
    # Film frames last 4/5 of an output frame; the middles 1/2, 3/2, 5/2, 7/2 fall on 0, 1, 3, 4.
    assert [(), (), (2,), ()] == [cell.faces[0].skipped for cell in told.cells]


def test_a_transfers_film_frames_are_told_by_its_own_numbers() -> None:
    plan = planned(strip((10, 24)), 24)
    told = strip_of(plan, next(passages(plan)), 1, lambda _, frame: 1000 + frame)

    assert told is not None
    assert "1000" == told.cells[0].faces[0].seen[0].name
