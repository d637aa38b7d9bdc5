"""Periods in series of numbers: found where there is one, refused where there is none."""

from __future__ import annotations

from math import tau
from typing import TYPE_CHECKING

import numpy as np
import pytest

from retime.signal.period import Period, Unclear, find_period

if TYPE_CHECKING:
    from numpy.typing import NDArray

RUNS = 500


def swings(  # noqa: PLR0913 - a wave and how it is seen
    frames: int,
    period: float,
    seed: int,
    *,
    noise: float = 0.25,
    uneven: float = 0.0,
    series: int = 3,
) -> list[NDArray[np.float64]]:
    """Return series of a wave with a harmonic, on a slope and in noise; periods may be uneven."""
    chance = np.random.default_rng(seed)
    ends = np.concatenate([[0.0], np.cumsum(1 + uneven * chance.normal(size=frames))])
    turns = tau * np.interp(np.arange(frames) / period, ends, np.arange(frames + 1))
    made = []
    for begin, other in chance.uniform(0, tau, (series, 2)):
        wave = np.cos(turns + begin) + 0.3 * np.cos(2 * turns + other)
        slope = chance.normal() * np.linspace(-1, 1, frames)
        made.append(wave + slope + noise * chance.normal(size=frames))
    return made


def found(series: list[NDArray[np.float64]]) -> Period:
    period = find_period(series)
    assert isinstance(period, Period), period
    return period


def refused(series: list[NDArray[np.float64]]) -> str:
    period = find_period(series)
    assert isinstance(period, Unclear), period
    return period.reason


@pytest.mark.parametrize("count", [1, 6])
@pytest.mark.parametrize("frames", [30, 66])
def test_white_noise_is_refused_in_99_of_100_runs(count: int, frames: int) -> None:
    chance = np.random.default_rng(frames + count)
    answers = [find_period(list(chance.normal(size=(count, frames)))) for _ in range(RUNS)]

    assert sum(isinstance(one, Unclear) for one in answers) >= 0.99 * RUNS


def test_what_stands_still_or_moves_evenly_is_refused_in_every_run() -> None:
    chance = np.random.default_rng(1)
    for _ in range(RUNS):
        still, even = chance.normal(size=2) * 10.0 ** chance.integers(-3, 4)
        frames = int(chance.integers(12, 200))
        assert "nothing moves" == refused([np.full(frames, still)])
        assert refused([np.linspace(still, even, frames), np.full((frames, 3), even)])


@pytest.mark.parametrize("memory", [0.5, 0.8, 0.95, 1.0])
def test_noise_that_remembers_is_seldom_taken_for_a_movement(memory: float) -> None:
    """A random walk swings slowly by nature, and means nothing by it."""
    chance = np.random.default_rng(7)
    taken, runs = 0, 300
    for _ in range(runs):
        noise = chance.normal(size=(6, 120))
        for at in range(1, 120):
            noise[:, at] += memory * noise[:, at - 1]
        taken += isinstance(find_period(list(noise[:, 60:])), Period)

    assert taken <= 0.02 * runs


def test_noise_that_all_series_share_does_not_count_for_each_of_them() -> None:
    """A frame that shook makes everything jump, and jumps together are one witness."""
    chance = np.random.default_rng(9)
    taken = 0
    for _ in range(RUNS):
        shared, own = chance.normal(size=40), chance.normal(size=(6, 40))
        taken += isinstance(find_period(list(shared + 0.4 * own)), Period)

    assert taken <= 0.01 * RUNS


@pytest.mark.parametrize(
    ("frames", "period"), [(40, 8.0), (66, 11.0), (60, 12.31), (50, 4.4), (90, 27.3), (300, 9.07)]
)
def test_a_period_is_told_to_parts_of_a_frame(frames: int, period: float) -> None:
    errors = [found(swings(frames, period, seed)).frames / period - 1 for seed in range(8)]

    assert max(map(abs, errors)) < 0.015


def test_a_pendulum_that_is_seen_to_swing_twice_is_told() -> None:
    told = found(swings(80, 40, 3, noise=0.05))

    assert told.frames == pytest.approx(40, rel=0.01)
    assert told.seen == pytest.approx(2, rel=0.01)


@pytest.mark.parametrize("uneven", [0.0, 0.02])
@pytest.mark.parametrize("noise", [0.25, 0.7])
def test_the_uncertainty_is_honest(noise: float, uneven: float) -> None:
    """Within two standard uncertainties lie 95 of 100 of a normal distribution; nine in ten do."""
    off = []
    for seed in range(40):
        told = found(swings(66, 11, seed, noise=noise, uneven=uneven))
        off.append(abs(told.frames - 11) / told.uncertainty)

    assert sum(one <= 2 for one in off) >= 36
    assert max(off) > 0.2  # and not by being told as wide as anything


def test_the_halves_and_doubles_that_may_be_meant_are_told() -> None:
    """A pendulum goes by the middle twice in a swing: how fast it goes has half the period."""
    turns = tau * np.arange(100) / 20
    noise = 0.1 * np.random.default_rng(1).normal(size=(2, 100))
    told = found([np.cos(turns) + noise[0], np.abs(np.sin(turns)) + noise[1]])

    assert told.frames == pytest.approx(20, rel=0.01)
    half, double = told.others
    assert half.frames == pytest.approx(10, rel=0.01)
    assert double.frames == pytest.approx(40, rel=0.01)
    assert "one step, if this is a stride of two" in half.words
    assert "the stride, if this is a step" in double.words
    assert min(half.strength, double.strength) > 0.8


def test_another_movement_in_the_box_is_told() -> None:
    told = found([*swings(100, 20, 1, noise=0.1), *swings(100, 15.4, 2, noise=0.1, series=2)])

    assert told.frames == pytest.approx(20, rel=0.02)
    assert any(
        one.frames == pytest.approx(15.4, rel=0.02) and "another movement" in one.words
        for one in told.others
    )


def test_confidence_grows_with_periods_seen_and_falls_with_noise() -> None:
    few, many = (found(swings(frames, 11, 1)).confidence for frames in (30, 90))
    clear, rough = (found(swings(90, 11, 1, noise=noise)).confidence for noise in (0.1, 0.8))

    assert 0 <= few < many <= 1
    assert 0 <= rough < clear <= 1


def test_frames_that_stand_out_change_little() -> None:
    series = swings(66, 11, 4)
    for one in series:
        one[[13, 41]] += 30  # a splice, a blot

    assert found(series).frames == pytest.approx(11, rel=0.02)


def test_series_of_several_values_are_taken_as_one() -> None:
    told = found([np.stack(swings(66, 11, 5, series=4), axis=1)])

    assert told.frames == pytest.approx(11, rel=0.015)


def test_few_frames_are_refused() -> None:
    assert "11 frames are too few" in refused([np.arange(11.0)])


def test_series_of_different_lengths_are_no_series_of_one_film() -> None:
    with pytest.raises(ValueError, match="20, 30"):
        find_period([np.zeros(20), np.zeros(30)])
