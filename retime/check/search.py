"""A picture looked for in the whole plan, for what is found nowhere near its place."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from retime.check.spool import HEIGHT, WIDTH

if TYPE_CHECKING:
    from collections.abc import Callable

    from retime.check.spool import Small

__all__ = ["Coarse"]

_STEP = 4
_CODES = (HEIGHT // _STEP) * (WIDTH // _STEP)


class Coarse:
    """All that is planned, made smaller still: 192 bytes a pulse."""

    def __init__(self, picture: Callable[[int], Small], count: int) -> None:
        """Take ``count`` pictures by their pulses."""
        self._kept = np.empty((count, _CODES), np.uint8)
        for pulse in range(count):
            self._kept[pulse] = np.clip(np.rint(_coarse(picture(pulse))), 0, 255)

    def nearest(self, seen: Small) -> int:
        """Return the pulse whose picture is most like a small picture."""
        wanted = _coarse(seen)
        best, least = 0, np.inf
        for first in range(0, len(self._kept), 4096):
            apart = self._kept[first : first + 4096] - wanted
            squares = np.einsum("ij,ij->i", apart, apart)
            place = int(squares.argmin())
            if squares[place] < least:
                best, least = first + place, float(squares[place])
        return best


def _coarse(picture: Small) -> Small:
    blocks = picture.reshape(HEIGHT // _STEP, _STEP, WIDTH // _STEP, _STEP)
    return np.asarray(blocks.mean(axis=(1, 3)).reshape(-1), np.float32)
