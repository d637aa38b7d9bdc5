"""Pictures that were mixed from two film frames each: by what rule, told without the film frames.

q pictures mixed from p film frames, q > p, are not independent: some sums of a few successive
pictures, with weights that the rule gives, are nothing at all, whatever the film shows. How far
from nothing such a sum is needs only the differences between pictures; for weights w that add up to
0, the square of the sum is minus half of the sum of w_a w_b |picture a - picture b|^2.

Two rules are known. ``BETWEEN`` is that of FFmpeg's filters framerate and minterpolate (FFmpeg
filters documentation): picture k stands at film position k p/q and leans linearly on its two
neighbours. ``WINDOW`` is the mean of what the film shows in the time of a picture.
"""

from __future__ import annotations

from enum import StrEnum
from fractions import Fraction
from functools import lru_cache
from math import sqrt
from typing import TYPE_CHECKING

import numpy as np
from msgspec import Struct

from retime.signal.changes import FURTHEST

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Distances = NDArray[np.float64]

__all__ = ["LEAST", "Mixture", "Rule", "all_mixtures", "ratios_for", "residues"]

_NOTHING = 0.02
"""Sums in which no film frame weighs more than this are nothing beside any noise of coding."""
LEAST = 1e-3
"""Codes squared: less is no difference."""
_SHORTEST = 3
_RATES = (24, 25, 30)
_SLOWEST = 12
_FASTEST = Fraction(24, 25)  # beyond it sums reach further back than pictures are compared
# FFmpeg filters documentation, framerate: interp_start 15 and interp_end 240, of 255.
_KEPT, _TAKEN = Fraction(15, 255), Fraction(240, 255)


class Rule(StrEnum):
    """How pictures are mixed."""

    BETWEEN = "between"
    NEARLY = "between, but whole where a film frame is near"
    WINDOW = "window"


class Mixture(Struct, frozen=True, kw_only=True):
    """``film`` frames in ``outputs`` pictures; picture k stands at (phase + k film)/outputs."""

    film: int
    outputs: int
    phase: int
    rule: Rule

    def position(self, picture: int) -> Fraction:
        """Return where in the film a picture stands; a whole number is a film frame."""
        return Fraction(self.phase + picture * self.film, self.outputs)

    def parts(self, picture: int) -> tuple[tuple[int, Fraction], ...]:
        """Return the film frames that a picture is mixed from, with their weights, 1 in all."""
        return _parts(self.position(picture), Fraction(self.film, self.outputs), self.rule)


def _parts(at: Fraction, width: Fraction, rule: Rule) -> tuple[tuple[int, Fraction], ...]:
    first = at.numerator // at.denominator
    if rule is Rule.WINDOW:
        stop = at + width
        shares = [
            (frame, (min(stop, Fraction(frame + 1)) - max(at, Fraction(frame))) / width)
            for frame in (first, first + 1)
        ]
    else:
        part = at - first
        if rule is Rule.NEARLY:
            part = Fraction(0) if part < _KEPT else Fraction(1) if part > _TAKEN else part
        shares = [(first, 1 - part), (first + 1, part)]
    return tuple((frame, share) for frame, share in shares if share > 0)


def ratios_for(rate: Fraction | None) -> tuple[Fraction, ...]:
    """Return the ratios of film frames to pictures that are looked for, below 1."""
    nominal = None if rate is None else round(rate)
    rates = (nominal,) if nominal in _RATES else _RATES
    found = {Fraction(speed, told) for told in rates for speed in range(_SLOWEST, told)}
    return tuple(sorted(ratio for ratio in found if ratio <= _FASTEST))


def all_mixtures(ratio: Fraction, rule: Rule) -> tuple[Mixture, ...]:
    """Return the mixtures of a ratio in all its phases; none where no sum is short enough."""
    film, outputs = ratio.numerator, ratio.denominator
    mixtures = tuple(
        Mixture(film=film, outputs=outputs, phase=phase, rule=rule) for phase in range(outputs)
    )
    return mixtures if any(_sums(one) is not None for one in mixtures) else ()


def residues(apart: Distances, ratio: Fraction, rule: Rule) -> Distances:
    """Return how far from nothing pictures' sums are, in every phase: shape (outputs, n).

    ``apart`` has the shape (n, FURTHEST + 1). Row r, column j is the mean square of the sums that
    end with picture j if it stands at phase r of the cycle; NaN where there is none.
    """
    rows = [_residue(apart, one) for one in all_mixtures(ratio, rule)]
    return np.array(rows)


def _residue(apart: Distances, mixture: Mixture) -> Distances:
    """Return the residue of each picture, supposing that it stands at the mixture's phase."""
    count = len(apart)
    sums = _sums(mixture)
    if sums is None or sums.shape[1] > count:
        return np.full(count, np.nan)
    length = sums.shape[1]
    residue = np.zeros(count)
    for late in range(1, length):
        ended = length - 1 - late
        for early in range(late):
            weight = -float(sums[:, late] @ sums[:, early]) / len(sums)
            residue[ended:] += weight * apart[: count - ended, late - early]
    residue[: length - 1] = np.nan
    return np.maximum(residue, LEAST, where=~np.isnan(residue), out=residue)


@lru_cache(maxsize=4096)
def _sums(mixture: Mixture) -> NDArray[np.float64] | None:
    """Return weights of the fewest pictures that give nothing and end at phase ``mixture.phase``.

    Shape (sums, pictures), the last picture last; rows are of length 1 and at right angles, and
    each adds up to 0, so that what all pictures have in common is not in it.
    """
    weights = _weights(mixture, FURTHEST + 1)
    for length in range(_SHORTEST, FURTHEST + 2):
        left, sizes, _ = np.linalg.svd(_balanced(length).T @ weights[-length:])
        rank = int((sizes > _NOTHING).sum())
        if rank < length - 1:
            return np.asarray((_balanced(length) @ left[:, rank:]).T, np.float64)
    return None


@lru_cache
def _balanced(length: int) -> NDArray[np.float64]:
    """Return columns at right angles that each add up to 0, shape (length, length - 1)."""
    level = np.ones((length, 1)) / sqrt(length)
    return np.asarray(np.linalg.svd(level)[0][:, 1:], np.float64)


def _weights(mixture: Mixture, length: int) -> NDArray[np.float64]:
    """Return the weights of film frames in the pictures that end at picture 0 of a mixture."""
    parts = [mixture.parts(picture) for picture in range(1 - length, 1)]
    frames = sorted({frame for some in parts for frame, _ in some})
    weights = np.zeros((length, len(frames)))
    for row, some in enumerate(parts):
        for frame, share in some:
            weights[row, frames.index(frame)] = float(share)
    return weights
