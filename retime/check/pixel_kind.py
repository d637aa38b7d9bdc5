"""What samples a pixel format has, whatever it is called: for formats that differ in order only."""

from __future__ import annotations

import re
from typing import NamedTuple

__all__ = ["PixelKind", "pixel_kind"]

_YUV = re.compile(r"yuv(?P<alpha>a?)j?(?P<chroma>4\d\d)p(?P<bits>\d*)")
_GREY = re.compile(r"(?:gray|y)(?P<bits>\d*)")
_PLANAR_RGB = re.compile(r"gbr(?P<alpha>a?)p(?P<bits>\d*)")
_PACKED_RGB = re.compile(r"(?P<names>[rgba0]{3,4})(?P<bits>24|32|48|64)")
_ORDER = re.compile(r"(?<=\d)(le|be)$")
_BYTE = 8


class PixelKind(NamedTuple):
    """``family`` is yuv, rgb or grey, ``chroma`` such as 422, ``bits`` those of a sample."""

    family: str
    chroma: str
    bits: int
    alpha: bool


def pixel_kind(name: str) -> PixelKind | str:
    """Return what FFmpeg's name of a pixel format stands for; the name itself for rarer ones."""
    plain = _ORDER.sub("", name)
    if found := _YUV.fullmatch(plain):
        bits = int(found["bits"] or _BYTE)
        return PixelKind("yuv", found["chroma"], bits, bool(found["alpha"]))
    if found := _GREY.fullmatch(plain):
        return PixelKind("grey", "", int(found["bits"] or _BYTE), alpha=False)
    if found := _PLANAR_RGB.fullmatch(plain):
        return PixelKind("rgb", "", int(found["bits"] or _BYTE), bool(found["alpha"]))
    if found := _PACKED_RGB.fullmatch(plain):
        names = found["names"]
        return PixelKind("rgb", "", int(found["bits"]) // len(names), "a" in names)
    return plain
