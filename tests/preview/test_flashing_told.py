"""What the flash check finds in excerpts, as the page is told it."""

from __future__ import annotations

from typing import TYPE_CHECKING

import av
import numpy as np
import pytest
from looked_at import made
from numbered import write_scan

if TYPE_CHECKING:
    from pathlib import Path


def flickering(path: Path, every: int, transfer: int = 2) -> Path:
    """Write a scan that is dark and bright in turn, so many frames each."""
    with av.open(str(path), "w") as container:
        stream = container.add_stream("ffv1", rate=24)
        stream.width, stream.height, stream.pix_fmt = 96, 72, "gray"
        stream.codec_context.color_trc = transfer
        for number in range(96):
            grey = np.full((72, 96), 230 if number // every % 2 else 20, np.uint8)
            container.mux(stream.encode(av.VideoFrame.from_ndarray(grey, format="gray")))
        container.mux(stream.encode(None))
    return path


@pytest.mark.parametrize(
    ("every", "speeds", "found"),
    [
        # More than three flashes, each of two changes, in a second are too many: WCAG 2.2, and
        # Rec. ITU-R BT.1702. Three frames each are four flashes a second at 24, two at 12.
        (3, "12,24", True),
        (3, "12", False),
        (6, "12,24", False),
        (1, "12", True),
    ],
)
def test_the_fastest_speed_decides(every: int, speeds: str, *, found: bool, tmp_path: Path) -> None:
    scan = flickering(tmp_path / "scan.mkv", every)
    preview = made(scan, to=tmp_path / "look", frames="0-95", seconds=8, speeds=speeds, rates="24")
    told = preview.values["flashes"]

    assert found is told["found"], told
    assert ("Reel 1, frames 0 to 95" in told["said"]) is found
    assert f"at {speeds.rsplit(',', maxsplit=1)[-1]} frames a second" in told["said"]
    assert "an aid, and no certificate" in told["said"]
    assert "photosensitive epilepsy" in told["said"]


def test_of_high_dynamic_range_nothing_is_said_to_be_known(tmp_path: Path) -> None:
    pq = 16  # Rec. ITU-T H.273, TransferCharacteristics
    scan = flickering(tmp_path / "scan.mkv", 1, transfer=pq)
    told = made(scan, to=tmp_path / "look", frames="0-9", rates="24").values["flashes"]

    assert told["found"] is None
    assert "was not run" in told["said"]
    assert "no certificate" in told["said"]


def test_a_still_picture_does_not_flash(tmp_path: Path) -> None:
    scan = write_scan(tmp_path / "scan.mkv", [7] * 30)
    told = made(scan, to=tmp_path / "look", frames="0-29", rates="24").values["flashes"]

    assert told["found"] is False
