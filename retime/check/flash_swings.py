"""Transitions of every block of a picture, told as soon as they are large enough.

A transition is a swing from a peak to the valley beside it, or the other way, however many pictures
it takes. What is smaller than a transition has to be, such as grain on a fade, neither is one nor
parts one in two.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, TypeAlias

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

__all__ = ["Changes", "Coloured", "Level", "RedTurns", "Swings"]

Level: TypeAlias = "NDArray[np.float32]"
Coloured: TypeAlias = "NDArray[np.bool_]"
Changes: TypeAlias = "NDArray[np.int8]"
"""For each block 1 where a transition upwards has just been completed, -1 downwards, else 0."""

_UP, _DOWN = np.int8(1), np.int8(-1)


class Swings:
    """Peaks and valleys of a level in each block; a swing is told once it spans ``least``.

    A swing counts only if some state of it, its ends included, is one that ``fits``: dark enough,
    or red enough. Where that comes later than its span does, it is told then.
    """

    def __init__(self, least: float, shape: tuple[int, ...]) -> None:
        """Take the least span of a swing, and the shape in which blocks come."""
        self._least = np.float32(least)
        self._low: Level = np.full(shape, np.inf, np.float32)
        self._high: Level = np.full(shape, -np.inf, np.float32)
        self._way: Changes = np.zeros(shape, np.int8)
        self._told: Coloured = np.zeros(shape, np.bool_)
        self._fitted: Coloured = np.zeros(shape, np.bool_)
        self._fitted_since: Coloured = np.zeros(shape, np.bool_)

    def see(self, level: Level, fits: Coloured) -> Changes:
        """Take the next picture; return what its blocks have completed with it."""
        rises = (self._way <= 0) & (level - self._low >= self._least)
        falls = (self._way >= 0) & (self._high - level >= self._least)
        turned = rises | falls
        # A swing begins with the peak or valley before it, and so with what fitted since then.
        self._fitted = np.where(turned, self._fitted_since, self._fitted) | fits
        self._told &= ~turned
        self._way[rises], self._way[falls] = _UP, _DOWN
        self._follow(level, fits, turned)
        told = (self._way != 0) & self._fitted & ~self._told
        self._told |= told
        return np.where(told, self._way, np.int8(0))

    def _follow(self, level: Level, fits: Coloured, turned: Coloured) -> None:
        """Move the ends of swings along, and forget what was before an end that has moved."""
        rising, falling = self._way > 0, self._way < 0
        moved = (rising & (level > self._high)) | (falling & (level < self._low)) | turned
        # Which way a swing turns back is looked at from the end that it has come to alone.
        self._high = np.where(turned, level, np.maximum(self._high, level))
        self._low = np.where(turned, level, np.minimum(self._low, level))
        self._fitted_since = np.where(moved, fits, self._fitted_since | fits)


class RedTurns:
    """Turns to and from a saturated red that are far enough apart in chromaticity.

    A block is red from a saturated red on until a state far enough from the last one; it is away
    until a saturated red far enough from the state that was the furthest from the primary.
    """

    def __init__(self, apart: float, primary: tuple[float, float], shape: tuple[int, ...]) -> None:
        """Take the least distance, the chromaticity of the display's red, and blocks' shape."""
        self._apart, self._primary = np.float32(apart), primary
        self._begun = False
        self._red: Coloured = np.zeros(shape, np.bool_)
        self._u: Level = np.zeros(shape, np.float32)
        self._v: Level = np.zeros(shape, np.float32)

    def see(self, red: Coloured, u: Level, v: Level) -> Changes:
        """Take the next picture: where it is a saturated red, and its chromaticity."""
        if not self._begun:
            self._begun, self._red, self._u, self._v = True, red, u, v
        far = np.hypot(u - self._u, v - self._v) > self._apart
        leaves, comes = self._red & ~red & far, ~self._red & red & far
        further = self._from_primary(u, v) > self._from_primary(self._u, self._v)
        moves = leaves | comes | (self._red & red) | (~self._red & ~red & further)
        self._u, self._v = np.where(moves, u, self._u), np.where(moves, v, self._v)
        self._red = (self._red | comes) & ~leaves
        return np.asarray(comes.astype(np.int8) - leaves.astype(np.int8), np.int8)

    def _from_primary(self, u: Level, v: Level) -> Level:
        return np.asarray(np.hypot(u - self._primary[0], v - self._primary[1]), np.float32)
