"""What a scan's pictures are once they are framed: an area cut out, turned, flipped.

Reports ask this too, which move no samples: that is done in ``retime.picture.framer``.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from av.video.format import VideoFormat
from msgspec.structs import replace

from retime.errors import NotationError
from retime.light.raster import Rectangle
from retime.picture.fitting import planar_format
from retime.picture.formats import PALETTE, Family, layout_of, planar_name

if TYPE_CHECKING:
    from retime.light.format import PictureFormat
    from retime.light.raster import Framing

__all__ = ["apart_format", "cut_area", "framed_format", "moves_samples"]

_HALF_TURN = 180


def framed_format(picture: PictureFormat, framing: Framing) -> PictureFormat:
    """Return what a scan's pictures are once they are framed.

    Width and height change places, and the sample aspect turns over, by 90 and by 270 degrees.
    Pixel format, field order and colour tags stay what they are, but for two cases: samples that
    share bytes with others (one bit a pixel, packed 4:2:2) are taken apart, a plane a component;
    and where chroma cannot follow its luma, turned by a right angle when it is sampled unequally
    across and down, or turned or flipped when its last samples lie over fewer of luma than the
    others, each of its samples is repeated until there are as many as of luma, 4:4:4. Of these
    two cases only the second may lose alpha.

    Raises NotationError where the area leaves the picture or does not lie on whole chroma samples,
    and for pictures with palettes of their own.
    """
    if framing.whole:
        return picture
    aspect = framing.sample_aspect or picture.sample_aspect
    if not moves_samples(picture, framing):
        return replace(picture, sample_aspect=aspect)
    area = cut_area(picture, framing)
    width, height = area.width, area.height
    if framing.rotate % _HALF_TURN:
        width, height = height, width
        aspect = None if aspect is None else 1 / aspect
    apart = apart_format(picture, framing)
    layout = layout_of(apart.pixel_format)
    name = apart.pixel_format
    if not _chroma_follows(picture, framing):
        name = planar_name(layout.family, layout.bits)
    return replace(apart, pixel_format=name, width=width, height=height, sample_aspect=aspect)


def moves_samples(picture: PictureFormat, framing: Framing) -> bool:
    """Tell whether framing changes which sample stands where; raises NotationError as above."""
    if framing.rotate or framing.flip is not None:
        return True
    return cut_area(picture, framing) != _whole(picture)


def cut_area(picture: PictureFormat, framing: Framing) -> Rectangle:
    """Return what is cut out of a picture; raises NotationError as above."""
    if framing.area is None:
        return _whole(picture)
    area, layout = framing.area, layout_of(picture.pixel_format)
    told = f"the area {area.left},{area.top},{area.width},{area.height}"
    if area.left + area.width > picture.width or area.top + area.height > picture.height:
        raise NotationError(
            f"{told} reaches outside of the scan's picture of {picture.width}x{picture.height}",
            f"x + w is at most {picture.width} and y + h at most {picture.height}",
        )
    sides = (
        (area.left, area.width, picture.width, layout.across),
        (area.top, area.height, picture.height, layout.down),
    )
    if any(
        near % step or ((near + size) % step and near + size != whole)
        for near, size, whole, step in sides
    ):
        raise NotationError(
            f"{told} does not lie on whole chroma samples of {picture.pixel_format}",
            f"x and w have to be multiples of {layout.across}, y and h of {layout.down}",
        )
    return area


def apart_format(picture: PictureFormat, framing: Framing) -> PictureFormat:
    """Return the format that samples are moved in, each pixel of a plane in bytes of its own.

    Raises NotationError for pictures with palettes of their own.
    """
    if picture.pixel_format == PALETTE:
        raise NotationError(
            "the scan's pictures have palettes of their own, and are not framed",
            "leave area, rotate and flip out, or have the scan converted to RGB first",
        )
    found, layout = VideoFormat(picture.pixel_format), layout_of(picture.pixel_format)
    shared = not found.is_planar and (layout.across, layout.down) != (1, 1)
    if found.is_bit_stream or shared or not _chroma_follows(picture, framing):
        return planar_format(picture)
    return picture


def _chroma_follows(picture: PictureFormat, framing: Framing) -> bool:
    """Tell whether each chroma sample lies over the same luma samples before and after."""
    layout = layout_of(picture.pixel_format)
    if layout.family is not Family.YUV or not (framing.rotate or framing.flip):
        return True
    if framing.rotate % _HALF_TURN and layout.across != layout.down:
        return False
    area = cut_area(picture, framing)
    return area.width % layout.across == 0 and area.height % layout.down == 0


def _whole(picture: PictureFormat) -> Rectangle:
    return Rectangle(left=0, top=0, width=picture.width, height=picture.height)
