"""Whether a codec's own headers promise that every coded picture stands alone.

The key flags of a container are not enough: they say where decoding may start, not that each
picture can be cut out and repeated. A codec is in the table only if nothing in its standard
lets one picture lean on another. PNG is not: FFmpeg takes a PNG packet without a key flag for the
difference to the picture before.
"""

from __future__ import annotations

from retime.media.ffv1 import parse_config

__all__ = ["ALWAYS_INTRA", "intra_promise"]

# FFmpeg's codec name: where it is said that pictures are coded one by one.
ALWAYS_INTRA: dict[str, str] = {
    "prores": "SMPTE RDD 36",
    "dnxhd": "SMPTE ST 2019-1",
    "mjpeg": "ITU-T T.81",
    "jpeg2000": "ISO/IEC 15444-1",
    "dvvideo": "IEC 61834-2 and SMPTE ST 314",
    "dpx": "SMPTE ST 268",
    "tiff": "TIFF 6.0",
    "v210": "Apple's uncompressed FourCC v210, common practice",
    "v410": "Apple's uncompressed FourCC v410, common practice",
    "r210": "Apple's uncompressed FourCC r210, common practice",
    "rawvideo": "uncompressed pictures, common practice",
    "huffyuv": "FFmpeg's decoder, which keeps nothing from picture to picture",
    "ffvhuff": "FFmpeg's decoder, unless contexts are adaptive, which reset with every picture",
    "utvideo": "FFmpeg's decoder, which keeps nothing from picture to picture",
}


def intra_promise(codec: str, extradata: bytes) -> tuple[bool, str]:
    """Return whether the codec's header says intra-only, and why or why not, as a clause."""
    if codec in ALWAYS_INTRA:
        return True, f"{codec} codes every picture by itself ({ALWAYS_INTRA[codec]})"
    if codec != "ffv1":
        return False, f"{codec} does not promise that every picture stands alone"
    try:
        config = parse_config(extradata)
    except ValueError as error:
        return False, f"{error}, so that nothing promises that every picture stands alone"
    if config.intra:
        return True, "the FFV1 header says intra-only"
    return False, "the FFV1 header does not say intra-only: pictures may lean on earlier ones"
