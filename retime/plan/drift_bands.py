"""Drift over time: between what it lies, in so many parts of the film as can be drawn."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from msgspec.structs import replace

from retime.plan.drift import terms_of

if TYPE_CHECKING:
    from collections.abc import Iterator

    from retime.plan.layout import Piece
    from retime.plan.plan import Plan

__all__ = ["Band", "drift_bands"]


class Band(NamedTuple):
    """The least and the largest drift of the film frames that are first shown in a column.

    In seconds, positive where the showing is late; ``column`` counts from 0.
    """

    column: int
    low: float
    high: float


def drift_bands(plan: Plan, columns: int) -> list[Band]:
    """Return a plan's drift in ``columns`` of like length, those without a first showing left out.

    Pulse p of P belongs to column floor(p x columns/P). A blend has none. What is looked at are
    stretches, cut where columns end: the cost grows with both, and not with the film's frames.
    """
    if plan.window is not None:
        return []
    seconds = float(plan.conform.at.fps / plan.grid.pulses / plan.conform.rate.fps)
    found: dict[int, tuple[float, float]] = {}
    for piece in plan.pieces:
        for column, part in _parts(piece, plan.pieces[-1].pulse_stop, columns):
            for term in terms_of(plan, part):
                low, high = term.span_of(term.numbers.extremes())
                least, most = found.get(column, (low, high))
                found[column] = min(low, least), max(high, most)
    return [
        Band(column, low * seconds, high * seconds) for column, (low, high) in sorted(found.items())
    ]


def _parts(piece: Piece, pulses: int, columns: int) -> Iterator[tuple[int, Piece]]:
    """Yield what each column holds of a piece."""
    rest, stop = piece, piece.pulse_stop
    while rest.pulse_first < stop:
        column = rest.pulse_first * columns // pulses
        end = min(stop, -(-(column + 1) * pulses // columns))
        if end == stop:
            yield column, rest
            return
        count = end - rest.pulse_first
        yield column, rest.head(count)
        rule = rest.rule.advanced(count)
        rest = replace(
            rest,
            pulse_first=end,
            count=stop - end,
            rule=rule,
            continues=rest.rule.slot(count - 1) == rule.slot(0),
        )
