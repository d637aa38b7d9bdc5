"""Waves of a period fitted to a series by least squares, and how far that is beyond chance.

A wave has harmonics, as no step is a sine. It is fitted beside the trend, so that few periods and
periods that do not fill the frames are measured without leakage from the trend.

Chance is red noise: a series whose frames remember the one before has slow swings by nature, and
these may not pass for a period. So what counts is how much better each frame can be foretold from
the one before where the wave is known: the likelihood ratio of two autoregressive processes of the
first order, with the wave and without it (textbook).
"""

from __future__ import annotations

from math import log, tau
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from retime.signal.series import trend_of

if TYPE_CHECKING:
    from retime.signal.series import Series

__all__ = ["Left", "evidence_for", "left_by", "most_harmonics"]

_HARMONICS = 5
_HIGHEST = 0.45  # periods a frame: beyond, frames are too few to see a wave
_FRAMES_EACH = 6  # so many frames have to be there for each harmonic
_CHANCES = 2  # in the spacing of a Fourier series' frequencies
_EACH_HARMONIC = 2.0  # what chance brings about by one more
_FEW = 8.0  # over the number of periods seen: slow swings of red noise are few and alike


class Left(NamedTuple):
    """What a wave leaves over of a series: the ``rest``, and its ``power`` value by value."""

    rest: Series
    power: Series
    foretold: float  # the power that the frame before does not foretell, of all values
    memory: float  # the correlation of neighbouring frames
    freedom: int


def most_harmonics(frames: int, period: float) -> int:
    """Return how many harmonics of a period so many frames can show, at least 1."""
    return max(1, min(_HARMONICS, int(_HIGHEST * period), (frames - 3) // _FRAMES_EACH))


def left_by(series: Series, period: float, harmonics: int) -> Left:
    """Return what is left of a prepared series by the wave of a period that fits it best."""
    frames = len(series)
    basis = trend_of(frames)
    if harmonics:
        turns = tau / period * np.arange(frames)[:, None] * np.arange(1, harmonics + 1)
        basis = np.linalg.qr(np.concatenate([basis, np.cos(turns), np.sin(turns)], axis=1))[0]
    rest = series - basis @ (basis.T @ series)
    before, after = float((rest[:-1] ** 2).sum()), float((rest[1:] ** 2).sum())
    memory = max(float((rest[:-1] * rest[1:]).sum()) / before, 0.0) if before > 0 else 0.0
    return Left(
        rest=rest,
        power=(rest**2).sum(axis=0),
        foretold=max(after - memory**2 * before, 0.0),
        memory=min(memory, 1.0),
        freedom=max(frames - basis.shape[1], 1),
    )


def evidence_for(series: Series, period: float) -> float:
    """Return the natural logarithm of the odds that chance would do worse than a period.

    The odds are those of all periods that might have been tried: 0 is what chance brings about
    once.
    """
    frames = len(series)
    without = left_by(series, period, 0).foretold
    best = -np.inf
    for harmonics in range(1, most_harmonics(frames, period) + 1):
        rest = left_by(series, period, harmonics)
        gain = log(without / rest.foretold) if 0 < rest.foretold < without else 0.0
        odds = (rest.freedom - 1) / 2 * gain - _EACH_HARMONIC * (harmonics - 1)
        best = max(best, odds)
    return float(best) - log(_CHANCES * frames / 6) - _FEW * period / frames
