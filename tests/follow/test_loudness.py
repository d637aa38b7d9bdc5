"""Loudness is what EBU R 128's meters say, and clipping is counted."""

from __future__ import annotations

import re
import subprocess

import imageio_ffmpeg
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


def test_the_true_peak_is_that_of_the_wave_and_not_of_its_samples() -> None:
    """ITU-R BS.1770, annex 2: a sine of a quarter of the rate, its samples an eighth turn off.

    They are 3.01 dB below its peak.
    """
    turns = np.arange(4 * RATE) / 4 + 1 / 8
    wave = 0.5 * np.sin(2 * np.pi * turns)
    meter = Meter(RATE, "stereo")
    list(meter.passing(np.array_split(np.stack([wave, 0 * wave], axis=1), 7)))
    loud = meter.loudness()

    assert abs(abs(wave).max() - 0.5 / np.sqrt(2)) < 1e-9
    assert loud.peak is not None
    assert abs(loud.peak - 20 * np.log10(0.5)) < 0.2


def test_peaks_are_those_of_the_ffmpeg_program_s_meter() -> None:
    """Its filter ebur128 with peak=true, on noise with a click; at the end it would miss one."""
    noise = np.random.default_rng(3).normal(0, 0.1, (2 * RATE, 2))
    noise[RATE] = 0.9
    meter = Meter(RATE, "stereo")
    list(meter.passing([noise]))
    done = subprocess.run(
        [imageio_ffmpeg.get_ffmpeg_exe(), "-f", "f64le", "-ar", str(RATE), "-ac", "2", "-i", "-",
         "-af", "ebur128=peak=true:framelog=quiet", "-f", "null", "-"],
        input=noise.astype("<f8").tobytes(),
        capture_output=True,
        check=True,
    )  # fmt: skip
    told = re.findall(r"Peak:\s+(-?[\d.]+) dBFS", done.stderr.decode())
    loud = meter.loudness()

    assert loud.peak is not None
    assert abs(loud.peak - float(told[-1])) < 0.3
