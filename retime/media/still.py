"""Stills: pictures in files of their own, and what those say of their colours.

What FFmpeg's decoders tell of colours, as tried file by file with FFmpeg 8.1 (codes of
Rec. ITU-T H.273; what is not said is unspecified):

- PNG: full range. cICP gives all codes, and a narrow range where it says so; after it sRGB, code
  13 with BT.709's primaries; after that gAMA, by itself, as 4 (1/2.2), 5 (1/2.8), 8 (1) or 17
  (1/2.6), and cHRM, as the primaries whose figures they are (1, 9, 12...). Grey says matrix 0.
- JPEG: full range and the matrix of BT.601, code 5, as Rec. ITU-T T.871 (JFIF) has it; narrow
  where a comment CS=ITU601 says so; RGB by Adobe's marker. Ink colours (CMYK) are made RGB
  without a profile, plainly multiplied by black.
- TIFF: nothing of range or matrix. Grey is given transfer 4, which no tag of the file says: here
  it is unspecified.
- DPX: what its header tells: linear (2) is transfer 8; SMPTE 274M and BT.709 (5, 6) are 1 and 1,
  BT.601 of 625 lines (7) primaries 5 and transfer 6, of 525 lines (8) and NTSC (9) 6 and 6, PAL
  (10) 5 and 5; printing density and logarithms are unspecified. No range.
- JPEG 2000: nothing. EXR: transfer 8, linear, and no primaries; one that is cut short is decoded
  with black for the rest, without a word.

DPX and EXR tell the sample aspect itself, TIFF by its densities. Those of PNG and JPEG are read by
FFmpeg the wrong way round, x over y, and written so by it, without a unit. Here they are read as
the standards have them (W3C, Portable Network Graphics; Rec. ITU-T T.871), y over x; where they
differ and have no unit, nobody can tell which way is meant.

ICC profiles are read of none of them, so that a still with nothing but such a profile states no
colours here.
"""

from __future__ import annotations

import struct
from fractions import Fraction
from typing import TYPE_CHECKING, NamedTuple, cast

import av
from msgspec import Struct
from msgspec.structs import replace

from retime.errors import ScanError
from retime.light.format import PictureFormat
from retime.media.bridge import check_file, fraction_of, prepare_decoder, quiet_log, reading
from retime.media.probe import file_packet
from retime.media.sequence import PICTURE_CODECS, is_pattern
from retime.media.tiff_checks import DIFFERS, checksums_agree

if TYPE_CHECKING:
    from pathlib import Path

    from av.video.codeccontext import VideoCodecContext
    from av.video.frame import VideoFrame

__all__ = ["STILL_ENDINGS", "StillFacts", "probe_still", "read_still"]

STILL_ENDINGS: tuple[str, ...] = tuple(PICTURE_CODECS)
"""The endings of files that stills are read from, in small letters and without the dot."""

_LARGEST = (1 << 31) - 1  # bytes: FFmpeg counts those of one picture in 31 bits
_MJPEG, _PNG, _TIFF = "mjpeg", "png", "tiff"
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
        if not checksums_agree(memoryview(packet)):
            raise ScanError(path, "is damaged", detail=DIFFERS)
    if codec in {_PNG, _MJPEG}:
        return frames[0], _aspect_by_density(path, codec, bytes(packet))
    return frames[0], fraction_of(context.sample_aspect_ratio)


class _Density(NamedTuple):
    """Samples per unit of length; ``unit`` is 0 where that is not said."""

    across: int
    down: int
    unit: int


def _aspect_by_density(path: Path, codec: str, data: bytes) -> Fraction | None:
    """Return the sample aspect that a PNG or JPEG file tells by its densities."""
    density = _png_density(data) if codec == _PNG else _jfif_density(data)
    if density is None or not density.across or not density.down:
        return None
    if density.across != density.down and not density.unit:
        raise ScanError(
            path,
            f"tells densities of {density.across} and {density.down} without a unit, which some "
            "programs take for the sample aspect and others for its inverse",
            "save it with square samples, or with densities by the inch",
        )
    return Fraction(density.down, density.across)


def _png_density(data: bytes) -> _Density | None:
    """Read the chunk pHYs, which stands before the picture."""
    place = data.find(b"pHYs", 0, data.find(b"IDAT"))
    return None if place < 0 else _Density(*struct.unpack_from(">IIB", data, place + 4))


def _jfif_density(data: bytes) -> _Density | None:
    """Read the segment of JFIF, which stands first."""
    if data[6:11] != b"JFIF\0":
        return None
    unit, across, down = struct.unpack_from(">BHH", data, 13)
    return _Density(across, down, unit)


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
