"""What a scan's headers say: values that routes and encoders are chosen by."""

from __future__ import annotations

from enum import StrEnum
from typing import TYPE_CHECKING

from msgspec import Struct

if TYPE_CHECKING:
    from fractions import Fraction
    from pathlib import Path

    from retime.light.format import PictureFormat

__all__ = ["Form", "ScanFacts"]


class Form(StrEnum):
    """What a scan is on disk."""

    MOVIE = "movie"
    SEQUENCE = "sequence"


class ScanFacts(Struct, frozen=True, kw_only=True):
    """What is known of a scan from its headers alone.

    ``path`` is a movie or a sequence's pattern. ``container`` is the demuxer's name, or
    ``sequence``. ``codec`` and ``codec_profile`` are FFmpeg's names; ``codec_tag`` is the FourCC,
    empty where the container has none. ``intra`` says whether the codec's own header promises
    that every picture stands alone, ``intra_reason`` why or why not, as a clause.
    ``header_frames`` is the number of frames that the index presents, None where there is no
    index to trust; in a sequence it is the number of positions, holes included. ``bytes`` is
    the size on disk, ``changed_ns`` when it was last changed (a movie's time; of a sequence the
    sum of its files'). ``header_rate`` is the rate that a movie's header states, which of a scan
    means nothing.
    """

    path: Path
    form: Form
    container: str
    codec: str
    codec_profile: str | None
    codec_tag: str
    extradata: bytes
    picture: PictureFormat
    intra: bool
    intra_reason: str
    header_frames: int | None
    bytes: int
    header_rate: Fraction | None = None
    changed_ns: int | None = None


class FrameCount(Struct, frozen=True, kw_only=True):
    """How many frames a scan presents, and whether each of them is a key frame."""

    frames: int
    all_keys: bool
