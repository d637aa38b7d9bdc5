"""How much of a picture, or of a viewer's field in it, some blocks make up."""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING

import numpy as np

from retime.check.flash_blocks import COLUMNS, ROWS
from retime.check.flash_limits import SHARE

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from retime.check.flash_swings import Coloured

__all__ = ["Area"]

# WCAG 2.2: a rectangle of 341 x 256 pixels, the content seen at 1024 x 768, is a good estimate of
# a visual field of 10 degrees. It is a third of that screen, across and down.
_SCREEN = Fraction(1024, 768)
_THIRD = 3


class Area:
    """The picture as a whole, or a window of ``width`` x ``height`` blocks anywhere in it."""

    def __init__(self, width: int, height: int) -> None:
        """Take the window's size in blocks; the whole picture's makes it the whole picture."""
        self.width, self.height = min(width, COLUMNS), min(height, ROWS)

    @staticmethod
    def whole() -> Area:
        """Return the picture as it is displayed, all of it."""
        return Area(COLUMNS, ROWS)

    @staticmethod
    def field(aspect: Fraction) -> Area:
        """Return any visual field of 10 degrees of a picture of an aspect, to whole blocks.

        The picture is as large as it can be on WCAG's screen of 1024 x 768.
        """
        across = max(Fraction(1), _SCREEN / aspect)
        down = max(Fraction(1), aspect / _SCREEN)
        return Area(round(across * COLUMNS / _THIRD), round(down * ROWS / _THIRD))

    @property
    def blocks(self) -> int:
        """How many blocks it has."""
        return self.width * self.height

    def most(self, mask: Coloured) -> int:
        """Return how many blocks of a mask it holds, wherever it holds most of them."""
        count = int(np.count_nonzero(mask))
        if not count or self.blocks == mask.size:
            return count
        sums = np.zeros((ROWS + 1, COLUMNS + 1), np.int32)
        np.cumsum(mask, axis=0, dtype=np.int32, out=sums[1:, 1:])
        np.cumsum(sums[1:, 1:], axis=1, out=sums[1:, 1:])
        high, wide = self.height, self.width
        inside = (
            sums[high:, wide:] - sums[:-high, wide:] - sums[high:, :-wide] + sums[:-high, :-wide]
        )
        return int(inside.max())

    def exceeded(self, mask: Coloured) -> bool:
        """Tell whether more than a quarter of it is of a mask."""
        if SHARE * int(np.count_nonzero(mask)) <= self.blocks:
            return False
        return SHARE * self.most(mask) > self.blocks

    def level(self, counts: NDArray[np.int16], near: int = 0) -> int:
        """Return the most transitions that more than a quarter of it has; ``near`` is a guess."""
        level = near
        while self.exceeded(counts > level):
            level += 1
        while level and not self.exceeded(counts >= level):
            level -= 1
        return level

    def share(self, mask: Coloured) -> Fraction:
        """Return which part of it is of a mask, at most."""
        return Fraction(self.most(mask), self.blocks)
