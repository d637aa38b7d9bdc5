"""Pixel formats: what one holds, and which of several holds a scan best."""

from __future__ import annotations

from enum import StrEnum
from functools import lru_cache
from typing import TYPE_CHECKING

import av
from msgspec import Struct

if TYPE_CHECKING:
    from collections.abc import Sequence

__all__ = [
    "PALETTE",
    "Family",
    "PixelLayout",
    "best_format",
    "encodable_formats",
    "layout_of",
    "lossless_format",
    "plain_name",
    "planar_name",
]


PALETTE = "pal8"
"""The format of pictures with palettes of their own."""
_DEPTHS = (8, 9, 10, 12, 14, 16)  # those that FFmpeg has planar formats of
_SAMPLINGS = {
    (1, 1): "444",
    (2, 1): "422",
    (2, 2): "420",
    (1, 2): "440",
    (4, 1): "411",
    (4, 4): "410",
}


class Family(StrEnum):
    """What the components of a pixel are."""

    GREY = "grey"
    RGB = "rgb"
    YUV = "yuv"
    XYZ = "xyz"


class PixelLayout(Struct, frozen=True, kw_only=True):
    """``bits`` per component; chroma is sampled every ``across`` by ``down`` pixels.

    ``real`` means floating-point samples.
    """

    family: Family
    bits: int
    across: int
    down: int
    alpha: bool
    real: bool


def plain_name(pixel_format: str) -> str:
    """Return the format without the j that once marked full range; tags say that now."""
    return pixel_format.replace("yuvj", "yuv", 1)


def planar_name(family: Family, bits: int, chroma: PixelLayout | None = None) -> str:
    """Return the format of a plane a component, without alpha, low byte first.

    Its samples have ``bits``, or more where FFmpeg has none of these. YUV has chroma sampled as
    in ``chroma``, or as often as luma.
    """
    depth = next(one for one in _DEPTHS if one >= bits)
    suffix = "" if depth == _DEPTHS[0] else f"{depth}le"
    if family is Family.GREY:
        return f"gray{suffix}"
    if family is Family.RGB:
        return f"gbrp{suffix}"
    return f"yuv{_SAMPLINGS[(chroma.across, chroma.down) if chroma else (1, 1)]}p{suffix}"


@lru_cache
def layout_of(pixel_format: str) -> PixelLayout:
    """Describe a pixel format by FFmpeg's name for it."""
    found = av.VideoFormat(pixel_format)
    colours = [part for part in found.components if not part.is_alpha]
    family = Family.GREY
    if pixel_format.startswith("xyz"):
        family = Family.XYZ
    elif len(colours) > 1 or found.has_palette:
        family = Family.RGB if found.is_rgb or found.has_palette else Family.YUV
    return PixelLayout(
        family=family,
        bits=max(part.bits for part in found.components),
        across=found.chroma_width(64) and 64 // found.chroma_width(64),
        down=found.chroma_height(64) and 64 // found.chroma_height(64),
        alpha=found.has_palette or any(part.is_alpha for part in found.components),
        real="f16" in pixel_format or "f32" in pixel_format,
    )


@lru_cache
def encodable_formats(encoder: str) -> tuple[str, ...]:
    """Return the pixel formats that an encoder takes, by FFmpeg's names for both."""
    return tuple(found.name for found in av.Codec(encoder, "w").video_formats or ())


def best_format(scan: str, allowed: Sequence[str]) -> str:
    """Return the allowed format that suits a scan: its own, else its family's, else the first.

    Within a family the first that keeps every bit is taken; ``allowed`` is not empty.
    """
    scan = plain_name(scan)
    if scan in allowed:
        return scan
    wanted = layout_of(scan)
    for name in allowed:
        layout = layout_of(name)
        if layout.family is wanted.family and layout.bits >= wanted.bits:
            return name
    return allowed[0]


def lossless_format(scan: str, encodable: Sequence[str]) -> str | None:
    """Return the format that holds a scan's very samples: its own, or one packed otherwise.

    None where the encoder takes none that does.
    """
    scan = plain_name(scan)
    if scan in encodable:
        return scan
    wanted = layout_of(scan)
    return next((name for name in encodable if layout_of(name) == wanted), None)
