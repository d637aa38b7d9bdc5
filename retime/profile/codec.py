"""What is known of a codec: what its encoder is told, and what its pictures can be."""

from __future__ import annotations

from msgspec import Struct, field

from retime.film.scanning import Scanning

__all__ = ["ONLY_PROGRESSIVE", "Codec", "Variant"]

ONLY_PROGRESSIVE = (Scanning.PROGRESSIVE,)


class Variant(Struct, frozen=True, kw_only=True):
    """One profile of a codec: what its encoder is told, and how FFmpeg names it in a file.

    ``reported`` is the codec profile that a reader sees, ``tag`` the FourCC in MOV. ``raster`` is
    the only width and height it has, None where any goes, and ``pixel_formats`` are those it
    holds, empty where all that the encoder takes. ``scannings`` are those of the codec's that it
    has, ``not_scanned`` why it has no others, as a clause.
    """

    options: dict[str, str] = field(default_factory=dict)
    reported: str | None = None
    tag: str | None = None
    raster: tuple[int, int] | None = None
    pixel_formats: tuple[str, ...] = ()
    scannings: tuple[Scanning, ...] = tuple(Scanning)
    not_scanned: str = ""


class Codec(Struct, frozen=True, kw_only=True):
    """A codec as FFmpeg knows it.

    ``ending`` is that of its files where each picture is one. ``intra`` means that every coded
    picture stands alone as we encode it, so that one encoded picture can be written as often
    as it is shown. ``narrow_range`` means that full-range YUV is not understood everywhere in
    this codec. ``container_options`` are what its encoder is told besides for some containers.
    ``scannings`` are how its pictures can be scanned such that stream, container and frames say
    it, ``not_scanned`` why there are no others, as a clause; containers in ``top_first_only``
    have no way to say that the bottom field is the first, and those in ``square_only`` none to
    say a sample aspect. ``least_raster`` is the smallest width and height that can be encoded.
    """

    name: str
    reads_as: str
    encoder: str
    intra: bool
    containers: tuple[str, ...]
    ending: str = ""
    options: dict[str, str] = field(default_factory=dict)
    container_options: dict[str, dict[str, str]] = field(default_factory=dict)
    variants: dict[str, Variant] = field(default_factory=dict)
    narrow_range: bool = False
    scannings: tuple[Scanning, ...] = ONLY_PROGRESSIVE
    not_scanned: str = ""
    top_first_only: tuple[str, ...] = ()
    square_only: tuple[str, ...] = ()
    least_raster: tuple[int, int] = (1, 1)
