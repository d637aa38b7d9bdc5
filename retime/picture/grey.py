"""Grey pictures as YUV or RGB of the very same levels.

FFmpeg's scaler goes from grey to RGB by way of YUV and leaves white short of white, and makes white
943 of 10-bit narrow YUV, where 940 is right; a table for every level is exact and no slower.
"""

from __future__ import annotations

from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np
from av.video.frame import VideoFrame

from retime.picture.formats import layout_of
from retime.picture.samples import SampleForm, samples

if TYPE_CHECKING:
    from av.video.plane import VideoPlane
    from numpy.typing import NDArray

    from retime.picture.samples import Samples

__all__ = ["grey_as_rgb", "grey_as_yuv", "is_plain_grey", "is_planar_yuv"]

# Rec. ITU-R BT.709-6, table 4: narrow black and white in 8 bits; deeper codes are multiples.
_BLACK, _WHITE = 16, 235
_BYTE = 8
_NARROW = 1  # FFmpeg's code for the range


def is_plain_grey(pixel_format: str) -> bool:
    """Tell whether a picture of the format is one plane of whole numbers, low byte first."""
    if not pixel_format.startswith("gray") or layout_of(pixel_format).real:
        return False
    return pixel_format == "gray" or pixel_format.endswith("le")


def is_planar_yuv(pixel_format: str) -> bool:
    """Tell whether a picture of the format is three planes of whole numbers, low byte first."""
    return pixel_format.startswith("yuv4") and not pixel_format.endswith("be")


def grey_as_rgb(frame: VideoFrame, colour_range: int) -> VideoFrame:
    """Return a plain grey picture of a range as 16-bit RGB, in which grey is full."""
    made = VideoFrame(frame.width, frame.height, "gbrp16le")
    bits = layout_of(frame.format.name).bits
    table = _table(bits, 16, narrow=colour_range == _NARROW, to_narrow=False)
    levels = table[_samples(frame.planes[0], bits)]
    for plane in made.planes:
        _samples(plane, 16)[:] = levels
    return made


def grey_as_yuv(frame: VideoFrame, colour_range: int, pixel_format: str) -> VideoFrame:
    """Return a plain grey picture of a range as planar YUV of narrow range, without colour."""
    made = VideoFrame(frame.width, frame.height, pixel_format)
    bits, depth = layout_of(frame.format.name).bits, layout_of(pixel_format).bits
    table = _table(bits, depth, narrow=colour_range == _NARROW, to_narrow=True)
    luma, *chroma = made.planes
    _samples(luma, depth)[:] = table[_samples(frame.planes[0], bits)]
    for plane in chroma:
        _samples(plane, depth)[:] = 1 << (depth - 1)
    return made


def _samples(plane: VideoPlane, bits: int) -> Samples:
    """Return the samples of a plane of its own, to read or to write."""
    kind = np.dtype(np.uint8 if bits <= _BYTE else "<u2")
    return samples(plane, SampleForm(kind=kind, per_pixel=1))


@lru_cache
def _table(bits: int, to_bits: int, *, narrow: bool, to_narrow: bool) -> NDArray[np.uint16]:
    """Return the code of ``to_bits`` for each code of ``bits``, rounded half up."""
    black, span = _scale(bits, narrow=narrow)
    to_black, to_span = _scale(to_bits, narrow=to_narrow)
    above = np.arange(1 << bits, dtype=np.int64) - black
    codes = to_black + (2 * above * to_span + span) // (2 * span)
    return np.clip(codes, 0, (1 << to_bits) - 1).astype(np.uint16)


def _scale(bits: int, *, narrow: bool) -> tuple[int, int]:
    """Return the code of black, and how many codes white is above it."""
    if not narrow:
        return 0, (1 << bits) - 1
    return _BLACK << (bits - _BYTE), (_WHITE - _BLACK) << (bits - _BYTE)
