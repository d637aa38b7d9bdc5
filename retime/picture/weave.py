"""Two fields woven into one frame, line by line and plane by plane.

A frame's top line belongs to its top field, and a chroma line belongs to the field of its own
number, as ITU-T H.262 has it for interlaced 4:2:0.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from av.video.frame import VideoFrame

if TYPE_CHECKING:
    from av.video.plane import VideoPlane
    from numpy.typing import NDArray

__all__ = ["weave"]


def weave(first: VideoFrame, second: VideoFrame, *, top_first: bool) -> VideoFrame:
    """Return a frame of the lines of ``first``'s earlier and ``second``'s later field.

    The earlier field is the top one with ``top_first``. Both are frames of one format and raster,
    and stay as they are; where they are the same frame, it is what is returned.
    """
    if first is second:
        return first
    top, bottom = (first, second) if top_first else (second, first)
    woven = VideoFrame(first.width, first.height, first.format.name)
    for target, even, odd in zip(woven.planes, top.planes, bottom.planes, strict=True):
        lines = _lines(target)
        for field, plane in enumerate((even, odd)):
            source = _lines(plane)
            width = min(lines.shape[1], source.shape[1])  # what pads a line differs in width
            lines[field::2, :width] = source[field::2, :width]
    woven.color_primaries, woven.color_trc = first.color_primaries, first.color_trc
    woven.colorspace, woven.color_range = first.colorspace, first.color_range
    return woven


def _lines(plane: VideoPlane) -> NDArray[np.uint8]:
    """Return a plane's bytes, shape (height, line size), the top line first."""
    data = np.frombuffer(memoryview(plane), np.uint8).reshape(plane.height, abs(plane.line_size))
    return data if plane.line_size > 0 else data[::-1]  # pictures may be stored bottom up
