"""What the steps from picture to picture say for a mixture: they are short where halves meet.

Two means of the same film frames differ by less than the film frames do, and so steps between
pictures are long and short by turns, by where between film frames the pictures stand. A step is
held against the two steps in one about it, which are more even: how much moves, and coding, change
both. How far film frames lie apart grows with a power of the time between them (a structure
function, by which irregular movement is described; common practice), and the power is taken from
the pictures nearby.
"""

from __future__ import annotations

from functools import lru_cache
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np

from retime.signal.mixtures import Mixture, Rule
from retime.signal.remainders import by_phase, means_nearby

if TYPE_CHECKING:
    from fractions import Fraction

    from numpy.typing import NDArray

    from retime.signal.changes import Flags
    from retime.signal.remainders import Nearby

    Values = NDArray[np.float64]

__all__ = ["step_gains"]

_POWERS = np.linspace(0.1, 1.6, 16)  # 0 is that of noise, 2 that of steady movement
_SHARE = 0.8  # of what is expected is counted on: noise of coding makes steps more even
_OUTBURST = 1.2  # a logarithm: what is longer or shorter than its neighbours counts no further
_LEAST_SPREAD = 0.02
_MOST = 1.0


def step_gains(near: Nearby, cuts: Flags, ratio: Fraction) -> Values:
    """Return what speaks for each phase of a ratio at each picture, in nats, up to 1.

    The shape is (outputs, n), rows being by the phase at picture 0. What speaks against a phase is
    below 0, and 0 is what tells nothing.
    """
    steps = _steps(near, cuts)
    expected = _expected(ratio)[:, np.abs(_powers(near)[:, None] - _POWERS).argmin(axis=1)]
    spread = means_nearby(steps[None] ** 2)[0] + _LEAST_SPREAD
    gains = np.clip((steps * expected - expected**2 / 2) / spread, -_MOST, _MOST)
    return by_phase(np.nan_to_num(gains), ratio)


def _powers(near: Nearby) -> Values:
    """Return the power that distances nearby grow with, 1 where nothing moves."""
    step, double = near.usual[:, 1], near.usual[:, 2]
    moved = (step > 0) & (double > 0)
    powers: Values = np.log2(np.divide(double, step, out=np.full(len(step), 2.0), where=moved))
    return powers


def _steps(near: Nearby, cuts: Flags) -> Values:
    """Return each step over the two in one about it, a logarithm, less its mean in the shot."""
    step, double = near.seen[:, 1], near.seen[:, 2]
    about = np.append((double[:-1] + double[1:]) / 2, np.nan)
    told = (step > 0) & (about > 0)
    steps = np.full(len(step), np.nan)
    steps[told] = np.log(step[told] / about[told])
    for first, stop in pairwise([0, *np.flatnonzero(cuts[1:]) + 1, len(cuts)]):
        steps[first:stop] -= means_nearby(steps[None, first:stop])[0]
    uneven: Values = np.clip(steps, -_OUTBURST, _OUTBURST)
    return uneven


@lru_cache
def _expected(ratio: Fraction) -> Values:
    """Return such steps in each phase of a cycle, by powers: shape (outputs, powers)."""
    film, outputs = ratio.numerator, ratio.denominator
    step, double = (
        np.array([_apart(ratio, phase, back) for phase in range(outputs)]) for back in (1, 2)
    )
    after = double[(np.arange(outputs) + film) % outputs]
    told = np.log(step / ((double + after) / 2))
    expected: Values = _SHARE * (told - told.mean(axis=0))
    return expected


def _apart(ratio: Fraction, phase: int, back: int) -> Values:
    """Return how far the picture in a phase lies from the one so many before, by powers."""
    film, outputs = ratio.numerator, ratio.denominator
    mixture = Mixture(film=film, outputs=outputs, phase=phase, rule=Rule.BETWEEN)
    weights: dict[int, float] = {}
    for picture, sign in ((0, 1), (-back, -1)):
        for frame, share in mixture.parts(picture):
            weights[frame] = weights.get(frame, 0.0) + sign * float(share)
    frames, shares = np.array([*weights]), np.array([*weights.values()])
    between = np.abs(frames[:, None] - frames)[..., None] ** _POWERS
    apart: Values = -np.einsum("i,j,ijk->k", shares, shares, between) / 2
    return apart
