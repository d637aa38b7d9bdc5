"""Attacks are told from all that only swells, and close ones from those apart."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pytest
from sounds import RATE, Clicks

from retime.follow.attacks import close_attacks

if TYPE_CHECKING:
    from numpy.typing import NDArray

SECONDS = 6
CLOSE = 0.125


def _found(sound: NDArray[np.float64]) -> NDArray[np.int64]:
    return close_attacks(sound, RATE, CLOSE)


def _clicked(rate: float) -> list[int]:
    return [round(number * RATE / rate) for number in range(1, int(SECONDS * rate))]


@pytest.mark.parametrize("rate", [8.5, 12, 16, 18, 20, 24, 26])
def test_every_click_that_is_close_to_another_is_found(rate: float) -> None:
    marks = np.array(_clicked(rate))
    found = _found(Clicks(marks.tolist()).read(0, SECONDS * RATE))
    off = np.abs(marks[:, None] - found[None, :])
    assert off.min(axis=1).max() < 0.005 * RATE
    assert off.min(axis=0).max() < 0.005 * RATE


@pytest.mark.parametrize("rate", [1, 4, 7.5])
def test_clicks_that_are_apart_are_not(rate: float) -> None:
    assert not len(_found(Clicks(_clicked(rate)).read(0, SECONDS * RATE)))


def test_one_channel_of_six_is_enough() -> None:
    sound = np.zeros((SECONDS * RATE, 6))
    sound[:, 4:5] = Clicks(_clicked(20), 1).read(0, SECONDS * RATE)
    assert len(_found(sound))


@pytest.mark.parametrize("beats", [0, 1, 2, 4, 8, 12, 16, 20, 24])
@pytest.mark.parametrize("pitch", [41.2, 110, 880])
def test_tones_that_beat_have_no_attacks(pitch: float, beats: int) -> None:
    """Nor those that come and go altogether, so many times a second."""
    times = np.arange(SECONDS * RATE) / RATE
    tone = np.sin(2 * np.pi * pitch * times)
    other = np.sin(2 * np.pi * (pitch + beats) * times)
    assert not len(_found((tone + other)[:, None]))
    assert not len(_found((tone * (1 + np.cos(2 * np.pi * beats * times)))[:, None]))


@pytest.mark.parametrize("below", [10, 30])
def test_clicks_are_attacks_where_they_stand_out_of_other_sound(below: int) -> None:
    """By 15 dB over 2.5 ms: noise 10 dB below the clicks hides them, noise 30 dB below does not."""
    clicks = Clicks(_clicked(20), 1).read(0, SECONDS * RATE)
    power = (clicks**2).reshape(-1, RATE // 400).mean(axis=1).max()
    noise = np.random.default_rng(3).normal(0, np.sqrt(power), clicks.shape)
    found = _found(clicks + noise * 10 ** (-below / 20))
    assert bool(len(found)) is (below > 15)


def test_silence_and_next_to_nothing_have_none() -> None:
    assert not len(_found(np.zeros((SECONDS * RATE, 2))))
    assert not len(_found(np.zeros((3, 2))))
    assert not len(_found(Clicks(_clicked(20), 2, 1e-5).read(0, SECONDS * RATE)))


def test_the_rate_of_a_recording_changes_nothing() -> None:
    """At 96 kHz the same sound has its attacks at the same times."""
    half = Clicks(_clicked(20), 1).read(0, SECONDS * RATE)
    times = _found(half) / RATE
    doubled = close_attacks(np.repeat(half, 2, axis=0), 2 * RATE, CLOSE)
    assert np.array_equal(times, doubled / (2 * RATE))
    assert abs(times[0] - 1 / 20) < 0.005
