"""Cuts a scan's pictures out, turns them and flips them, every sample staying what it is.

A plane is taken as rows of items, the bytes of one pixel in it, whatever these mean: alpha, real
numbers and either order of bytes come through untouched. FFmpeg's filters would turn a picture in
a third of the time, but some formats they first convert to others (4:2:2 of 10 bits to another
4:4:4), and a graph of them has a state and a clock of its own.
"""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING, Any, TypeAlias

import numpy as np
from av.video.frame import VideoFrame
from av.video.reformatter import VideoReformatter

from retime.light.raster import Flip
from retime.picture.formats import Family, layout_of
from retime.picture.framing import apart_format, cut_area, framed_format, moves_samples

if TYPE_CHECKING:
    from av.video.format import VideoFormat
    from av.video.plane import VideoPlane
    from numpy.typing import NDArray

    from retime.light.format import PictureFormat
    from retime.light.raster import Framing

    Items: TypeAlias = NDArray[Any]

__all__ = ["Framer"]

_BYTE, _TWO_BYTES = 8, 16
_QUARTER = 90


class Framer:
    """Frames pictures of one format; those that need nothing stay untouched.

    Chroma keeps lying over the very luma samples that it lay over. Where it is sited on the first
    of two, it is sited on the last once it is flipped, so that colour moves by half a luma sample.
    """

    def __init__(self, source: PictureFormat, framing: Framing) -> None:
        """Prepare for pictures of ``source``; raises NotationError as ``framed_format`` does."""
        self._made = framed_format(source, framing)
        self._moves = not framing.whole and moves_samples(source, framing)
        if not self._moves:
            return
        self._framing = framing
        self._area = cut_area(source, framing)
        apart = apart_format(source, framing)
        self._apart = None
        if apart != source:
            self._apart = partial(VideoReformatter().reformat, format=apart.pixel_format)
        self._layout = layout_of(apart.pixel_format)
        self._repeats = self._made.pixel_format != apart.pixel_format

    def frame(self, frame: VideoFrame) -> VideoFrame:
        """Return the picture in the ``framed_format``, of the same time and colour tags."""
        if not self._moves:
            return frame
        apart = frame if self._apart is None else self._apart(frame)
        made = VideoFrame(self._made.width, self._made.height, self._made.pixel_format)
        for place, (source, target) in enumerate(zip(apart.planes, made.planes, strict=True)):
            size = _item_bytes(apart.format, place)
            _items(target, size)[...] = self._moved(_items(source, size), place)
        made.color_primaries, made.color_trc = frame.color_primaries, frame.color_trc
        made.colorspace, made.color_range = frame.colorspace, frame.color_range
        made.pts = frame.pts
        return made

    def _moved(self, items: Items, place: int) -> Items:
        """Return what is cut out of a plane, as it is to lie."""
        # Of three planes or four the second and third are chroma, of two the second.
        chroma = self._layout.family is Family.YUV and place in {1, 2}
        across, down = (self._layout.across, self._layout.down) if chroma else (1, 1)
        if self._repeats:
            items = items.repeat(down, axis=0).repeat(across, axis=1)
            across, down = 1, 1
        area = self._area
        right, bottom = -(-(area.left + area.width) // across), -(-(area.top + area.height) // down)
        cut = items[area.top // down : bottom, area.left // across : right]
        turned = np.rot90(cut, -self._framing.rotate // _QUARTER)  # numpy turns to the left
        if self._framing.flip is None:
            return turned
        return np.flip(turned, 1 if self._framing.flip is Flip.HORIZONTAL else 0)


def _item_bytes(pixel_format: VideoFormat, place: int) -> int:
    """Return how many bytes hold one pixel in a plane of a format."""
    if not pixel_format.is_planar:
        return pixel_format.padded_bits_per_pixel // _BYTE
    bits = [part.bits for part in pixel_format.components if part.plane == place]
    return len(bits) * (1 if bits[0] <= _BYTE else 2 if bits[0] <= _TWO_BYTES else 4)


def _items(plane: VideoPlane, size: int) -> Items:
    """Return a plane's items of ``size`` bytes, shape (height, width), without what pads a line."""
    lines = np.frombuffer(memoryview(plane), np.uint8).reshape(plane.height, plane.line_size)
    kind = np.dtype(f"u{size}" if size in {1, 2, 4, 8} else f"V{size}")
    return lines[:, : plane.width * size].view(kind)
