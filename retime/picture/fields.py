"""Which pictures have two fields that can be woven: ``retime.picture.weave`` does it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from av.video.format import VideoFormat

from retime.errors import NotationError
from retime.picture.formats import layout_of

if TYPE_CHECKING:
    from retime.light.format import PictureFormat

__all__ = ["check_weavable"]


def check_weavable(picture: PictureFormat) -> None:
    """Raise NotationError for a picture whose two fields would have lines of different number.

    That is so for its luma lines and for its chroma lines, of which 4:2:0 has half as many.
    """
    if VideoFormat(picture.pixel_format).has_palette:
        raise NotationError(
            "pictures with palettes of their own are not woven", "name pixel-formats in the profile"
        )
    step = 2 * max(1, layout_of(picture.pixel_format).down)
    if picture.height % step:
        lower = picture.height - picture.height % step
        raise NotationError(
            f"{picture.height} lines of {picture.pixel_format} do not make two fields of one size",
            f"the height has to be a multiple of {step}, such as {lower or step}",
        )
