"""The codecs that a profile may ask for: a table, one row a codec, facts beside it."""

from __future__ import annotations

from msgspec import Struct, field

__all__ = ["CODECS", "Codec", "Variant"]


class Variant(Struct, frozen=True, kw_only=True):
    """One profile of a codec: what its encoder is told, and how FFmpeg names it in a file.

    ``reported`` is the codec profile that a reader sees, ``tag`` the FourCC in MOV.
    """

    options: dict[str, str] = field(default_factory=dict)
    reported: str | None = None
    tag: str | None = None


class Codec(Struct, frozen=True, kw_only=True):
    """A codec as FFmpeg knows it.

    ``ending`` is that of its files where each picture is one. ``intra`` means that every coded
    picture stands alone as we encode it, so that one encoded picture can be written as often
    as it is shown. ``narrow_range`` means that full-range YUV is not understood everywhere in
    this codec.
    """

    name: str
    reads_as: str
    encoder: str
    intra: bool
    containers: tuple[str, ...]
    ending: str = ""
    options: dict[str, str] = field(default_factory=dict)
    variants: dict[str, Variant] = field(default_factory=dict)
    narrow_range: bool = False


_PRORES = {
    # FourCCs and profile numbers: Apple ProRes as FFmpeg's prores_ks encoder documents them.
    "proxy": Variant(options={"profile": "0"}, reported="Proxy", tag="apco"),
    "lt": Variant(options={"profile": "1"}, reported="LT", tag="apcs"),
    "standard": Variant(options={"profile": "2"}, reported="Standard", tag="apcn"),
    "hq": Variant(options={"profile": "3"}, reported="HQ", tag="apch"),
    "4444": Variant(options={"profile": "4"}, reported="4444", tag="ap4h"),
    "4444xq": Variant(options={"profile": "5"}, reported="XQ", tag="ap4x"),
}

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
        ),
        Codec(
            name="h264",
            reads_as="h264",
            encoder="libx264",
            intra=False,
            containers=("mp4", "mov", "mkv"),
            # Only errors are logged: a thread of the encoder that has a line to log waits for the
            # interpreter, which would wait for the thread when an encoder is let go half-way.
            options={"x264-params": "log=0"},
        ),
        Codec(
            name="dpx",
            reads_as="dpx",
            encoder="dpx",
            intra=True,
            containers=("sequence",),
            ending="dpx",
        ),
        Codec(
            name="tiff",
            reads_as="tiff",
            encoder="tiff",
            intra=True,
            containers=("sequence",),
            ending="tif",
        ),
    )
}
