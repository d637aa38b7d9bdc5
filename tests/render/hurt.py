"""Films of which some frames of the scan do not decode, and what is known of them without us."""

from __future__ import annotations

from itertools import groupby
from typing import TYPE_CHECKING

import av
from numbered import write_scan
from rendering import listed, write_map

if TYPE_CHECKING:
    from collections.abc import Iterable
    from pathlib import Path

__all__ = ["FRAMES", "HELD", "HURT", "a_hurt_film", "hurt_files", "hurt_movie", "runs_showing"]

INTRA = {"level": "3", "g": "1", "slices": "4", "slicecrc": "1"}
FRAMES = 40
HURT = (7, 18, 19, 20)
HELD = {7: 6, 18: 17, 19: 17, 20: 17}
"""The last frame before each that is none of them."""


def a_hurt_film(folder: Path, scan: str, deliverables: str, shots: str = "") -> Path:
    """Write a scan, hurt it, and return a map of it; checksums and headers tell of the damage."""
    if "%" in scan:
        write_scan(folder / scan, FRAMES, "tiff", "gray")
        hurt_files(folder / scan, HURT)
    else:
        write_scan(folder / scan, FRAMES, "ffv1", "gray", INTRA)
        hurt_movie(folder / scan, HURT)
    (folder / "out").mkdir()
    return write_map(folder, f"  - {{reel: 1, scan: {scan}}}", deliverables, shots=shots)


def hurt_files(pattern: Path, frames: Iterable[int], kept: int = 60) -> None:
    """Cut numbered files short."""
    for frame in frames:
        path = pattern.with_name(pattern.name % frame)
        path.write_bytes(path.read_bytes()[:kept])


def hurt_movie(path: Path, frames: Iterable[int]) -> None:
    """Change a byte in the middle of coded pictures."""
    with av.open(str(path)) as container:
        packets = [bytes(packet) for packet in container.demux(video=0) if packet.size]
    data = bytearray(path.read_bytes())
    for frame in frames:
        data[data.index(packets[frame]) + len(packets[frame]) // 2] ^= 0x5A
    path.write_bytes(data)


def runs_showing(film: Path, deliverable: str, frame: int, begin: int = 0) -> list[tuple[int, int]]:
    """Return the output frames that show a film frame by ``retime frames``, as first and last."""
    rows = listed(film, deliverable)
    outputs = sorted({int(row["output"]) for row in rows if row["frame"] == str(frame)})
    runs = [
        [one for _, one in alike] for _, alike in groupby(enumerate(outputs), lambda p: p[1] - p[0])
    ]
    return [(run[0] - begin, run[-1] - begin) for run in runs]
