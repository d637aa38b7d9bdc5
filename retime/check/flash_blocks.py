"""Pictures as blocks: what the flash check looks at, and how blocks are shown.

A block is 1/96 of a picture's width and 1/72 of its height, about 0.3 degrees where the picture
fills the screen that WCAG reckons with. It has one colour: the mean of its light. What alternates
within a block and balances out, such as a fine chequerboard or grain, is thus no change, which WCAG
excepts for squares below 0.1 degrees; up to the size of a block it is missed here. Noise as strong
as that of a screen without a signal does not balance in so few cells: it counts, though WCAG
excepts it.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, TypeAlias

import numpy as np
from numpy.typing import NDArray

from retime.light.curves import decode
from retime.light.transfer import Transfer

if TYPE_CHECKING:
    from collections.abc import Iterable

__all__ = ["CELLS", "COLUMNS", "ROWS", "Codes", "Light", "blocks_of", "light_of", "mixed"]

COLUMNS, ROWS = 96, 72
_SIDE = 4
CELLS = (COLUMNS * _SIDE, ROWS * _SIDE)
"""The width and height at which pictures are read: four cells a block, across and down. Within a
cell, below 0.08 degrees, the reader takes the mean of codes."""

Codes: TypeAlias = NDArray[np.uint8]
"""Red, green and blue of blocks, shape (72, 96, 3): 0 is black and 255 white."""
Light: TypeAlias = NDArray[np.float32]
"""The same in linear light: 0 is black and 1 white."""

_SIGNALS = np.arange(256) / 255
_SHOWN = {
    transfer: decode(transfer, _SIGNALS).astype(np.float32)
    for transfer in (Transfer.SRGB, Transfer.BT1886)
}
# Means are taken in the light of one curve, whatever is asked of them: the two are near enough.
_MEANT = _SHOWN[Transfer.BT1886]
_BETWEEN = decode(Transfer.BT1886, _SIGNALS[:-1] + 0.5 / 255).astype(np.float32)


def light_of(codes: Codes, transfer: Transfer) -> Light:
    """Return the linear light of codes, as a screen of a curve shows them."""
    return _SHOWN[transfer][codes]


def blocks_of(cells: NDArray[np.uint8]) -> Codes:
    """Return the blocks of a picture that was read at the size of ``CELLS``."""
    light = _MEANT[cells]
    rows = sum((light[line::_SIDE] for line in range(1, _SIDE)), light[::_SIDE])
    both = sum((rows[:, one::_SIDE] for one in range(1, _SIDE)), rows[:, ::_SIDE])
    return _codes(both / np.float32(_SIDE**2))


def mixed(parts: Iterable[tuple[float, Codes]]) -> Codes:
    """Return the mean of light of several pictures, each with its weight."""
    light = np.zeros((ROWS, COLUMNS, 3), np.float32)
    for weight, codes in parts:
        light += np.float32(weight) * _MEANT[codes]
    return _codes(light)


def _codes(light: Light) -> Codes:
    return np.searchsorted(_BETWEEN, light).astype(np.uint8)
