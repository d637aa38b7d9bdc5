"""Cadences that are in no list: whatever comes again after the same number of pictures.

The odds of pictures are folded by every length of cycle; a cycle is taken if what it then costs,
and what it costs to be written down, is much less than to follow no pattern.
"""

from __future__ import annotations

from itertools import pairwise
from math import log
from typing import TYPE_CHECKING

import numpy as np

from retime.signal.patterns import LONGEST, Pattern

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from retime.signal.expecting import Asked

    Series = NDArray[np.float64]

__all__ = ["folded_pattern"]

_CYCLES = 4
_ENOUGH = 25.0
_FEWEST_NEW = 0.2
_SHORTEST = 2


def folded_pattern(asked: Asked, first: int, last: int) -> Pattern | None:
    """Return the pattern of whole pictures that comes again between two pictures, if one does."""
    odds = np.stack([asked.upper, asked.lower])[:, first + 1 : last + 1]
    none = float(asked.irregular[first + 1 : last + 1].sum())
    best: tuple[float, NDArray[np.bool_]] | None = None
    for cycle in range(_SHORTEST, min(LONGEST, odds.shape[1] // _CYCLES) + 1):
        new, cost = _folded(odds, cycle)
        gain = none - cost - cycle * log(2)
        if new.mean() >= _FEWEST_NEW and not new.all() and (best is None or gain > best[0]):
            best = gain, new
    if best is None or best[0] < _ENOUGH:
        return None
    begins = np.flatnonzero(best[1])
    turned = np.roll(best[1], -int(begins[0]))
    places = [*np.flatnonzero(turned).tolist(), len(turned)]
    runs = tuple(after - before for before, after in pairwise(places))
    return Pattern(runs=runs, unlikely=log(sum(runs)))


def _folded(odds: Series, cycle: int) -> tuple[NDArray[np.bool_], float]:
    """Return which places of a cycle are new, and what speaks against that in all pictures."""
    count = odds.shape[1]
    padded = np.pad(odds, ((0, 0), (0, -count % cycle)))
    rows = padded.reshape(2, -1, cycle)
    new = rows.sum(axis=(0, 1)) > 0
    against = np.maximum(np.where(new, -rows, rows), 0)
    return new, float(against.sum())
