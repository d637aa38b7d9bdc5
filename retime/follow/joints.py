"""Where one piece of sound fits the end of another, and how the two are cross-faded."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

__all__ = ["faded", "fit"]

_UNLIKE = -0.9  # pieces less alike than that are faded as if they were so alike
_NOTHING = 1e-12  # power of a fade that is silent
_EQUAL = 1e-6  # fits that differ by less for each sample of moving are equals


def fit(ending: NDArray[np.float64], sound: NDArray[np.float64], nearest: int) -> int:
    """Return where in ``sound`` the ending fits best, counted from sample ``nearest``."""
    channels = range(ending.shape[1])
    both = sum(np.correlate(sound[:, one], ending[:, one], "valid") for one in channels)
    power = np.concatenate([[0.0], np.cumsum((sound**2).sum(axis=1))])
    power = np.clip(power[len(ending) :] - power[: -len(ending)], 0, None)
    size = np.sqrt(power * (ending**2).sum())
    alike = np.divide(both, size, out=np.ones_like(size), where=size > _NOTHING)
    # Of equals the one that moves least: silence fits everywhere.
    best = np.argmax(alike - _EQUAL * np.abs(np.arange(len(alike)) - nearest))
    return int(best) - nearest


def faded(ending: NDArray[np.float64], sound: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return a cross-fade of the same power throughout, whatever the two have in common.

    They are alike by 1 where both are the same but for their level, and by -1 where one is the
    other's mirror.
    """
    size = np.sqrt((ending**2).sum() * (sound**2).sum())
    alike = max(_UNLIKE, float((ending * sound).sum() / size)) if size > _NOTHING else 1.0
    rise = (np.arange(len(sound)) + 0.5) / len(sound)
    power = (1 - rise) ** 2 + rise**2 + 2 * alike * rise * (1 - rise)
    later, earlier = rise / np.sqrt(power), (1 - rise) / np.sqrt(power)
    return np.asarray(sound * later[:, None] + ending * earlier[:, None])
