"""The codecs that a profile may ask for: a table, one row a codec, facts beside it."""

from __future__ import annotations

from retime.film.scanning import Scanning
from retime.profile.codec import Codec, Variant
from retime.profile.dnxhd import DNXHD, DNXHR

__all__ = ["CODECS", "Codec", "Variant"]


_PRORES = {
    # FourCCs and profile numbers: Apple ProRes as FFmpeg's prores_ks encoder documents them.
    "proxy": Variant(options={"profile": "0"}, reported="Proxy", tag="apco"),
    "lt": Variant(options={"profile": "1"}, reported="LT", tag="apcs"),
    "standard": Variant(options={"profile": "2"}, reported="Standard", tag="apcn"),
    "hq": Variant(options={"profile": "3"}, reported="HQ", tag="apch"),
    "4444": Variant(options={"profile": "4"}, reported="4444", tag="ap4h"),
    "4444xq": Variant(options={"profile": "5"}, reported="XQ", tag="ap4x"),
}

_FILES = "nothing in a numbered file says how its picture is scanned"
# For a reader that opens a file by its header, the encoder's own header is put into it.
_HEADER_APART = {"flags": "+global_header"}

CODECS: dict[str, Codec] = {
    codec.name: codec
    for codec in (
        Codec(
            name="ffv1",
            reads_as="ffv1",
            encoder="ffv1",
            intra=True,
            containers=("mkv",),
            # RFC 9043: version 3 carries slices and checksums; a GOP of 1 is intra-only.
            options={"level": "3", "g": "1", "slicecrc": "1"},
            scannings=tuple(Scanning),
        ),
        Codec(
            name="prores",
            reads_as="prores",
            encoder="prores_ks",
            intra=True,
            containers=("mov",),
            options={"vendor": "apl0"},
            variants=_PRORES,
            narrow_range=True,
            scannings=tuple(Scanning),
        ),
        Codec(
            name="dnxhd",
            reads_as="dnxhd",
            encoder="dnxhd",
            intra=True,
            containers=("mov", "mxf"),
            variants=DNXHD,
            narrow_range=True,
            scannings=tuple(Scanning),
            top_first_only=("mxf",),
            square_only=("mxf",),
        ),
        Codec(
            name="dnxhr",
            reads_as="dnxhd",
            encoder="dnxhd",
            intra=True,
            containers=("mov", "mxf"),
            variants=DNXHR,
            narrow_range=True,
            not_scanned="DNxHR has no interlaced form",
            square_only=("mxf",),
            least_raster=(256, 120),
        ),
        Codec(
            name="jpeg2000",
            reads_as="jpeg2000",
            encoder="jpeg2000",
            intra=True,
            containers=("sequence", "mov", "mxf"),
            ending="j2c",
            # ISO/IEC 15444-1: a bare codestream, of one tile as D-cinema has it, and the
            # reversible wavelet, by which no sample changes.
            options={
                "format": "j2k",
                "pred": "dwt53",
                "tile_width": "65535",
                "tile_height": "65535",
            },
            not_scanned="JPEG 2000 is encoded in whole frames",
            square_only=("sequence", "mxf"),
        ),
        Codec(
            name="h264",
            reads_as="h264",
            encoder="libx264",
            intra=False,
            containers=("mp4", "mov", "mkv", "264", "ts", "m2ts"),
            # Only errors are logged: a thread of the encoder that has a line to log waits for the
            # interpreter, which would wait for the thread when an encoder is let go half-way.
            options={"x264-params": "log=0"},
            container_options={"mp4": _HEADER_APART, "mov": _HEADER_APART, "mkv": _HEADER_APART},
            scannings=tuple(Scanning),
        ),
        Codec(
            name="mpeg2",
            reads_as="mpeg2video",
            encoder="mpeg2video",
            intra=False,
            narrow_range=True,
            containers=("mkv", "mov", "mxf", "m2v", "mpg", "ts"),
            scannings=tuple(Scanning),
        ),
        Codec(
            name="dpx",
            reads_as="dpx",
            encoder="dpx",
            intra=True,
            containers=("sequence",),
            ending="dpx",
            not_scanned=_FILES,
        ),
        Codec(
            name="tiff",
            reads_as="tiff",
            encoder="tiff",
            intra=True,
            containers=("sequence",),
            ending="tif",
            not_scanned=_FILES,
        ),
    )
}
