"""Brings a scan's pictures into a deliverable's pixel format, by the shortest way there is."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from av.video.frame import VideoFrame
from av.video.reformatter import ColorRange, Colorspace, Interpolation, VideoReformatter

from retime.picture.formats import Family, layout_of, plain_name

if TYPE_CHECKING:
    from retime.light.format import PictureFormat

__all__ = ["Converter"]

# Matrix codes: Rec. ITU-T H.273, MatrixCoefficients. 0 is RGB, 2 is unspecified.
_MATRICES = {
    1: Colorspace.ITU709,
    4: Colorspace.FCC,
    5: Colorspace.ITU601,
    6: Colorspace.ITU601,
    7: Colorspace.SMPTE240M,
    9: Colorspace.BT2020,
}
_EXACT = Interpolation.BICUBIC | Interpolation.ACCURATE_RND | Interpolation.FULL_CHR_H_INT


class Converter:
    """Converts pictures of one format into another; those that need nothing stay untouched."""

    def __init__(self, source: PictureFormat, target: PictureFormat) -> None:
        """Prepare the way from ``source`` to ``target``, which are of one raster."""
        self._target = target
        self._same = (
            plain_name(source.pixel_format) == source.pixel_format == target.pixel_format
            and source.range == target.range
        )
        self._grey_to_rgb = (
            layout_of(source.pixel_format).family is Family.GREY
            and layout_of(target.pixel_format).family is Family.RGB
        )
        self._source = source
        self._scaler = VideoReformatter()

    def convert(self, frame: VideoFrame) -> VideoFrame:
        """Return the picture in the target's format; the frame itself if it is so already."""
        if self._same:
            return frame
        if self._grey_to_rgb:
            return self._reformat(_grey_as_rgb(self._reformat(frame, "gray16le")))
        return self._reformat(frame)

    def _reformat(self, frame: VideoFrame, pixel_format: str | None = None) -> VideoFrame:
        source, target = self._source, self._target
        return self._scaler.reformat(
            frame,
            format=pixel_format or target.pixel_format,
            src_colorspace=_MATRICES.get(source.matrix, Colorspace.ITU709),
            dst_colorspace=_MATRICES.get(target.matrix, Colorspace.ITU709),
            src_color_range=ColorRange(source.range),
            dst_color_range=ColorRange(source.range if pixel_format else target.range),
            interpolation=_EXACT,
        )


def _grey_as_rgb(frame: VideoFrame) -> VideoFrame:
    """Return a 16-bit grey picture as RGB of the same values.

    The scaler goes by way of YUV and leaves white short of white.
    """
    made = VideoFrame(frame.width, frame.height, "gbrp16le")
    grey = np.frombuffer(memoryview(frame.planes[0]), np.uint8).reshape(frame.height, -1)
    wide = frame.width * 2
    for plane in made.planes:
        np.frombuffer(memoryview(plane), np.uint8).reshape(frame.height, -1)[:, :wide] = grey[
            :, :wide
        ]
    made.color_range = ColorRange.JPEG
    return made
