"""Pictures seen in the large and in detail: what the one does not tell the other may."""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING

import numpy as np
from test_mixtures import mixed

from retime.signal.changes import FURTHEST, Changes
from retime.signal.mixing import gained
from retime.signal.mixtures import Rule

if TYPE_CHECKING:
    from numpy.typing import NDArray

COUNT, VALUES = 120, 900
RATIO = Fraction(11, 12)
PHASE = 5


def distances(noise: float, seed: int) -> NDArray[np.float32]:
    """Return those of pictures that are mixed, with noise of their own."""
    chance = np.random.default_rng(seed)
    film = chance.normal(0, 4, (COUNT + 2, VALUES))
    told = np.array([mixed(film, k, RATIO, Rule.BETWEEN) for k in range(PHASE, COUNT + PHASE)])
    told += chance.normal(0, noise, told.shape)
    apart = np.zeros((COUNT, FURTHEST + 1), np.float32)
    for back in range(1, FURTHEST + 1):
        apart[back:, back] = ((told[back:] - told[:-back]) ** 2).mean(axis=1)
    return apart


def spoken(large: float, detail: float) -> tuple[int, float]:
    """Return the phase of which most is said, and by how much more than of any other."""
    none, flags = np.zeros(COUNT, np.float32), np.zeros(COUNT, np.bool_)
    changes = Changes(
        upper=none,
        lower=none,
        upper_same=flags,
        lower_same=flags,
        places=np.zeros((COUNT, 4), np.float32),
        detail=none,
        apart=distances(large, 3),
        apart_in_light=distances(large, 3),
        details_apart=distances(detail, 4),
        steadied=none,
        quiet=none,
    )
    found = gained(changes, flags, [(RATIO, Rule.BETWEEN)])
    sums = {one.mixture.phase: float(one.gains.sum()) for one in found}
    best = max(sums, key=lambda phase: sums[phase])
    return best, sums[best] - max(value for phase, value in sums.items() if phase != best)


def test_detail_tells_the_phase_where_noise_in_the_large_hides_it() -> None:
    """Film frames are drawn by lot; picture k stands at (k + 5) 11/12, which is phase 7 of 12."""
    phase, margin = spoken(large=20.0, detail=0.5)

    assert PHASE * RATIO.numerator % RATIO.denominator == phase
    assert margin > 5


def test_the_large_tells_the_phase_where_coding_took_the_detail() -> None:
    phase, margin = spoken(large=0.5, detail=20.0)

    assert PHASE * RATIO.numerator % RATIO.denominator == phase
    assert margin > 5


def test_two_views_say_more_than_one() -> None:
    both = spoken(large=0.5, detail=0.5)[1]

    assert both > 1.2 * spoken(large=0.5, detail=20.0)[1]
