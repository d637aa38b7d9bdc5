"""How unlike two pictures are, whatever has moved, weaved or been spoiled in them.

The one is laid over the other at every shift within reach; the best holds for the picture as a
whole, and each of its blocks may lie a sample aside from it, for not everything moves together.
The blocks that fit worst are left out: dirt, and what has just come into view.
"""

from __future__ import annotations

from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    Stack = NDArray[np.float32]
    Series = NDArray[np.float32]

__all__ = ["SPOILED", "unlike", "unlike_far"]

SPOILED = 0.15
"""The part of a picture that may be spoiled, or come into view, without making it another."""

_BLOCKS = (6, 8)  # down and across
_REACH = 2
_EMPTY = 0.04  # energy of a sample of two pictures with nothing in them
_BATCH = 128
_OVERLAP = (0.55, 0.75)  # of the height and the width that a jump leaves to be compared
_ASIDE = 1


def unlike(one: Stack, other: Stack, spoiled: float = SPOILED) -> Series:
    """Return how unlike views are, pair by pair: 0 the same, about 1 nothing in common.

    ``spoiled`` is the part of the blocks that is left out, those that fit worst.
    """
    found = [
        _unlike(one[at : at + _BATCH], other[at : at + _BATCH], _REACH, spoiled)
        for at in range(0, len(one), _BATCH)
    ]
    return np.concatenate(found) if found else np.zeros(0, np.float32)


def unlike_far(one: Stack, other: Stack, spoiled: float = SPOILED) -> Series:
    """Return the same where a picture may have jumped by nearly half its height."""
    pairs = zip(one, other, strict=True)
    return np.array([_unlike_far(a, b, spoiled) for a, b in pairs], np.float32)


def _unlike(one: Stack, other: Stack, reach: int, spoiled: float) -> Series:
    count, rows, columns = one.shape
    wide = np.pad(other, ((0, 0), (reach, reach), (reach, reach)), mode="edge")
    shifts = [(down, across) for down in range(2 * reach + 1) for across in range(2 * reach + 1)]
    square = np.empty((len(shifts), count, *_BLOCKS), np.float32)
    for number, (down, across) in enumerate(shifts):
        away = one - wide[:, down : down + rows, across : across + columns]
        square[number] = _in_blocks(np.square(away, out=away))
    energy = _in_blocks(one**2) + _in_blocks(other**2)
    return _judged(square, energy, shifts, spoiled)


def _judged(
    square: Stack, energy: Stack, shifts: Sequence[tuple[int, int]], spoiled: float
) -> Series:
    """Return the likeness by what differs in every block at every shift."""
    best = square.sum(axis=(2, 3)).argmin(axis=0)
    places = np.array(shifts)
    near = np.abs(places[:, None] - places[best]).max(axis=-1) <= _ASIDE
    least = np.where(near[..., None, None], square, np.inf).min(axis=0)
    flat = least.reshape(len(least), -1)
    weight = energy.reshape(len(energy), -1) + np.float32(_EMPTY)
    worst = np.argsort(flat / weight, axis=1)[:, : round((1 - spoiled) * flat.shape[1])]
    kept = np.take_along_axis(flat, worst, axis=1).sum(axis=1)
    return np.asarray(kept / np.take_along_axis(weight, worst, axis=1).sum(axis=1), np.float32)


def _unlike_far(one: Stack, other: Stack, spoiled: float) -> float:
    """Return how unlike two views are where they lie best over one another."""
    down, across = _best_shift(one, other)
    rows, columns = one.shape
    mine = one[max(down, 0) : rows + min(down, 0), max(across, 0) : columns + min(across, 0)]
    theirs = other[max(-down, 0) : rows - max(down, 0), max(-across, 0) : columns - max(across, 0)]
    return float(_unlike(mine[None], theirs[None], _ASIDE, spoiled)[0])


def _best_shift(one: Stack, other: Stack) -> tuple[int, int]:
    """Return by how many rows and columns the one lies further than the other."""
    rows, columns = one.shape
    size = (2 * rows, 2 * columns)
    first, second = np.fft.rfft2(one, size), np.fft.rfft2(other, size)
    inside = _inside(rows, columns)
    squares = np.fft.rfft2(one**2, size), np.fft.rfft2(other**2, size)
    product = np.fft.irfft2(first * second.conj(), size)
    energy = np.fft.irfft2(squares[0] * inside.conj() + inside * squares[1].conj(), size)
    farthest = [
        int(side * (1 - part)) for side, part in zip((rows, columns), _OVERLAP, strict=True)
    ]
    alike = 2 * product / (energy + _EMPTY * rows * columns)
    down = np.r_[0 : farthest[0] + 1, -farthest[0] : 0]
    across = np.r_[0 : farthest[1] + 1, -farthest[1] : 0]
    place = int(alike[np.ix_(down, across)].argmax())
    row, column = divmod(place, len(across))
    return int(down[row]), int(across[column])


@lru_cache
def _inside(rows: int, columns: int) -> NDArray[np.complexfloating]:
    """Return the spectrum of a picture that is 1 everywhere, with nothing around it."""
    return np.fft.rfft2(np.ones((rows, columns), np.float32), (2 * rows, 2 * columns))


def _in_blocks(squares: Stack) -> Stack:
    """Return the mean of each block; a few samples at the end are left out."""
    _, rows, columns = squares.shape
    tall, wide = rows // _BLOCKS[0], columns // _BLOCKS[1]
    cut = squares[:, : tall * _BLOCKS[0], : wide * _BLOCKS[1]]
    # Sums of whole slices: five times as quick as a mean over the short axes of blocks.
    across = cut[..., ::wide].copy()
    for place in range(1, wide):
        across += cut[..., place::wide]
    means = across[:, ::tall].copy()
    for place in range(1, tall):
        means += across[:, place::tall]
    means /= np.float32(tall * wide)
    return means
