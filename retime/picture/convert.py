"""Brings a scan's pictures into a deliverable's pixel format, by the shortest way there is."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING

from av.video.reformatter import ColorRange, Colorspace, Interpolation, VideoReformatter
from msgspec.structs import replace

from retime.picture.formats import Family, layout_of, plain_name
from retime.picture.grey import grey_as_rgb, grey_as_yuv, is_plain_grey, is_planar_yuv

if TYPE_CHECKING:
    from collections.abc import Callable

    from av.video.frame import VideoFrame

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
_FULL = 2  # FFmpeg's code for the range
_EXACT = Interpolation.BICUBIC | Interpolation.ACCURATE_RND | Interpolation.FULL_CHR_H_INT


class Converter:
    """Converts pictures of one format into another; those that need nothing stay untouched."""

    def __init__(self, source: PictureFormat, target: PictureFormat) -> None:
        """Prepare the way from ``source`` to ``target``, which are of one raster."""
        self._steps = _steps(source, target)

    def convert(self, frame: VideoFrame) -> VideoFrame:
        """Return the picture in the target's format; the frame itself if it is so already."""
        for step in self._steps:
            frame = step(frame)
        return frame


def _steps(
    source: PictureFormat, target: PictureFormat
) -> list[Callable[[VideoFrame], VideoFrame]]:
    """Return what is done to a picture, in order."""
    named = plain_name(source.pixel_format) == source.pixel_format == target.pixel_format
    if named and source.range == target.range and not _matrices_differ(source, target):
        return []
    was, is_to_be = layout_of(source.pixel_format).family, layout_of(target.pixel_format).family
    if was is Family.GREY and is_to_be is Family.RGB:
        grey = replace(source, pixel_format="gray16le")
        rgb = replace(target, pixel_format="gbrp16le")
        return [
            *([] if is_plain_grey(source.pixel_format) else [_scaler(source, grey)]),
            partial(grey_as_rgb, colour_range=source.range),
            _scaler(rgb, target),
        ]
    if was is Family.GREY and is_planar_yuv(target.pixel_format):
        grey = replace(source, pixel_format="gray16le")
        return [
            *([] if is_plain_grey(source.pixel_format) else [_scaler(source, grey)]),
            partial(grey_as_yuv, colour_range=source.range, pixel_format=target.pixel_format),
        ]
    if was is Family.YUV and is_to_be is Family.RGB:
        # By way of full range: from narrow YUV the scaler makes white 1020 of 1023.
        full = replace(source, pixel_format="yuv444p16le", range=_FULL)
        rgb = replace(target, pixel_format="gbrp16le")
        return [_scaler(source, full), _scaler(full, rgb), _scaler(rgb, target)]
    return [_scaler(source, target)]


def _scaler(source: PictureFormat, target: PictureFormat) -> Callable[[VideoFrame], VideoFrame]:
    """Return FFmpeg's scaler, set to go from one format to another."""
    return partial(
        VideoReformatter().reformat,
        format=target.pixel_format,
        src_colorspace=_MATRICES.get(source.matrix, Colorspace.ITU709),
        dst_colorspace=_MATRICES.get(target.matrix, Colorspace.ITU709),
        src_color_range=ColorRange(source.range),
        dst_color_range=ColorRange(target.range),
        interpolation=_EXACT,
    )


def _matrices_differ(source: PictureFormat, target: PictureFormat) -> bool:
    """Tell whether both are YUV by matrices that are stated and not the same figures."""
    if layout_of(source.pixel_format).family is not Family.YUV:
        return False
    one, other = _MATRICES.get(source.matrix), _MATRICES.get(target.matrix)
    return one is not None and other is not None and one != other
