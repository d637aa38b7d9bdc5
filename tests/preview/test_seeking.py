"""Frames from far inside a movie are the very frames that reading it all gives."""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING, NamedTuple

import av
import pytest
from numbered import draw, read_frame, write_scan

from retime.preview.seeking import frames_of, grid_of
from retime.preview.subject import subject_of

if TYPE_CHECKING:
    from pathlib import Path

COUNT = 180


class Kind(NamedTuple):
    """A file: its encoder, pixel format, options and rate, and whether it can be sought into."""

    codec: str
    pixel_format: str
    options: dict[str, str]
    rate: Fraction
    even: bool = True


KINDS = {
    "intra.mkv": Kind("ffv1", "gray", {"level": "3", "g": "1"}, Fraction(18)),
    "leaning.mkv": Kind("ffv1", "gray", {"level": "3", "g": "10"}, Fraction(16)),
    "prores.mov": Kind("prores_ks", "yuv422p10le", {}, Fraction(24)),
    "bframes.mp4": Kind("libx264", "yuv420p", {"g": "40", "bf": "2"}, Fraction(24000, 1001)),
    "open.mp4": Kind(
        "libx264", "yuv420p", {"g": "40", "bf": "3", "x264-params": "open-gop=1"}, Fraction(25)
    ),
    "mpeg2.mxf": Kind("mpeg2video", "yuv420p", {"g": "12", "bf": "2"}, Fraction(25)),
    "mpeg4.avi": Kind("mpeg4", "yuv420p", {"g": "30", "bf": "2"}, Fraction(24), even=False),
}


@pytest.mark.parametrize("name", KINDS)
def test_sought_frames_are_those_that_are_asked_for(name: str, tmp_path: Path) -> None:
    kind = KINDS[name]
    path = write_scan(
        tmp_path / name, COUNT, kind.codec, kind.pixel_format, kind.options, rate=kind.rate
    )
    (scan,) = subject_of([path], None).scans
    with av.open(str(path)) as container:
        grid = grid_of(container, container.streams.video[0], COUNT)

    assert kind.even == (grid is not None)
    for first, last in ((100, 110), (119, 121), (COUNT - 3, COUNT - 1), (0, 3)):
        seen = [frame and read_frame(frame) for frame in frames_of(scan, first, last)]
        assert list(range(first, last + 1)) == seen


@pytest.mark.parametrize(("gap", "lost"), [(30, 5), (110, 1), (150, 40)])
def test_where_times_leave_a_gap_frames_are_counted_from_the_beginning(
    gap: int, lost: int, tmp_path: Path
) -> None:
    path = tmp_path / "gap.mkv"
    with av.open(str(path), "w") as container:
        stream = container.add_stream("ffv1", rate=18, options={"level": "3", "g": "1"})
        stream.width, stream.height, stream.pix_fmt = 160, 96, "gray"
        for number in range(COUNT):
            frame = draw(number)
            frame.pts = number + (lost if number >= gap else 0)
            container.mux(stream.encode(frame))
        container.mux(stream.encode(None))
    (scan,) = subject_of([path], None).scans

    seen = [frame and read_frame(frame) for frame in frames_of(scan, 100, 120)]
    assert list(range(100, 121)) == seen
