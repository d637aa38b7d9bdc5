"""The ffmpeg program's own fps filter shows the frames that the plan shows.

Where no film frame starts on an output frame's centre the two agree frame for frame; where one
does, the filter's rounding (half away from zero) and ours (the later frame) part, and cadences
are compared as rotations (FFmpeg filters manual, fps, round=near).
"""

from __future__ import annotations

import subprocess
from fractions import Fraction
from functools import lru_cache
from typing import TYPE_CHECKING

import imageio_ffmpeg
import pytest
from filmstrips import shown, uniform

from retime.plan.cadence import same_cadence

if TYPE_CHECKING:
    from pathlib import Path

FRAMES = 240
RATES = [Fraction(24000, 1001), Fraction(24), Fraction(25), Fraction(30)]
SPEEDS = [
    Fraction(16),
    Fraction(18),
    Fraction(200, 11),
    Fraction(20),
    Fraction(64, 3),
    Fraction(240, 11),
    Fraction(22),
    Fraction(24),
]


@pytest.fixture(scope="module")
def strip(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return raw grey pictures of which picture n is n all over."""
    path = tmp_path_factory.mktemp("fps") / "numbers.gray"
    path.write_bytes(b"".join(bytes([number]) * 16 * 16 for number in range(FRAMES)))
    return path


@lru_cache
def program() -> str:
    return str(imageio_ffmpeg.get_ffmpeg_exe())


def filtered(strip: Path, speed: Fraction, rate: Fraction) -> list[int]:
    """Return which picture each output frame of the fps filter shows."""
    raw = ["-f", "rawvideo", "-pix_fmt", "gray", "-s", "16x16", "-r", "1", "-i", str(strip)]
    # settb first: the filter's time base must hold the speed exactly.
    ticks = f"settb=1/{speed.numerator * 1000},setpts=N*{speed.denominator * 1000},fps={rate}"
    command = [program(), "-v", "error", "-nostdin", *raw, "-vf", ticks]
    command += ["-fps_mode", "passthrough", "-f", "rawvideo", "-"]
    made = subprocess.run(command, check=True, capture_output=True).stdout
    return list(made[:: 16 * 16])


def starts_on_a_centre(speed: Fraction, rate: Fraction) -> bool:
    """Tell whether some film frame n starts where some (j + 1/2)/rate is."""
    position = [n * rate / speed - Fraction(1, 2) for n in range(FRAMES)]
    return any(one.denominator == 1 for one in position)


def cycle(frames: list[int], speed: Fraction, rate: Fraction) -> tuple[int, ...]:
    """Return the run lengths of one cycle, well inside the film."""
    size = (speed / rate).numerator
    first = size * (1 + FRAMES // (3 * size))
    return tuple(frames.count(frame) for frame in range(first, first + size))


@pytest.mark.parametrize("rate", RATES, ids=str)
@pytest.mark.parametrize("speed", SPEEDS, ids=str)
def test_the_fps_filter_shows_what_the_plan_shows(
    strip: Path, speed: Fraction, rate: Fraction
) -> None:
    theirs = filtered(strip, speed, rate)
    ours = [frame for frame in shown(uniform(FRAMES, speed, rate, at=rate)) if frame is not None]

    if starts_on_a_centre(speed, rate):
        assert same_cadence(cycle(theirs, speed, rate), cycle(ours, speed, rate))
    else:
        common = min(len(theirs), len(ours))  # how a stream ends is the filter's own affair
        assert abs(len(theirs) - len(ours)) <= 1
        assert theirs[:common] == ours[:common]


def test_both_ways_of_comparing_are_used() -> None:
    both = {starts_on_a_centre(speed, rate) for speed in SPEEDS for rate in RATES}

    assert both == {True, False}
