"""A series without its trend and its outliers, and how like itself it is after so many frames.

A series holds one value a film frame, or several that belong together, such as the principal
components of a picture: shape (frames,) or (frames, values).
"""

from __future__ import annotations

from functools import lru_cache
from math import ceil, floor
from operator import itemgetter
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Series = NDArray[np.float64]

__all__ = ["likeness", "peak_near", "peaks_of", "prepared", "shared_by", "trend_of"]

_OUTLYING = 4.0  # standard deviations, by the median of absolute deviations
_NORMAL = 1.4826  # a normal distribution's standard deviation over that median
_ROUNDS = 4
_STATIC = 1e-9  # of the size of the values: what rounding makes
_DEGREE = 2


@lru_cache(maxsize=64)
def trend_of(frames: int) -> Series:
    """Return an orthonormal basis of the slow trends that are taken out, shape (frames, 3)."""
    at = np.linspace(-1, 1, frames)
    basis: Series = np.linalg.qr(np.vander(at, _DEGREE + 1))[0]
    return basis


def prepared(series: Series) -> Series | None:
    """Return a series, shape (frames, values), with neither trend nor outliers; None if static.

    A frame that stands out from its series, for a splice or a blot, is pulled in.
    """
    values = np.asarray(series, np.float64)
    values = values[:, None] if values.ndim == 1 else values
    trend = trend_of(len(values))
    size = float(np.abs(values).max(initial=0.0))
    for _ in range(_ROUNDS):  # what stands out bends the trend, until it is pulled in
        slow = trend @ (trend.T @ values)
        straight = values - slow
        spread = _NORMAL * np.median(np.abs(straight - np.median(straight, axis=0)), axis=0)
        limit = np.where(spread > 0, _OUTLYING * spread, np.inf)
        values = slow + np.clip(straight, -limit, limit)
    straight = values - trend @ (trend.T @ values)
    return straight if float(np.abs(straight).max(initial=0.0)) > _STATIC * size else None


def shared_by(series: Series, other: Series) -> float:
    """Return the share of a prepared series that another tells as well, from 0 to 1.

    What any series of so many values would tell by chance is taken off.
    """
    basis = np.linalg.qr(other)[0]
    told = float(((basis.T @ series) ** 2).sum()) / float((series**2).sum())
    by_chance = min(float(basis.shape[1]) / len(series), 0.5)
    return max(0.0, float(told - by_chance) / (1 - by_chance))


def likeness(series: Series, longest: int) -> Series:
    """Return how like itself a prepared series is after 0, 1 ... ``longest`` frames, -1 to 1.

    It is the autocorrelation, each lag over the power of the frames that it compares.
    """
    frames = len(series)
    spectrum = np.fft.rfft(series, 2 * frames, axis=0)
    shared = np.fft.irfft(np.abs(spectrum) ** 2, axis=0).sum(axis=1)[: longest + 1]
    power = np.concatenate([[0.0], np.cumsum((series**2).sum(axis=1))])
    lags = np.arange(longest + 1)
    both = power[frames - lags] * (power[frames] - power[lags])
    like: Series = shared / np.sqrt(np.where(both > 0, both, np.inf))
    return like


def peaks_of(like: Series, first: float, last: float) -> list[tuple[float, float]]:
    """Return lag and height of every peak between two lags, the shortest lag first.

    Lags are told to parts of a frame, by a parabola through three of them.
    """
    found = []
    for lag in range(max(2, ceil(first)), min(len(like) - 2, floor(last)) + 1):
        before, height, after = (float(like[lag + step]) for step in (-1, 0, 1))
        if before <= height > after:
            aside = (before - after) / (2 * (before - 2 * height + after))
            found.append((lag + aside, height - (before - after) * aside / 4))
    return found


def peak_near(like: Series, period: float, *, within: float) -> tuple[float, float] | None:
    """Return lag and height of the highest peak within a part of ``period``, None without one."""
    reach = max(1.0, within * period)
    return max(peaks_of(like, period - reach, period + reach), key=itemgetter(1), default=None)
