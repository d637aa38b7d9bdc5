"""A black picture in any pixel format."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from av.video.frame import VideoFrame
from av.video.reformatter import ColorRange, VideoReformatter

if TYPE_CHECKING:
    from retime.light.format import PictureFormat

__all__ = ["black_picture"]


def black_picture(picture: PictureFormat) -> VideoFrame:
    """Return a picture of the given format, black by its own range."""
    grey = VideoFrame(picture.width, picture.height, "gray")
    np.frombuffer(memoryview(grey.planes[0]), np.uint8)[:] = 0
    return VideoReformatter().reformat(
        grey,
        format=picture.pixel_format,
        src_color_range=ColorRange.JPEG,
        dst_color_range=ColorRange(picture.range),
    )
