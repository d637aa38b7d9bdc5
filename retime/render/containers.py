"""Which file a copied scan's coded pictures can stand in, and under which FourCC.

The tables are what was tried: copied into the container and read back bit-identical.
"""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING

from retime.media.facts import Form

if TYPE_CHECKING:
    from retime.media.facts import ScanFacts

__all__ = ["INTO", "RAW_INTO", "copy_container", "copy_tag"]

INTO: dict[str, frozenset[str]] = {
    "mov": frozenset(
        {
            "dnxhd",
            "dpx",
            "dvvideo",
            "jpeg2000",
            "mjpeg",
            "prores",
            "r210",
            "rawvideo",
            "tiff",
            "v210",
            "v410",
        }
    ),
    "mkv": frozenset({"ffv1", "jpeg2000", "mjpeg", "prores", "rawvideo"}),
    "mxf": frozenset({"dnxhd", "dvvideo", "ffv1", "jpeg2000", "prores"}),
}
"""FFmpeg's names of the codecs that a container holds."""

RAW_INTO: dict[str, frozenset[str]] = {
    "mov": frozenset(
        {
            "abgr",
            "argb",
            "bgr24",
            "bgra",
            "gray16be",
            "rgb24",
            "rgb48be",
            "rgb555le",
            "rgb565le",
            "rgba",
            "uyvy422",
            "v30xle",
            "yuyv422",
        }
    ),
    "mkv": frozenset(
        {"gray", "nv12", "rgba", "uyvy422", "v30xle", "yuv420p", "yuv422p", "yuyv422"}
    ),
    "mxf": frozenset(),
}
"""The pixel formats of uncompressed pictures that a container has a FourCC for.

FFmpeg writes any other under some FourCC too, and a reader then takes it for something else.
"""

# FFmpeg writes no sample aspect into MXF, but for codecs whose pictures tell the aspect themselves.
_TELL_ASPECT = {"dvvideo"}
_OTHER_FOURCCS = ("avi", "nut")  # their FourCCs are not those of MOV


def copy_container(facts: ScanFacts) -> str | None:
    """Return the ending of the file that a scan is copied into as it is, or ``sequence``.

    It is the scan's own kind of file where that can be, None where nothing holds its codec.
    """
    if facts.form is Form.SEQUENCE:
        return str(Form.SEQUENCE)
    kinds = ("mkv", "mov") if "matroska" in facts.container else ("mov", "mkv")
    tried = ("mxf", *kinds) if facts.container == "mxf" else kinds
    return next((ending for ending in tried if _holds(ending, facts)), None)


def _holds(ending: str, facts: ScanFacts) -> bool:
    if facts.codec == "rawvideo" and facts.picture.pixel_format not in RAW_INTO[ending]:
        return False
    if ending == "mxf" and not (facts.codec in _TELL_ASPECT or _is_square(facts)):
        return False
    return facts.codec in INTO[ending]


def _is_square(facts: ScanFacts) -> bool:
    return facts.picture.sample_aspect in {None, Fraction(1)}


def copy_tag(facts: ScanFacts, ending: str) -> str | None:
    """Return the FourCC that a copy keeps, None where the container has its own for the codec."""
    foreign = ending == "mov" and any(name in facts.container for name in _OTHER_FOURCCS)
    return None if foreign else facts.codec_tag or None
