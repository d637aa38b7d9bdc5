"""What sums of mixtures leave, held against noise that is put in: film frames are drawn by lot."""

from __future__ import annotations

from fractions import Fraction

import numpy as np
import pytest
from test_mixtures import mixed

from retime.signal.changes import FURTHEST
from retime.signal.mixtures import Rule
from retime.signal.remainders import Remainders, nearby, remainders

COUNT, MOVING, VALUES = 160, 80, 900
RATIOS = [Fraction(16, 25), Fraction(5, 6), Fraction(24, 25)]


def seen(ratio: Fraction, noise: float) -> Remainders:
    """Return what is left of pictures whose film moves up to a picture, and then stands."""
    chance = np.random.default_rng(7)
    film = chance.normal(0, 12, (COUNT + 2, VALUES))
    film[int(MOVING * ratio) :] = film[int(MOVING * ratio)]
    pictures = np.array([mixed(film, k, ratio, Rule.BETWEEN) for k in range(COUNT)])
    pictures += chance.normal(0, noise, pictures.shape)
    apart = np.zeros((COUNT, FURTHEST + 1), np.float32)
    for back in range(1, FURTHEST + 1):
        apart[back:, back] = ((pictures[back:] - pictures[:-back]) ** 2).mean(axis=1)
    cuts = np.zeros(COUNT, np.bool_)
    return remainders(nearby(apart, cuts), ratio, Rule.BETWEEN)


@pytest.mark.parametrize("ratio", RATIOS)
@pytest.mark.parametrize("noise", [0.5, 2.0])
def test_sums_that_fit_leave_the_noise_of_a_picture(ratio: Fraction, noise: float) -> None:
    """Weights of a sum are of length 1, so that it has the variance of one picture's noise."""
    told = seen(ratio, noise).noise()

    assert noise**2 / 1.5 < told < 1.5 * noise**2 + 144 / 50**2


@pytest.mark.parametrize("ratio", RATIOS)
def test_movement_speaks_for_the_phase_and_what_stands_says_nothing(ratio: Fraction) -> None:
    left = seen(ratio, 2.0)

    gains = left.gains(4.0, 3.0)

    # What is usual is told of 24 pictures on either side.
    moving, standing = gains[:, :MOVING], gains[:, MOVING + FURTHEST + 24 :]
    assert 0 == moving.sum(axis=1).argmax()
    assert moving[0].sum() > 10
    assert moving[ratio.denominator // 2].sum() < 0
    assert np.abs(standing).max() < 0.1


def test_what_is_not_mixed_speaks_for_no_phase() -> None:
    """Every picture is a film frame of its own; sums leave what is usual, in every phase."""
    chance = np.random.default_rng(8)
    pictures = chance.normal(0, 12, (COUNT, VALUES))
    apart = np.zeros((COUNT, FURTHEST + 1), np.float32)
    for back in range(1, FURTHEST + 1):
        apart[back:, back] = ((pictures[back:] - pictures[:-back]) ** 2).mean(axis=1)

    left = remainders(nearby(apart, np.zeros(COUNT, np.bool_)), Fraction(5, 6), Rule.BETWEEN)

    assert np.isinf(left.noise())
    assert not (left.gains(left.noise(), 3.0) > 0).any()
