"""Whether codes are of narrow range, where a picture says so and where it does not."""

from __future__ import annotations

from typing import TYPE_CHECKING

from retime.picture.formats import Family, layout_of, plain_name

if TYPE_CHECKING:
    from retime.light.format import PictureFormat

__all__ = ["is_narrow"]

_UNSPECIFIED, _NARROW = 0, 1  # FFmpeg's codes for the range


def is_narrow(picture: PictureFormat) -> bool:
    """Tell whether black and white have footroom and headroom.

    An unspecified range is narrow for Y'CbCr and full for grey and RGB: common practice.
    """
    if plain_name(picture.pixel_format) != picture.pixel_format:
        return False  # the j is for full range
    if picture.range == _UNSPECIFIED:
        return layout_of(picture.pixel_format).family is Family.YUV
    return picture.range == _NARROW
