"""Drift over time as a page draws it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from msgspec import Struct

from retime.plan.drift_bands import drift_bands
from retime.report.numbers import signed
from retime.report.plotting import WIDE, Mark, Scale, boxes, lines, percent, times

if TYPE_CHECKING:
    from collections.abc import Iterable

    from retime.plan.plan import Plan

__all__ = ["DriftFigure", "columns_of", "drift_figure"]

_EACH = 2_400  # pulses: of a shorter film every first showing is drawn
_COLUMNS, _FEWEST = 720, 12  # columns of a longer one at most, and pulses in each at least
_SPAN = 1.15  # of what is drawn, above and below nothing


class DriftFigure(Struct, frozen=True, kw_only=True):
    """A deliverable's plot: ``path`` and ``reels`` in the plot's box, marks in percents.

    ``each`` says that every first showing is a point; else boxes reach from the least drift of a
    part of the film to the most. ``bounds`` are the lines of half and whole output frames.
    """

    path: str
    each: bool
    reels: str
    none: str
    bounds: list[Mark]
    times: list[Mark]


def drift_figure(plan: Plan) -> DriftFigure | None:
    """Return the plot; None for a blend and where nothing drifts, having no first showing."""
    columns, pulses = columns_of(plan), plan.pieces[-1].pulse_stop
    bands = drift_bands(plan, columns)
    if not bands:
        return None
    frame = float(1 / plan.conform.rate.fps)
    most = max(frame / 2, *(max(-band.low, band.high) for band in bands))
    upright, along = Scale(-most * _SPAN, most * _SPAN), Scale(0.0, float(plan.runtime))
    drawn = [
        (10 * WIDE * band.column // columns, upright.down(band.high), upright.down(band.low))
        for band in bands
    ]
    return DriftFigure(
        path=lines(drawn) if columns == pulses else boxes(drawn, -(-10 * WIDE // columns)),
        each=columns == pulses,
        reels=lines(
            (round(10 * WIDE * (first / 2 - plan.head_frames) / plan.outputs), 0, 2000)
            for first, _ in plan.reel_fields()[1:]
        ),
        none=percent(1 - upright.share(0.0)),
        bounds=list(_bounds(frame, most, upright)),
        times=times(along),
    )


def columns_of(plan: Plan) -> int:
    """Return in how many columns a plan's drift is drawn: as many as it has pulses, or far fewer.

    Columns of a few pulses each would show patterns that are not in the film.
    """
    pulses = plan.pieces[-1].pulse_stop
    return pulses if pulses <= _EACH else min(_COLUMNS, pulses // _FEWEST)


def _bounds(frame: float, most: float, upright: Scale) -> Iterable[Mark]:
    """Yield the lines of half an output frame and, where drift comes near, of a whole one."""
    for part in (1.0, 0.5):
        if part * frame <= most * _SPAN:
            at = part * frame
            yield Mark(at=percent(1 - upright.share(at)), label=f"{signed(1000 * at, 1)} ms")
            yield Mark(at=percent(1 - upright.share(-at)), label=f"{signed(-1000 * at, 1)} ms")
