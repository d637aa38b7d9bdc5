"""Pixel formats: what one holds, and which of several holds a scan best."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from functools import lru_cache
from typing import TYPE_CHECKING

import av

if TYPE_CHECKING:
    from collections.abc import Sequence

__all__ = ["Family", "PixelLayout", "best_format", "layout_of", "plain_name"]


class Family(StrEnum):
    """What the components of a pixel are."""

    GREY = "grey"
    RGB = "rgb"
    YUV = "yuv"


@dataclass(frozen=True, slots=True, kw_only=True)
class PixelLayout:
    """``bits`` per component; chroma is sampled every ``across`` by ``down`` pixels."""

    family: Family
    bits: int
    across: int
    down: int


def plain_name(pixel_format: str) -> str:
    """Return the format without the j that once marked full range; tags say that now."""
    return pixel_format.replace("yuvj", "yuv", 1)


@lru_cache
def layout_of(pixel_format: str) -> PixelLayout:
    """Describe a pixel format by FFmpeg's name for it."""
    found = av.VideoFormat(pixel_format)
    colours = [part for part in found.components if not part.is_alpha]
    family = Family.GREY
    if len(colours) > 1 or found.has_palette:
        family = Family.RGB if found.is_rgb or found.has_palette else Family.YUV
    return PixelLayout(
        family=family,
        bits=max(part.bits for part in found.components),
        across=found.chroma_width(64) and 64 // found.chroma_width(64),
        down=found.chroma_height(64) and 64 // found.chroma_height(64),
    )


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
