"""A fade in a series of brightness: from nothing up to a level, evenly.

A series is read outwards from darkness: for a while nothing, then a rise by equal steps, then a
level. Film flickers, so the fit is by absolute errors, and the level the median of what it implies.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import numpy as np
from msgspec import Struct

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Values = NDArray[np.float64]

__all__ = ["LONGEST", "Rise", "rise_in"]

LONGEST = 72
"""The longest fade that is looked for, in frames: four seconds at 18 a second."""

_PLATEAU = 12  # frames of level that are wanted beyond a rise, if there are as many
_TINY = 1e-9
_COUNTED = 0.45  # of the level: from here on a frame tells how high it is
_DIM = 0.05  # of the level: what is added to it where errors are weighed by it


class Rise(Struct, frozen=True, kw_only=True):
    """``nothing`` values of darkness, then ``steps`` of a rise to ``level``.

    ``error`` is the mean absolute error over the rise, as a part of the level; ``against`` is all
    of the error over that of the best fit without any step, 1 where a rise is no better.
    """

    nothing: int
    steps: int
    level: float
    error: float
    against: float


def rise_in(series: NDArray[np.float32], darkness: int) -> Rise | None:
    """Return the rise that fits a series best, whose first ``darkness`` values are dark.

    None where there is no value beyond darkness. A rise of 0 steps is a cut.
    """
    best: _Fit | None = None
    at_once = np.inf
    values = np.asarray(series[: darkness + LONGEST + _PLATEAU], np.float64)
    for nothing in range(min(darkness + 1, len(values))):
        fits = _fits(values, nothing)
        at_once = min(at_once, float(fits.totals[0]))
        steps = int(fits.totals.argmin())
        if fits.totals[steps] < (np.inf if best is None else best.total):
            level = float(fits.levels[steps])
            best = _Fit(nothing, steps, level, float(fits.totals[steps]))
    if best is None:
        return None
    shape = _shapes(len(values), best.nothing)[best.steps]
    rise = np.abs(values - best.level * shape)[best.nothing : best.nothing + best.steps]
    return Rise(
        nothing=best.nothing,
        steps=best.steps,
        level=best.level,
        error=float(rise.mean()) / best.level if best.steps else 0.0,
        against=best.total / max(at_once, _TINY),
    )


class _Fit(NamedTuple):
    nothing: int
    steps: int
    level: float
    total: float


class _Fits(NamedTuple):
    """Levels, and all of the error as a part of them, of rises by 0, 1, 2 ... steps."""

    levels: Values
    totals: Values


def _shapes(count: int, nothing: int) -> Values:
    """Return rises to 1 by 0, 1, 2 ... steps as rows of so many values."""
    steps = np.arange(min(LONGEST, count - nothing - 1) + 1)
    rises = (np.arange(count) - nothing + 1) / (steps[:, None] + 1)
    return np.asarray(np.clip(rises, 0, 1), np.float64)


def _fits(values: Values, nothing: int) -> _Fits:
    """Return how well rises after so many values of nothing fit."""
    shapes = _shapes(len(values), nothing)
    told = shapes > _COUNTED
    levels = _medians(values / np.where(told, shapes, 1), told)
    errors = np.abs(values - levels[:, None] * shapes)
    # Flicker grows with brightness: what is dark tells most of where a fade ends.
    sums = (errors / (_DIM + shapes)).sum(axis=1)
    rises = levels > 0
    return _Fits(levels, np.where(rises, sums / np.where(rises, levels, 1), np.inf))


def _medians(rows: Values, told: NDArray[np.bool_]) -> Values:
    """Return the median of those of each row's values that are told; one is at least."""
    ordered = np.sort(np.where(told, rows, np.inf), axis=1)
    counts = told.sum(axis=1)
    places = np.arange(len(rows))
    middle = ordered[places, (counts - 1) // 2] + ordered[places, counts // 2]
    return np.asarray(middle / 2, np.float64)
