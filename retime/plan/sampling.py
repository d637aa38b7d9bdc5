"""Which film frame each pulse shows, by repeat: continuous or per-shot phase."""

from __future__ import annotations

from bisect import bisect_right
from collections import Counter
from typing import TYPE_CHECKING

from msgspec import Struct
from msgspec.structs import replace

from retime.errors import NotationError
from retime.film.rounding import floor_of, half_up
from retime.plan.beat import still
from retime.plan.layout import Piece, lay
from retime.speedmap.model import Phase

if TYPE_CHECKING:
    from collections.abc import Iterable
    from fractions import Fraction

    from retime.plan.timeline import Timeline, Unit

__all__ = ["Grid", "sample"]


class Grid(Struct, frozen=True, kw_only=True):
    """``pulses`` to a second of true time, of which ``per_bound`` go from cut to cut together.

    A shot's bounds fall on whole output frames, which are two pulses where these are fields.
    """

    pulses: Fraction
    per_bound: int
    noun: str

    def bound(self, time: Fraction) -> int:
        """Return the pulse that a cut at ``time`` falls on."""
        return half_up(time * self.pulses / self.per_bound) * self.per_bound


def sample(timeline: Timeline, grid: Grid, count: int, phase: Phase) -> tuple[Piece, ...]:
    """Return the pieces of all ``count`` pulses of a grid, in order and without gaps.

    Raises NotationError where there are none, or where a shot can be given none at all.
    """
    if count == 0:
        raise NotationError(f"the film is shorter than half an {grid.noun}")
    if phase is Phase.CONTINUOUS:
        pieces = lay(
            [
                (index, found, found.start, found.near)
                for index, found in enumerate(timeline.stretches)
            ],
            grid.pulses,
            0,
            count,
        )
    else:
        pieces = [piece for unit in timeline.units for piece in _shot(timeline, unit, grid)]
    return tuple(_rescue(timeline, pieces, grid, count))


def _shot(timeline: Timeline, unit: Unit, grid: Grid) -> list[Piece]:
    """Lay one shot on a clock of its own, from round(start) up to round(stop)."""
    first, stop = grid.bound(unit.start), grid.bound(unit.stop)
    if first == stop:
        return []
    indices = range(*unit.stretches)
    pieces = lay(
        [(index, one := timeline.stretches[index], one.offset, None) for index in indices],
        grid.pulses,
        first,
        stop - first,
    )
    return _with_last_frame(timeline, unit, pieces, grid.pulses)


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
    if (tail.stretch, tail.last_slot) == (index, slot) or not stretch.fresh:
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
        end = pieces[-1].pulse_stop - 1
        return [*kept, Piece(stretch=index, pulse_first=end, count=1, rule=still(slot))]
    return pieces


def _rescue(timeline: Timeline, pieces: list[Piece], grid: Grid, count: int) -> Iterable[Piece]:
    """Give every shot that would vanish the pulse that holds its mid-time."""
    owners = Counter[int]()
    for piece in pieces:
        owners[timeline.stretches[piece.stretch].unit] += piece.count
    for number, unit in enumerate(timeline.units):
        if owners[number]:
            continue
        middle = (unit.start + unit.stop) / 2
        at = min(floor_of(middle * grid.pulses), count - 1)
        place = bisect_right(pieces, at, key=lambda piece: piece.pulse_first) - 1
        owner = timeline.stretches[pieces[place].stretch].unit
        if owners[owner] == 1:
            raise NotationError(
                f"{timeline.unit_name(number)} and {timeline.unit_name(owner)} both need "
                f"{grid.noun} {at}, and neither has another",
                "make one of them last longer, or leave it out",
            )
        owners[owner] -= 1
        owners[number] = 1
        stretch, slot = timeline.slot_at(unit, middle)
        taken = Piece(stretch=stretch, pulse_first=at, count=1, rule=still(slot))
        pieces[place : place + 2] = _replaced(pieces[place : place + 2], taken)
    return pieces


def _replaced(pieces: list[Piece], taken: Piece) -> list[Piece]:
    """Return a piece, and the next, with the pulse ``taken`` of the former given up for it."""
    piece, following = pieces[0], pieces[1:]
    skip = taken.pulse_first - piece.pulse_first
    parts = [piece.head(skip)] if skip else []
    parts.append(taken)
    if skip + 1 < piece.count:
        parts.append(piece.tail(skip + 1))
    elif following and following[0].continues:
        slot = following[0].rule.slot(0)
        shown = piece.rule.slot(skip - 1) == slot if skip else piece.continues
        following = [replace(following[0], continues=shown)]
    return parts + following
