"""What the sums of a mixture leave of pictures, and what that says for it.

A remainder says little by itself: it is small wherever little moves. So each is held against what
it would be if pictures so far apart differed as they do on the mean nearby, and that against the
middle of what several other mixtures leave at the same picture; and, on the other side, against the
noise of coding, which is all that the sums of the right mixture leave. Noise is told by the
mixtures that fit. Sums do not reach over cuts: there is nothing to be mixed.
"""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from retime.signal.mixtures import LEAST, Rule, residues
from retime.signal.sliding import sliding_mean

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from retime.signal.changes import Flags, Measures

    Values = NDArray[np.float64]

__all__ = [
    "Nearby",
    "Remainders",
    "by_phase",
    "means_nearby",
    "nearby",
    "relative",
    "remainders",
]

_NEARBY = 24
_TINY = 1e-9
_YARDSTICKS = tuple(
    Fraction(*pair) for pair in ((1, 2), (3, 5), (2, 3), (3, 4), (4, 5), (5, 6), (11, 12))
)
_PER_SUM = 8.0
_CLEARLY = -0.5
_WORST = -1.0
_SHARE = 0.003  # of what is usual is left by rounding and by sums that are only nearly nothing
_OUTBURST = 1.5  # more movement than is usual nearby is counted no further
_UNEVEN = 0.8  # the spread of logarithms of what is left


class Nearby(NamedTuple):
    """Differences between pictures of one shot, else NaN, and what they usually are.

    ``seen`` and ``usual`` have the shape (n, FURTHEST + 1); ``middle`` is the middle of what some
    mixtures leave at each picture over what they usually do, a logarithm.
    """

    seen: Values
    usual: Values
    middle: Values


class Remainders(NamedTuple):
    """What the sums of a mixture leave, by its phase at picture 0: shape (outputs, n), or (0, 0).

    ``expected`` is what they would leave of pictures that are not mixed so, ``weight`` the part
    of a picture's word that is its own, for neighbours tell of the same sums.
    """

    residue: Values
    expected: Values
    weight: float

    @property
    def left(self) -> Values:
        """What is left over what was expected, a logarithm."""
        left: Values = np.log(self.residue / self.expected)
        return left

    def noise(self) -> float:
        """Return what sums leave where the phase that fits best nearby does fit; else inf."""
        if not len(self.residue):
            return np.inf
        means = means_nearby(self.left)
        told = ~np.isnan(means).all(axis=0)
        pictures = np.arange(means.shape[1])
        best = np.zeros(means.shape[1], np.intp)
        best[told] = np.nanargmin(means[:, told], axis=0)
        residue = self.residue[best, pictures]
        fits = told & (means[best, pictures] < _CLEARLY) & ~np.isnan(residue)
        return float(np.median(residue[fits])) if fits.any() else np.inf

    def gains(self, noise: float, most: float) -> Values:
        """Return what speaks for each phase at each picture, in nats, up to ``most``.

        Noise is so far below what is expected otherwise, and what was left lies nearer to the one
        or to the other. Where movement is no more than noise nothing is told.
        """
        if not len(self.residue):
            return self.residue
        depth = np.maximum(-np.log(noise / self.expected + _SHARE), 0)
        told = np.minimum(depth, 1) * (-self.left - depth / 2) / _UNEVEN**2
        gains: Values = np.nan_to_num(np.clip(told, _WORST, most)) * self.weight
        return gains


def nearby(apart: Measures, cuts: Flags) -> Nearby:
    """Return differences as they are seen within shots, and as they are on the mean nearby."""
    seen = apart.astype(np.float64)
    shots = np.cumsum(cuts)
    usual = np.full_like(seen, np.nan)
    usual[:, 0] = 0
    for back in range(1, seen.shape[1]):
        seen[:back, back] = np.nan
        seen[back:, back][shots[back:] != shots[:-back]] = np.nan
        usual[:, back] = means_nearby(seen[None, :, back])[0]
        usual[np.isnan(seen[:, back]), back] = np.nan
    return Nearby(seen, usual, _middle(seen, usual))


def remainders(near: Nearby, ratio: Fraction, rule: Rule) -> Remainders:
    """Return what is left by the sums of a ratio and a rule."""
    residue = residues(near.seen, ratio, rule)
    if not len(residue):
        return Remainders(np.empty((0, 0)), np.empty((0, 0)), 0.0)
    # A cycle of q pictures has q - p sums that say something of their own, each met several times.
    met = max(1, int((~np.isnan(residue)).any(axis=1).sum()))
    weight = min(1.0, _PER_SUM * (ratio.denominator - ratio.numerator) / met)
    expected = _usual(near.usual, ratio, rule)
    return Remainders(
        residue=by_phase(residue, ratio),
        expected=by_phase(expected, ratio) * np.exp(near.middle),
        weight=weight,
    )


def relative(seen: Values, usual: Values, ratio: Fraction, rule: Rule) -> Values:
    """Return the logarithms of residues over what they usually would be, by phase."""
    told = residues(seen, ratio, rule)
    return np.log(told / _usual(usual, ratio, rule)) if len(told) else told


def _usual(usual: Values, ratio: Fraction, rule: Rule) -> Values:
    """Return what sums usually leave, NaN where means of different pictures do not go together."""
    told = residues(usual, ratio, rule)
    told[told <= LEAST] = np.nan
    return told


def by_phase(rows: Values, ratio: Fraction) -> Values:
    """Return rows that follow a mixture through its phases, by its phase at picture 0."""
    pictures = np.arange(rows.shape[1])
    phases = np.arange(ratio.denominator)[:, None] + pictures * ratio.numerator
    return np.take_along_axis(rows, phases % ratio.denominator, axis=0)


def _middle(seen: Values, usual: Values) -> Values:
    """Return the middle of what mixtures leave at each picture; NaN where there is nothing."""
    rows = np.concatenate([relative(seen, usual, one, Rule.BETWEEN) for one in _YARDSTICKS])
    middle = np.full(rows.shape[1], np.nan)
    told = ~np.isnan(rows).all(axis=0)
    middle[told] = np.minimum(np.nanmedian(rows[:, told], axis=0), _OUTBURST)
    return middle


def means_nearby(rows: Values) -> Values:
    """Return means of what there is around each value of each row, NaN where there is nothing."""
    told = ~np.isnan(rows)
    means = np.full_like(rows, np.nan)
    for row, known, mean in zip(rows, told, means, strict=True):
        counts = sliding_mean(known.astype(np.float64), _NEARBY)
        some = counts > _TINY
        mean[some] = sliding_mean(np.where(known, row, 0), _NEARBY)[some] / counts[some]
    return means
