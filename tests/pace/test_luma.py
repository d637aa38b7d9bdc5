"""The luma of scans of any pixel format is read, and is the same picture."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pytest
from numbered import SIZE, draw_grey, read, write_scan

from retime.errors import ScanError
from retime.media.probe import probe
from retime.pace.pictures import planes_of

if TYPE_CHECKING:
    from pathlib import Path

INTRA = {"level": "3", "g": "1"}
SCANS = [
    ("x.mkv", "ffv1", "gray", INTRA),
    ("x.mkv", "ffv1", "gray12le", INTRA),
    ("x.mkv", "ffv1", "yuv444p16le", INTRA),
    ("x.mkv", "ffv1", "gbrp10le", INTRA),
    ("x.mkv", "ffv1", "bgra", INTRA),
    ("x.mov", "prores_ks", "yuv422p10le", {}),
    ("x.mp4", "libx264", "yuv420p", {"g": "10", "bf": "2"}),
]


@pytest.mark.parametrize(("name", "codec", "pixel_format", "options"), SCANS)
def test_frames_are_read_in_order_as_luma_whatever_their_format(
    tmp_path: Path, name: str, codec: str, pixel_format: str, options: dict[str, str]
) -> None:
    path = write_scan(tmp_path / name, 20, codec, pixel_format, options)
    planes = list(planes_of(probe(path), 4, 9)())

    assert list(range(4, 10)) == [read(plane) for plane in planes]
    for number, plane in enumerate(planes, 4):
        assert (SIZE[1], SIZE[0]) == plane.shape
        expected = draw_grey(number, *SIZE) / 255
        # Black and white may be those of narrow range.
        assert np.abs(plane / 65_535 - expected).max() < 0.2


def test_a_scan_that_ends_before_is_told(tmp_path: Path) -> None:
    path = write_scan(tmp_path / "x.mkv", 20, "ffv1", "gray", INTRA)

    with pytest.raises(ScanError):
        list(planes_of(probe(path), 4, 25)())
