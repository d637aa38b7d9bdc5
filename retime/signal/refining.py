"""The length of a period to parts of a frame, and how well it is known.

Waves are fitted to each series by least squares beside its trend, and the period is that which
leaves least over in all. Over many periods nobody keeps time to a part of one, so each wave spans
a few of them only, and what they share is the period.

How well it is known follows from how fast what is left over grows beside it (JCGM 100:2008, Guide
to the expression of uncertainty in measurement, in the form for a fitted parameter; from memory).
What is left over is no white noise: its memory from frame to frame makes the figure worth less,
and so does what one series has in common with another, for which all count as one witness. And no
walker is a clock: how much each period comes early or late on the one before is counted as well.
"""

from __future__ import annotations

from math import ceil, sqrt
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from retime.signal.waves import left_by, most_harmonics

if TYPE_CHECKING:
    from collections.abc import Sequence

    from retime.signal.series import Series

__all__ = ["Refined", "refined"]

_REACH = 0.06  # of the period, to both sides
_FINE = 8  # steps in the part of a period by which a whole turn is gained over all frames
_MOST_MEMORY = 0.8
_IN_STEP = 8  # periods over which a wave may be taken to keep time
_FLAT = 1e-12  # of a series' power
_FEWEST_STEPS = 2  # from period to period, before their unevenness can be told


class Refined(NamedTuple):
    """A period and its standard uncertainty, in frames."""

    frames: float
    uncertainty: float


class _Fitted(NamedTuple):
    """What is left of one series' pieces by waves of one period, piece by piece and value by value.

    ``variance`` is that of a value that is left, ``memory`` the correlation of neighbouring frames.
    """

    power: Series
    variance: Series
    memory: float


def refined(members: Sequence[Series], weights: Sequence[float], period: float) -> Refined:
    """Return the period near ``period`` that fits prepared series best, each by its weight.

    The series, of shape (frames, values), are all of the same frames.
    """
    frames = len(members[0])
    pieces = max(1, round(frames / period / _IN_STEP))
    cut = [np.array_split(one / sqrt(float((one**2).sum())), pieces) for one in members]
    step = period**2 / (frames / pieces) / _FINE
    count = max(2, ceil(_REACH * period / step))
    tried = period + step * np.arange(-count, count + 1)
    left = [
        sum(
            weight * float(_fitted(one, float(length)).power.sum())
            for one, weight in zip(cut, weights, strict=True)
        )
        for length in tried
    ]
    best = min(max(int(np.argmin(left)), 1), 2 * count - 1)
    before, middle, after = left[best - 1 : best + 2]
    bend = before - 2 * middle + after
    aside = (before - after) / (2 * bend) if bend > 0 else 0.0
    found = float(tried[best]) + min(max(aside, -1.0), 1.0) * step
    told = [_uncertainty(one, found, step) for one in cut]
    shares = [weight * bend for weight, (_, bend) in zip(weights, told, strict=True)]
    if sum(shares) <= 0:
        return Refined(found, found)
    mean = sum(share * one for share, (one, _) in zip(shares, told, strict=True)) / sum(shares)
    return Refined(found, mean)


def _fitted(pieces: Sequence[Series], period: float) -> _Fitted:
    """Fit waves of a period to the pieces of one series."""
    harmonics = most_harmonics(len(pieces[0]), period)
    left = [left_by(one, period, harmonics) for one in pieces]
    return _Fitted(
        power=np.concatenate([one.power for one in left]),
        variance=np.concatenate([one.power / one.freedom for one in left]),
        memory=sum(one.memory for one in left) / len(left),
    )


def _uncertainty(pieces: Sequence[Series], period: float, step: float) -> tuple[float, float]:
    """Return a period's standard uncertainty by one series, and how sharply that tells it."""
    before, middle, after = (_fitted(pieces, period + aside) for aside in (-step, 0.0, step))
    bends = np.maximum((before.power - 2 * middle.power + after.power) / (2 * step**2), 0)
    bend = float(bends.sum())
    if bend <= 0:
        return period, 0.0
    memory = min(middle.memory, _MOST_MEMORY)
    fit = sqrt(float((middle.variance * bends).sum()) * (1 + memory) / (1 - memory)) / bend
    return max(fit, _unevenness(pieces, period)), bend


def _unevenness(pieces: Sequence[Series], period: float) -> float:
    """Return the standard uncertainty of a mean period whose lengths differ, 0 if too few.

    How late each period comes is read from what is left over beside the wave's slope. The noise of
    that reading is in it too, so that the figure is rather too large than too small.
    """
    steps = []
    for piece in pieces:
        left = left_by(piece, period, most_harmonics(len(piece), period))
        slope = np.gradient(piece - left.rest, axis=0)
        periods = max(1, round(len(piece) / period))
        starts = np.arange(periods) * len(piece) // periods
        power = np.maximum(np.add.reduceat((slope**2).sum(axis=1), starts), _FLAT)
        steps.append(np.diff(np.add.reduceat((left.rest * slope).sum(axis=1), starts) / power))
    uneven = np.concatenate(steps)
    if len(uneven) < _FEWEST_STEPS:
        return 0.0
    return sqrt(float((uneven**2).mean()) / len(uneven))
