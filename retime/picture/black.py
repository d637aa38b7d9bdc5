"""A black picture in any pixel format."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from av.video.frame import VideoFrame
from av.video.reformatter import ColorRange, VideoReformatter

from retime.light.codes import luma_scale
from retime.picture.formats import Family, layout_of
from retime.picture.samples import sample_form, samples

if TYPE_CHECKING:
    from retime.light.format import PictureFormat

__all__ = ["black_picture"]

_NARROW = 1  # FFmpeg's code for the range


def black_picture(picture: PictureFormat) -> VideoFrame:
    """Return a picture of the given format, black by its own range."""
    grey = VideoFrame(picture.width, picture.height, "gray")
    np.frombuffer(memoryview(grey.planes[0]), np.uint8)[:] = 0
    made = VideoReformatter().reformat(
        grey,
        format=picture.pixel_format,
        src_color_range=ColorRange.JPEG,
        dst_color_range=ColorRange(picture.range),
    )
    layout, form = layout_of(picture.pixel_format), sample_form(picture.pixel_format)
    if layout.family is Family.GREY and form is not None and picture.range == _NARROW:
        # From grey to grey FFmpeg takes no notice of ranges.
        samples(made.planes[0], form)[:] = luma_scale(layout.bits, narrow=True).zero
    return made
