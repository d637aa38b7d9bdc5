"""A fade in a series of brightness: from nothing up to a level, evenly.

A series is read outwards from darkness: for a while nothing, then a rise by equal steps, then a
level. Film flickers, so the fit is by absolute errors, and the level the median of what it implies.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

if TYPE_CHECKING:
    from numpy.typing import NDArray

__all__ = ["LONGEST", "Rise", "rise_in"]

LONGEST = 72
"""The longest fade that is looked for, in frames: four seconds at 18 a second."""

_PLATEAU = 12  # frames of level that are wanted beyond a rise, if there are as many
_TINY = 1e-9
_COUNTED = 0.45  # of the level: from here on a frame tells how high it is


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
    best: Rise | None = None
    least = at_once = np.inf
    values = np.asarray(series[: darkness + LONGEST + _PLATEAU], np.float64)
    for nothing in range(darkness + 1):
        for steps in range(min(LONGEST, len(values) - nothing - 1) + 1):
            shape = np.clip((np.arange(len(values)) - nothing + 1) / (steps + 1), 0, 1)
            told = shape > _COUNTED
            if not told.any():
                continue
            level = float(np.median(values[told] / shape[told]))
            if level <= 0:
                continue
            error = np.abs(values - level * shape)
            # Flicker grows with brightness: what is dark tells most of where a fade ends.
            total = float((error / (0.05 + shape)).sum()) / level
            at_once = min(at_once, total) if not steps else at_once
            if total < least:
                least = total
                rise = error[nothing : nothing + steps]
                best = Rise(
                    nothing=nothing,
                    steps=steps,
                    level=level,
                    error=float(rise.mean()) / level if steps else 0.0,
                    against=1.0,
                )
    return None if best is None else replace(best, against=least / max(at_once, _TINY))
