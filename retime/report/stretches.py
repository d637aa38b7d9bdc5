"""Stretches of constant speed and their cadences, as a report tells them."""

from __future__ import annotations

from typing import TYPE_CHECKING

from msgspec import Struct
from msgspec.structs import replace

from retime.plan.cadence import Cadence, cadence_at
from retime.plan.layout import ratio_on
from retime.plan.onset import onset_of
from retime.plan.timeline import Even, Shows
from retime.speedmap.model import Phase

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence
    from fractions import Fraction

    from retime.plan.plan import Plan
    from retime.plan.timeline import Stretch

__all__ = ["Passage", "cadence_of", "passages"]


class Passage(Struct, frozen=True, kw_only=True):
    """Film frames ``first``..``last`` of a reel at one pace, cuts that break nothing left aside.

    ``output_first`` and ``output_last`` are None where the passage shows nothing, ``first`` and
    ``last`` where it shows no film.
    """

    reel: str
    first: int | None
    last: int | None
    stretch: Stretch
    lasts: Fraction
    output_first: int | None
    output_last: int | None


def passages(plan: Plan) -> Iterator[Passage]:
    """Yield a plan's passages in playing order.

    In continuous phase neighbours of one speed are one passage; in per-shot phase the cadence
    restarts at every cut, and so does the passage. A loop is one passage, whichever way it runs.
    """
    timeline = plan.timeline
    bounds = _bounds(plan)
    at = 0
    while at < len(timeline.stretches):
        stop = at + 1
        while stop < len(timeline.stretches) and _joined(plan, stop):
            stop += 1
        opening, closing = timeline.stretches[at], timeline.stretches[stop - 1]
        firsts = [bounds[index][0] for index in range(at, stop) if index in bounds]
        lasts = [bounds[index][1] for index in range(at, stop) if index in bounds]
        first, last = _span(timeline.stretches[at:stop])
        yield Passage(
            reel=timeline.reels[timeline.units[opening.unit].reel].name,
            first=first,
            last=last,
            stretch=opening,
            lasts=closing.start + closing.pace.elapsed(closing.count) - opening.start,
            output_first=min(firsts, default=None),
            output_last=max(lasts, default=None),
        )
        at = stop


def _span(stretches: Sequence[Stretch]) -> tuple[int | None, int | None]:
    """Return the first and the last film frame that stretches show, None where they show none."""
    opening = stretches[0]
    if opening.frame(0) is None and opening.inset:
        return None, None
    if opening.again:
        ends = [frame for one in stretches for frame in (one.first, one.last)]
        return min(ends), max(ends)
    return opening.first, stretches[-1].last if opening.shows is Shows.FILM else opening.first


def _bounds(plan: Plan) -> dict[int, tuple[int, int]]:
    """Return the first and last output frame of every stretch that shows any."""
    bounds: dict[int, tuple[int, int]] = {}
    head = plan.head_frames
    for piece in plan.pieces:
        begin = head + plan.carry.first_field(piece.pulse_first) // 2
        first, _ = bounds.get(piece.stretch, (begin, 0))
        last = head + (plan.carry.first_field(piece.pulse_stop) - 1) // 2
        bounds[piece.stretch] = (first, min(last, head + plan.outputs - 1))
    return bounds


def _joined(plan: Plan, index: int) -> bool:
    """Tell whether a stretch only goes on with what the one before it does."""
    before, here = plan.timeline.stretches[index - 1], plan.timeline.stretches[index]
    units = plan.timeline.units
    if before.again and here.again:
        return before.unit == here.unit
    return (
        plan.phase is Phase.CONTINUOUS
        and isinstance(here.pace, Even)
        and before.pace == here.pace
        and not before.held
        and not here.held
        and before.last + 1 == here.first
        and units[before.unit].reel == units[here.unit].reel
    )


def cadence_of(plan: Plan, stretch: Stretch) -> Cadence | None:
    """Return the cadence from a stretch's first frame; a ramp, a hold and a hole have none.

    A blend has none either, nor a speed at which nearly all film frames are dropped. In fields a
    cycle of one film frame is told twice, 2:2 or 3:3, as the trade says it (common practice).
    """
    if plan.window is not None or stretch.held or not isinstance(stretch.pace, Even):
        return None
    grid = plan.grid.pulses
    start = stretch.start if plan.phase is Phase.CONTINUOUS else stretch.offset
    step, beat = ratio_on(stretch.pace, grid)
    cadence = cadence_at(step, beat, onset_of(start, None, grid).phase(step))
    if cadence is not None and plan.carry.per_frame > 1 and cadence.film_frames == 1:
        return replace(cadence, runs=2 * cadence.runs, film_frames=2, outputs=2 * cadence.outputs)
    return cadence
