"""Small pictures kept to be shown: few in a long shot, more where something has just changed."""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

__all__ = ["Kept"]

_CHANGED = 6.0  # codes between two tiny pictures, on average
_SELDOM = 32  # frames: so often in a long shot


class Kept:
    """Pictures of a scan, offered in order."""

    def __init__(self) -> None:
        """Start with none."""
        self._numbers: list[int] = []
        self._pictures: list[NDArray[np.uint8]] = []
        self._before: NDArray[np.int16] | None = None
        self._since = 0

    def offer(self, number: int, picture: NDArray[np.uint8], tiny: NDArray[np.uint8]) -> None:
        """Keep a picture if it is the 1st, 2nd, 3rd, 5th, 9th ... after a change of tiny ones."""
        tones = tiny.astype(np.int16)
        if self._before is None or float(np.abs(tones - self._before).mean()) > _CHANGED:
            self._since = 0
        self._before = tones
        seldom = self._since % _SELDOM == 0
        if seldom or (self._since < _SELDOM and self._since & (self._since - 1) == 0):
            self._numbers.append(number)
            self._pictures.append(picture)
        self._since += 1

    def nearest(self, first: int, last: int) -> NDArray[np.uint8]:
        """Return the picture nearest to the middle of some frames, one of them if any was kept."""
        low, high = bisect_left(self._numbers, first), bisect_right(self._numbers, last)
        places = range(low, high) if low < high else range(len(self._numbers))
        middle = (first + last) / 2
        return self._pictures[min(places, key=lambda at: abs(self._numbers[at] - middle))]
