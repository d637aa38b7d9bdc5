"""Repeat flags as ffprobe tells them, which is part of Debian's ffmpeg and not of the wheel's."""

from __future__ import annotations

import json
import shutil
import subprocess
from fractions import Fraction
from itertools import accumulate
from typing import TYPE_CHECKING, Any

import pytest
from discs import RATE_525, RATE_625, flagged, moving

if TYPE_CHECKING:
    from pathlib import Path

    from retime.film.speed import Rate

FFPROBE = shutil.which("ffprobe")
pytestmark = pytest.mark.skipif(FFPROBE is None, reason="ffprobe is not on the path")


def probed(path: Path) -> list[dict[str, Any]]:
    """Return what ffprobe says of every decoded frame; it warns of nothing."""
    wanted = "frame=repeat_pict,top_field_first,interlaced_frame,best_effort_timestamp_time"
    command = [str(FFPROBE), "-v", "warning", "-select_streams", "v:0", "-show_frames"]
    command += ["-show_entries", wanted, "-of", "json", str(path)]
    done = subprocess.run(command, capture_output=True, check=True)
    assert not done.stderr
    frames = json.loads(done.stdout)["frames"]
    assert isinstance(frames, list)
    return frames


@pytest.mark.parametrize("container", ["m2v", "mpg", "ts"])
@pytest.mark.parametrize(
    ("runs", "rate"),
    [
        ((3, 3), RATE_525),  # 20 in 60 fields
        ((3, 3, 3, 2, 3, 3, 3, 2, 3, 3, 2), RATE_525),  # 22 in 60
        ((2, 3), RATE_525),  # 24 in 60
        ((2, 2, 3, 2), RATE_525),  # 26 2/3 in 60
        ((3, 3, 3, 3, 2, 3, 3, 3, 2), RATE_625),  # 18 in 50
        ((*(2,) * 11, 3), RATE_625),  # 24 in 50
    ],
)
def test_every_frame_is_repeated_timed_and_ordered_as_planned(
    container: str, runs: tuple[int, ...], rate: Rate, tmp_path: Path
) -> None:
    """repeat_pict is 1 where a frame is shown for three fields (FFmpeg's MPEG-2 decoder).

    An elementary stream has no times.
    """
    runs *= 2 * -(-12 // len(runs))
    path = tmp_path / f"a.{container}"
    flagged(path, runs, rate, frames=moving(len(runs), (160, 96), 60.0), most_fields=30)

    frames = probed(path)

    firsts = [0, *accumulate(runs)]
    assert [run - 2 for run in runs] == [frame["repeat_pict"] for frame in frames]
    assert [1 - field % 2 for field in firsts[:-1]] == [
        frame["top_field_first"] for frame in frames
    ]
    assert {0} == {frame["interlaced_frame"] for frame in frames}
    assert firsts[-1] == sum(2 + frame["repeat_pict"] for frame in frames)
    if container != "m2v":
        times = [Fraction(frame["best_effort_timestamp_time"]) for frame in frames]
        for field, time in zip(firsts[:-1], times, strict=True):
            assert abs(time - times[0] - field / (2 * rate.fps)) < Fraction(1, 40_000)
