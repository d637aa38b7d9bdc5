"""Rates and labels held against the ffmpeg program."""

from __future__ import annotations

import re
import subprocess
from fractions import Fraction
from typing import TYPE_CHECKING

import imageio_ffmpeg
import pytest

from retime.film.notation import parse_rate
from retime.film.speed import Rate
from retime.film.timecode import frame_of, label

if TYPE_CHECKING:
    from pathlib import Path

NTSC = Rate(Fraction(30000, 1001))


def program(*arguments: str) -> subprocess.CompletedProcess[str]:
    command = [imageio_ffmpeg.get_ffmpeg_exe(), "-nostdin", *arguments]
    return subprocess.run(command, check=True, capture_output=True, text=True)


@pytest.mark.parametrize(
    ("named", "written"),
    [("ntsc-film", "23.976"), ("film", "24"), ("pal", "25"), ("ntsc", "29.97")],
)
def test_a_rate_in_decimals_is_the_one_that_the_program_knows_by_name(
    named: str, written: str
) -> None:
    source = ["-f", "lavfi", "-i", f"color=size=16x16:rate={named}", "-frames:v", "1"]

    told = program("-v", "error", *source, "-f", "framemd5", "-").stdout

    found = re.search(r"#tb 0: (\S+)", told)
    assert found
    assert 1 / Fraction(found[1]) == parse_rate(written).fps


@pytest.mark.parametrize("start", ["00:00:59;20", "00:09:59;20", "00:59:59;20", "12:34:59;20"])
def test_the_program_counts_drop_frame_labels_alike(start: str, tmp_path: Path) -> None:
    # Its MPEG-2 encoder labels every group of pictures, here every picture.
    movie = str(tmp_path / "labels.m2v")
    source = ["-f", "lavfi", "-i", "color=size=32x32:rate=30000/1001", "-frames:v", "24"]
    coded = ["-c:v", "mpeg2video", "-g", "1", "-bf", "0", "-gop_timecode", start]
    program("-v", "error", *source, *coded, movie)

    shown = program("-i", movie, "-vf", "showinfo", "-f", "null", "-").stderr

    labels = re.findall(r"GOP timecode: (\S+)", shown)
    first = frame_of(labels[0], NTSC)
    assert len(labels) > 20
    assert labels == [label(first + n, NTSC, drop=True) for n in range(len(labels))]
