"""Stills: pictures in files of their own, and what those say of their colours.

What FFmpeg's decoders tell of colours, as tried file by file with FFmpeg 8.1 (codes of
Rec. ITU-T H.273; what is not said is unspecified):

- PNG: full range. cICP gives all codes, and a narrow range where it says so; after it sRGB, code
  13 with BT.709's primaries; after that gAMA, by itself, as 4 (1/2.2), 5 (1/2.8), 8 (1) or 17
  (1/2.6), and cHRM, as the primaries whose figures they are (1, 9, 12...). pHYs is the sample
  aspect. Grey says matrix 0.
- JPEG: full range and the matrix of BT.601, code 5, as Rec. ITU-T T.871 (JFIF) has it; narrow
  where a comment CS=ITU601 says so; RGB by Adobe's marker. Unequal densities are the sample
  aspect. Ink colours (CMYK) are made RGB without a profile, plainly multiplied by black.
- TIFF: nothing of range or matrix. Grey is given transfer 4, which no tag of the file says: here
  it is unspecified.
- DPX: transfers and primaries of its header: 2 is linear, 5 and 6 BT.709, 7 BT.601 of 625 lines,
  8 and 9 of 525, 10 the older 625; printing density and logarithms are unspecified. No range. The
  pixel aspect is the sample aspect.
- JPEG 2000: nothing. EXR: transfer 8, linear, and no primaries; one that is cut short is decoded
  with black for the rest, without a word.

ICC profiles are read of none of them, so that a still with nothing but such a profile states no
colours here.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, cast

import av
from msgspec import Struct
from msgspec.structs import replace

from retime.errors import ScanError
from retime.light.format import PictureFormat
from retime.media.bridge import check_file, fraction_of, prepare_decoder, quiet_log, reading
from retime.media.probe import file_packet
from retime.media.sequence import PICTURE_CODECS, is_pattern

if TYPE_CHECKING:
    from fractions import Fraction
    from pathlib import Path

    from av.video.codeccontext import VideoCodecContext
    from av.video.frame import VideoFrame

__all__ = ["STILL_ENDINGS", "StillFacts", "probe_still", "read_still"]

STILL_ENDINGS: tuple[str, ...] = tuple(PICTURE_CODECS)
"""The endings of files that stills are read from, in small letters and without the dot."""

_LARGEST = (1 << 31) - 1  # bytes: FFmpeg counts those of one picture in 31 bits
_MJPEG, _TIFF = "mjpeg", "tiff"
_UNSPECIFIED = 2
# Tags of TIFF 6.0 as FFmpeg names them, values that lead to a wrong picture without a word, what
# they mean, and what would be right.
_BAD_TIFF_TAGS = (
    ("Compression", "7", "is a TIFF with JPEG inside, which is decoded to nothing", "LZW is read"),
    ("PhotometricInterpretation", "6", "is a TIFF in Y'CbCr of unknown range", "save it in RGB"),
    ("0x0152", "1", "has colours multiplied by their alpha already", "save it without alpha"),
)


class StillFacts(Struct, frozen=True, kw_only=True):
    """A still and what its one picture is."""

    path: Path
    picture: PictureFormat


def probe_still(path: Path) -> StillFacts:
    """Decode a still and return what it is; raises ScanError as ``read_still`` does."""
    codec = _codec(path)
    frame, sample_aspect = _decoded(path, codec)
    picture = PictureFormat(
        width=frame.width,
        height=frame.height,
        pixel_format=frame.format.name,
        sample_aspect=sample_aspect,
        field_order="progressive",
        primaries=frame.color_primaries,
        transfer=frame.color_trc,
        matrix=frame.colorspace,
        range=frame.color_range,
    )
    if codec == _TIFF:
        picture = replace(picture, transfer=_UNSPECIFIED)
    return StillFacts(path=path, picture=picture)


def read_still(path: Path) -> VideoFrame:
    """Return a still's picture.

    Raises ScanError for a file that is missing, empty, damaged, of no ending that a picture has,
    larger than any still, told to be shown turned, or of a kind whose colours would come out wrong.
    """
    return _decoded(path, _codec(path))[0]


def _codec(path: Path) -> str:
    codec = PICTURE_CODECS.get(path.suffix[1:].lower())
    if codec is None or is_pattern(path):
        endings = ", ".join(STILL_ENDINGS)
        raise ScanError(path, "is no still", f"a still is one file that ends in {endings}")
    return codec


def _decoded(path: Path, codec: str) -> tuple[VideoFrame, Fraction | None]:
    """Return a still's picture, and its sample aspect where the file tells it."""
    if check_file(path).st_size > _LARGEST:
        raise ScanError(path, "is larger than any still", "it may have 2 GiB at most")
    packet = file_packet(path)
    with quiet_log() as log, reading(path, "holds no picture that can be decoded"):
        context = cast("VideoCodecContext", av.CodecContext.create(codec, "r"))
        prepare_decoder(context, 1)
        if codec == _MJPEG:
            context.options = {**context.options, "err_detect": "crccheck+explode"}
        frames = [*context.decode(packet), *context.decode(None)]
    if len(frames) != 1:
        raise ScanError(path, f"holds {len(frames)} pictures", "a still holds one")
    # A still is not to be repaired in silence. Of damage FFmpeg's decoders log; but that of JPEG
    # logs odd labels too, and is asked to stop at damage, at which that of TIFF would stop at tags.
    if frames[0].is_corrupt or (log.last and codec != _MJPEG):
        raise ScanError(path, "is damaged", detail=log.last)
    _check_upright(path, frames[0])
    if codec == _TIFF:
        _check_tiff(path, frames[0])
    return frames[0], fraction_of(context.sample_aspect_ratio)


def _check_upright(path: Path, frame: VideoFrame) -> None:
    if frame.rotation:
        raise ScanError(
            path,
            f"says that it is to be shown turned by {abs(frame.rotation)} degrees",
            "save it as it is to be seen: stills are not turned",
        )


def _check_tiff(path: Path, frame: VideoFrame) -> None:
    for tag, value, text, hint in _BAD_TIFF_TAGS:
        if frame.metadata.get(tag, "").strip() == value:
            raise ScanError(path, text, hint)
