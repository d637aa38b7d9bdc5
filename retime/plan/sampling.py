"""Which film frame each output frame shows, by repeat: continuous or per-shot phase."""

from __future__ import annotations

from bisect import bisect_right
from collections import Counter
from typing import TYPE_CHECKING

from retime.errors import NotationError
from retime.film.rounding import floor_of, half_up
from retime.plan.beat import still
from retime.plan.layout import Piece, lay
from retime.plan.timeline import Shows
from retime.speedmap.model import Phase

if TYPE_CHECKING:
    from collections.abc import Iterable
    from fractions import Fraction

    from retime.plan.timeline import Timeline, Unit

__all__ = ["sample"]


def sample(timeline: Timeline, grid: Fraction, phase: Phase) -> tuple[Piece, ...]:
    """Return the pieces of all round(T x ``grid``) output frames, in order and without gaps.

    ``grid`` is output frames per second of true time. Raises NotationError where a shot can
    be given no output frame at all.
    """
    count = half_up(timeline.duration * grid)
    if count == 0:
        raise NotationError("the film is shorter than half an output frame")
    if phase is Phase.CONTINUOUS:
        pieces = lay(
            [(index, found, found.start) for index, found in enumerate(timeline.stretches)],
            grid,
            0,
            count,
        )
    else:
        pieces = [piece for unit in timeline.units for piece in _shot(timeline, unit, grid)]
    return tuple(_rescue(timeline, pieces, grid, count))


def _shot(timeline: Timeline, unit: Unit, grid: Fraction) -> list[Piece]:
    """Lay one shot on a clock of its own, from round(start) up to round(stop)."""
    first, stop = half_up(unit.start * grid), half_up(unit.stop * grid)
    if first == stop:
        return []
    indices = range(*unit.stretches)
    pieces = lay(
        [(index, timeline.stretches[index], timeline.stretches[index].offset) for index in indices],
        grid,
        first,
        stop - first,
    )
    return _with_last_frame(timeline, unit, pieces, grid)


def _with_last_frame(
    timeline: Timeline, unit: Unit, pieces: list[Piece], grid: Fraction
) -> list[Piece]:
    """Give up the shot's latest repeat for its last film frame, if that would go unshown.

    Rounding at the cut can leave a shot one output frame short, and its last film frame,
    though it lasts an output frame or more, without one.
    """
    index = unit.stretches[1] - 1
    stretch = timeline.stretches[index]
    slot = stretch.count - 1
    tail = pieces[-1]
    if (tail.stretch, tail.last_slot) == (index, slot) or stretch.shows is not Shows.FILM:
        return pieces
    lasts = stretch.pace.elapsed(stretch.count) - stretch.pace.elapsed(slot)
    if lasts * grid < 1:
        return pieces
    for place in range(len(pieces) - 1, -1, -1):
        piece = pieces[place]
        repeat = piece.rule.latest_repeat(piece.count)
        if repeat is None and piece.continues:
            repeat = 0
        if repeat is None:
            continue
        kept = pieces[:place] + ([piece.head(repeat)] if repeat else [])
        if repeat + 1 < piece.count:
            kept.append(piece.tail(repeat + 1).moved(-1))
        kept += [later.moved(-1) for later in pieces[place + 1 :]]
        end = pieces[-1].output_stop - 1
        return [*kept, Piece(stretch=index, output_first=end, count=1, rule=still(slot))]
    return pieces


def _rescue(timeline: Timeline, pieces: list[Piece], grid: Fraction, count: int) -> Iterable[Piece]:
    """Give every shot that would vanish the output frame that holds its mid-time."""
    owners = Counter[int]()
    for piece in pieces:
        owners[timeline.stretches[piece.stretch].unit] += piece.count
    for number, unit in enumerate(timeline.units):
        if owners[number]:
            continue
        middle = (unit.start + unit.stop) / 2
        at = min(floor_of(middle * grid), count - 1)
        place = bisect_right(pieces, at, key=lambda piece: piece.output_first) - 1
        owner = timeline.stretches[pieces[place].stretch].unit
        if owners[owner] == 1:
            raise NotationError(
                f"{timeline.unit_name(number)} and {timeline.unit_name(owner)} both need "
                f"output frame {at}, and neither has another",
                "make one of them last longer, or leave it out",
            )
        owners[owner] -= 1
        owners[number] = 1
        stretch, slot = timeline.slot_at(unit, middle)
        taken = Piece(stretch=stretch, output_first=at, count=1, rule=still(slot))
        pieces[place : place + 1] = _replaced(pieces[place], taken)
    return pieces


def _replaced(piece: Piece, taken: Piece) -> list[Piece]:
    """Return ``piece`` with its output frame ``taken.output_first`` given to ``taken``."""
    skip = taken.output_first - piece.output_first
    parts = [piece.head(skip)] if skip else []
    parts.append(taken)
    if skip + 1 < piece.count:
        parts.append(piece.tail(skip + 1))
    return parts
