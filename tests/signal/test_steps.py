"""What steps between pictures say for a mixture, held against films that wander by chance.

A film whose frames take independent steps of equal length differs, from one picture to the next
that was mixed by 1 - f and f, by (1 - f - s)^2 + f^2 of a film step's square, where pictures stand
1 - s of a film frame apart: half as much where halves meet as where whole frames do.
"""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING

import numpy as np
import pytest
from test_mixtures import mixed

from retime.signal.changes import FURTHEST
from retime.signal.mixtures import Rule
from retime.signal.remainders import nearby
from retime.signal.steps import step_gains

if TYPE_CHECKING:
    from numpy.typing import NDArray

COUNT, VALUES = 60, 300
RATIOS = [Fraction(5, 6), Fraction(22, 25), Fraction(11, 12), Fraction(24, 25)]


def wandering(seed: int) -> NDArray[np.float64]:
    """Return a film in which every step is independent, and some are a third longer than others."""
    chance = np.random.default_rng(seed)
    longer = np.exp(chance.normal(0, 0.3, (2 * COUNT, 1)))
    return np.cumsum(chance.normal(0, 4, (2 * COUNT, VALUES)) * longer, axis=0)


def gains(
    pictures: NDArray[np.float64], ratio: Fraction, cut: int | None = None
) -> NDArray[np.float64]:
    apart = np.zeros((len(pictures), FURTHEST + 1), np.float32)
    for back in range(1, FURTHEST + 1):
        apart[back:, back] = ((pictures[back:] - pictures[:-back]) ** 2).mean(axis=1)
    cuts = np.zeros(len(pictures), np.bool_)
    cuts[[0] if cut is None else [0, cut]] = True
    return step_gains(nearby(apart, cuts), cuts, ratio)


@pytest.mark.parametrize("ratio", RATIOS)
@pytest.mark.parametrize("rule", [Rule.BETWEEN, Rule.NEARLY])
def test_steps_tell_the_phase_where_some_film_steps_are_longer_than_others(
    ratio: Fraction, rule: Rule
) -> None:
    cycle = ratio.denominator
    off, told = [], []
    for begin in range(cycle):
        film = wandering(begin)
        pictures = np.array([mixed(film, k, ratio, rule) for k in range(begin, begin + COUNT)])
        pictures += np.random.default_rng(1).normal(0, 1, pictures.shape)
        sums = gains(pictures, ratio).sum(axis=1)
        phase = begin * ratio.numerator % cycle
        aside = (int(sums.argmax()) - phase) % cycle
        off.append(min(aside, cycle - aside))
        told.append(sums[phase])

    assert sum(one > 1 for one in off) <= 0.15 * cycle
    assert np.median(told) > 2


@pytest.mark.parametrize("ratio", RATIOS)
def test_a_film_that_is_not_mixed_seldom_speaks_for_any_phase(ratio: Fraction) -> None:
    """A ratio of likelihoods is 1 on the mean where it is wrong, whatever it speaks for."""
    told = [gains(wandering(seed)[:COUNT], ratio).sum(axis=1) for seed in range(100)]

    assert np.exp(told).mean() <= 1


def test_what_stands_and_what_is_cut_says_nothing() -> None:
    chance = np.random.default_rng(3)
    film = np.concatenate([chance.normal(0, 9, (40, VALUES)), np.ones((80, VALUES))])

    told = gains(film, Fraction(24, 25), cut=20)

    assert (told[:, 20] == 0).all()
    assert (told[:, 42:] == 0).all()
    assert np.abs(told[:, 1:40]).sum() > 0
