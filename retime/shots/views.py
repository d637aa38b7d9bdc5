"""Tiny pictures made ready to be compared: brightness, contrast and shading are taken out.

What is left is each place's own tone against its surroundings. Flicker, tints and fades hardly
change it, and pictures with nothing in them have none.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Stack = NDArray[np.float32]

__all__ = ["sharpened", "softened", "tiny_of", "views_of"]

SHRINK = 4
"""So many samples of a small picture, across and down, are one of the tiny picture."""

_AROUND = 5  # samples to each side that count as a place's surroundings
_NOTHING = 4.0  # codes: contrast that is no more than grain
_PART = 0.5  # of the picture's own contrast


def tiny_of(small: NDArray[np.uint8]) -> NDArray[np.uint8]:
    """Return a small picture, or a stack of them, a quarter as wide and as high."""
    *_, rows, columns = small.shape
    tall, wide = rows // SHRINK, columns // SHRINK
    cut = small[..., : tall * SHRINK, : wide * SHRINK]
    # Sums of whole slices in whole numbers: quicker than a mean over short axes.
    down = cut[..., ::SHRINK, :].astype(np.uint16)
    for place in range(1, SHRINK):
        down += cut[..., place::SHRINK, :]
    across = down[..., ::SHRINK].copy()
    for place in range(1, SHRINK):
        across += down[..., place::SHRINK]
    return np.asarray(across // (SHRINK * SHRINK), np.uint8)


def softened(pictures: NDArray[np.uint8]) -> Stack:
    """Return pictures with each sample spread over its neighbours, a sample less on every side."""
    down = pictures[..., :-2, :].astype(np.float32) + pictures[..., 2:, :]
    down += 2 * pictures[..., 1:-1, :].astype(np.float32)
    across = down[..., :-2] + down[..., 2:] + 2 * down[..., 1:-1]
    return np.asarray(across / np.float32(16), np.float32)


def views_of(pictures: NDArray[np.uint8]) -> Stack:
    """Return what tiny pictures show, about 0 and about as large as 1 where there is contrast."""
    soft = softened(pictures)
    high = soft - _surroundings(soft)
    local = np.sqrt(_surroundings(high**2))
    whole = np.sqrt((high**2).mean(axis=(-2, -1), keepdims=True))
    return np.asarray(high / (local + _PART * whole + _NOTHING), np.float32)


def sharpened(pictures: Stack) -> Stack:
    """Return what of soft pictures differs from its surroundings, in codes."""
    return np.asarray(pictures - _surroundings(pictures), np.float32)


def _surroundings(pictures: Stack) -> Stack:
    """Return the means of squares around every sample, whole within the picture."""
    found = pictures
    for axis in (-2, -1):
        size = found.shape[axis]
        sums = np.cumsum(found, axis=axis, dtype=np.float32)
        zero = np.zeros_like(np.take(sums, [0], axis=axis))
        sums = np.concatenate([zero, sums], axis=axis)
        places = np.arange(size)
        low, high = np.maximum(places - _AROUND, 0), np.minimum(places + _AROUND + 1, size)
        counts = (high - low).astype(np.float32)
        shape = [1] * found.ndim
        shape[axis] = size
        found = (np.take(sums, high, axis=axis) - np.take(sums, low, axis=axis)) / counts.reshape(
            shape
        )
    return np.asarray(found, np.float32)
