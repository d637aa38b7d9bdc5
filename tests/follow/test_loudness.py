"""Loudness is what EBU R 128's meters say, and clipping is counted."""

from __future__ import annotations

import numpy as np
import pytest
from sounds import RATE

from retime.follow.loudness import Loudness, Meter


def _measured(level: float, seconds: int = 20, frequency: float = 1000) -> Loudness:
    """Measure a sine in both channels of stereo, its peak at so many dB of full scale."""
    times = np.arange(seconds * RATE) / RATE
    wave = 10 ** (level / 20) * np.sin(2 * np.pi * frequency * times)
    blocks = np.array_split(np.stack([wave, wave], axis=1), 40)
    meter = Meter(RATE, "stereo")
    for block, passed in zip(blocks, meter.passing(blocks), strict=True):
        assert block is passed
    return meter.loudness()


@pytest.mark.parametrize("level", [-23, -33])
def test_a_sine_is_as_loud_as_the_published_calibration_has_it(level: int) -> None:
    """EBU Tech 3341, test cases 1 and 2: 1 kHz in stereo at -23 and -33 dBFS is -23.0 and -33.0.

    The cases are from memory; the tolerance there is 0.1 LU.
    """
    assert abs(_measured(level).integrated - level) <= 0.1  # type: ignore[operator]


def test_silence_has_no_loudness_and_what_is_beyond_full_scale_is_counted() -> None:
    silent, loud = _measured(-200), _measured(6, seconds=5)

    assert silent.integrated is None
    assert 0 == silent.clipped
    assert loud.clipped > RATE
    assert loud.peak is not None
    assert abs(loud.peak - 6) < 0.2
    assert "samples clipped" in str(loud)
