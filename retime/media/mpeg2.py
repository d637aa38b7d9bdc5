"""What an MPEG-2 video stream says of itself and of its pictures: ISO/IEC 13818-2, section 6.2.

The syntax was written down from memory and held against what the ffmpeg program's trace_headers
filter tells.
"""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING

from msgspec import Struct

from retime.media.bits import BitReader
from retime.media.startcodes import START, units

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

__all__ = ["RATE_CODES", "Mpeg2Group", "Mpeg2Picture", "Mpeg2Sequence", "mpeg2_pictures"]

RATE_CODES: dict[Fraction, int] = {
    Fraction(24000, 1001): 1,
    Fraction(24): 2,
    Fraction(25): 3,
    Fraction(30000, 1001): 4,
    Fraction(30): 5,
    Fraction(50): 6,
    Fraction(60000, 1001): 7,
    Fraction(60): 8,
}
"""frame_rate_code of each rate: ISO/IEC 13818-2, table 6-4."""

_PICTURE, _SEQUENCE, _EXTENSION, _GROUP = 0x00, 0xB3, 0xB5, 0xB8
_SEQUENCE_EXTENSION = _EXTENSION << 4 | 1  # an extension is told by the four bits after its code
_CODING_EXTENSION = _EXTENSION << 4 | 8
_BEGINNINGS = frozenset({_PICTURE, _SEQUENCE, _GROUP})  # what the data of a picture begins with
_SLICES = range(0x01, 0xB0)
_KINDS = {1: "I", 2: "P", 3: "B"}
_FRAME = 3  # picture_structure: the others are single fields
_RATE_UNIT, _BUFFER_UNIT = 400, 16_384  # bits a second, bits


class Mpeg2Sequence(Struct, frozen=True, kw_only=True):
    """A sequence header with its extension.

    ``aspect`` is aspect_ratio_information: 1 for square samples, 2, 3 and 4 for pictures of 4:3,
    16:9 and 2.21:1. ``rate_code`` is frame_rate_code: 3 for 25, 4 for 30000/1001. ``bit_rate`` is
    in bits a second, ``buffer_bits`` what the decoder's buffer (VBV) has to hold.
    """

    raster: tuple[int, int]
    aspect: int
    rate_code: int
    bit_rate: int
    buffer_bits: int
    profile_and_level: int
    progressive: bool
    low_delay: bool


class Mpeg2Group(Struct, frozen=True, kw_only=True):
    """A group of pictures' header; ``closed`` if nothing in it refers to the group before."""

    time_code: str
    closed: bool
    broken: bool


class Mpeg2Picture(Struct, frozen=True, kw_only=True):
    """A coded picture, with the headers that stand right before it.

    ``kind`` is I, P or B. ``temporal_reference`` is its place in its group by order of display.
    ``fields`` is for how many fields it is shown. ``bits`` is all that a decoder takes out of its
    buffer at once for it, headers included.
    """

    kind: str
    temporal_reference: int
    vbv_delay: int
    frame: bool
    top_first: bool
    repeat_first: bool
    progressive: bool
    fields: int
    bits: int
    sequence: Mpeg2Sequence | None
    group: Mpeg2Group | None


def mpeg2_pictures(chunks: Iterable[bytes]) -> Iterator[Mpeg2Picture]:
    """Yield the pictures of a stream in the order in which they are coded.

    Raises ValueError, as a clause, at what is no such stream (MPEG-1 is none).
    """
    progressive: bool | None = None
    for heads, size in _gathered(chunks):
        sequence = _sequence(heads) if _SEQUENCE in heads else None
        progressive = sequence.progressive if sequence else progressive
        if progressive is None:
            raise ValueError("the stream does not begin with a sequence header")
        group = _group(heads[_GROUP]) if _GROUP in heads else None
        yield _picture(heads, size, sequence, group, all_progressive=progressive)


def _gathered(chunks: Iterable[bytes]) -> Iterator[tuple[dict[int, bytes], int]]:
    """Yield every picture's headers, by their codes, and its size in bytes."""
    heads: dict[int, bytes] = {}
    size = 0
    for unit in units(chunks):
        code = unit[len(START)] if len(unit) > len(START) else _PICTURE
        if code in _BEGINNINGS and _PICTURE in heads:
            yield heads, size
            heads, size = {}, 0
        size += len(unit)
        if code not in _SLICES:
            body = unit[len(START) + 1 :]
            heads[code << 4 | body[0] >> 4 if code == _EXTENSION and body else code] = body
    if _PICTURE in heads:
        yield heads, size


def _sequence(heads: dict[int, bytes]) -> Mpeg2Sequence:
    if _SEQUENCE_EXTENSION not in heads:
        raise ValueError("the stream is not MPEG-2: its sequence header has no extension")
    base, more = BitReader(heads[_SEQUENCE]), BitReader(heads[_SEQUENCE_EXTENSION])
    width, height, aspect, rate_code = (base.take(bits) for bits in (12, 12, 4, 4))
    bit_rate, _, buffer_size = (base.take(bits) for bits in (18, 1, 10))
    _, profile_and_level, progressive, _ = (more.take(bits) for bits in (4, 8, 1, 2))
    wide, high, fast, _, large, low_delay = (more.take(bits) for bits in (2, 2, 12, 1, 8, 1))
    return Mpeg2Sequence(
        raster=(wide << 12 | width, high << 12 | height),
        aspect=aspect,
        rate_code=rate_code,
        bit_rate=(fast << 18 | bit_rate) * _RATE_UNIT,
        buffer_bits=(large << 10 | buffer_size) * _BUFFER_UNIT,
        profile_and_level=profile_and_level,
        progressive=progressive == 1,
        low_delay=low_delay == 1,
    )


def _group(body: bytes) -> Mpeg2Group:
    bits = BitReader(body)
    drop, hours, minutes, _, seconds, pictures = (bits.take(count) for count in (1, 5, 6, 1, 6, 6))
    mark = ";" if drop else ":"
    return Mpeg2Group(
        time_code=f"{hours:02}:{minutes:02}:{seconds:02}{mark}{pictures:02}",
        closed=bits.flag(),
        broken=bits.flag(),
    )


def _picture(
    heads: dict[int, bytes],
    size: int,
    sequence: Mpeg2Sequence | None,
    group: Mpeg2Group | None,
    *,
    all_progressive: bool,
) -> Mpeg2Picture:
    if _CODING_EXTENSION not in heads:
        raise ValueError("a picture lacks its coding extension")
    base, more = BitReader(heads[_PICTURE]), BitReader(heads[_CODING_EXTENSION])
    temporal_reference, kind, vbv_delay = (base.take(bits) for bits in (10, 3, 16))
    if kind not in _KINDS:
        raise ValueError(f"a picture is of the unknown kind {kind}")
    more.take(22)  # identifier, f_codes, intra_dc_precision
    structure, top_first = more.take(2), more.flag()
    more.take(5)  # frame_pred_frame_dct to alternate_scan
    repeat_first, _, progressive = more.flag(), more.flag(), more.flag()
    return Mpeg2Picture(
        kind=_KINDS[kind],
        temporal_reference=temporal_reference,
        vbv_delay=vbv_delay,
        frame=structure == _FRAME,
        top_first=top_first,
        repeat_first=repeat_first,
        progressive=progressive,
        fields=_fields(structure, all_progressive, repeat_first, top_first),
        bits=8 * size,
        sequence=sequence,
        group=group,
    )


def _fields(structure: int, all_progressive: bool, repeat_first: bool, top_first: bool) -> int:  # noqa: FBT001
    """Return for how many fields a picture is shown: section 6.3.10, repeat_first_field."""
    if structure != _FRAME:
        return 1
    if all_progressive:  # the frame is shown once, twice or three times
        return 2 * (1 + repeat_first + (repeat_first and top_first))
    return 2 + repeat_first
