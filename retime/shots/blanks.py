"""Pictures with nothing in them: black, and white as clear film or an overexposed flash."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from retime.shots.measures import Measures

    Flags = NDArray[np.bool_]

__all__ = ["black_in", "white_in"]

_BLACK = 48  # codes that nearly all of a black picture lies below
_UNEVEN = 5.0  # codes between the means of its blocks
_BLOCKS = (6, 8)
_ASIDE = 4  # blocks at each end that may be spoiled by dirt
_WRITTEN = (0.02, 25)  # lines of ink, and its contrast in codes: a title, however small
_WHITE = 140  # codes that most of a white picture lies above
_EVEN = 0.78  # of the light that nearly all of it has


def black_in(measures: Measures) -> Flags:
    """Tell which pictures are black, but for dirt."""
    even = _unevenness(measures.tiny) < _UNEVEN
    return np.asarray((measures.high < _BLACK) & even & ~_written(measures))


def white_in(measures: Measures) -> Flags:
    """Tell which pictures are white, but for dirt."""
    even = measures.low > _EVEN * measures.high
    return np.asarray((measures.middle > _WHITE) & even & ~_written(measures))


def _written(measures: Measures) -> Flags:
    """Tell on which pictures something is written."""
    lines, contrast = _WRITTEN
    return np.asarray((measures.lines > lines) & (measures.contrast > contrast))


def _unevenness(tiny: NDArray[np.uint8]) -> NDArray[np.float32]:
    """Return how far the means of a picture's blocks lie apart, a few at both ends left out."""
    count, rows, columns = tiny.shape
    tall, wide = rows // _BLOCKS[0], columns // _BLOCKS[1]
    cut = tiny[:, : tall * _BLOCKS[0], : wide * _BLOCKS[1]]
    blocks = cut.reshape(count, _BLOCKS[0], tall, _BLOCKS[1], wide).mean(axis=(2, 4))
    sorted_ = np.sort(blocks.reshape(count, -1), axis=1)
    return np.asarray(sorted_[:, -_ASIDE - 1] - sorted_[:, _ASIDE], np.float32)
