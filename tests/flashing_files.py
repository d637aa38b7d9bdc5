"""Movies that flash, made by the ffmpeg program from nothing but expressions."""

from __future__ import annotations

import subprocess
from typing import TYPE_CHECKING

import imageio_ffmpeg

if TYPE_CHECKING:
    from pathlib import Path

__all__ = ["SIZE", "write_flashing"]

SIZE = (192, 144)


def write_flashing(  # noqa: PLR0913 - as many as a file has sides
    path: Path,
    luma: str,
    *,
    frames: int,
    rate: str = "24",
    chroma: tuple[int, int] = (128, 128),
    size: tuple[int, int] = SIZE,
    after: str = "",
    codec: tuple[str, ...] = ("-c:v", "ffv1"),
) -> Path:
    """Write a movie of 8-bit Y'CbCr, narrow range, whose luma is an expression of X, Y and N.

    ``after`` is a chain of filters, with its comma before it.
    """
    source = f"color=s={size[0]}x{size[1]}:r={rate},format=yuv444p"
    drawn = f"geq=lum='{luma}':cb={chroma[0]}:cr={chroma[1]}{after}"
    made = ["-f", "lavfi", "-i", f"{source},{drawn}", "-frames:v", str(frames), *codec, str(path)]
    subprocess.run([imageio_ffmpeg.get_ffmpeg_exe(), "-v", "error", "-y", *made], check=True)
    return path
