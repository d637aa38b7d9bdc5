"""What an H.264 stream in Annex B form says of its pictures: ITU-T H.264, sections 7.3 and D.1.

The syntax was written down from memory and held against what the ffmpeg program's trace_headers
filter tells. Read is what disc limits need; of slices, no more than the head of the first.
"""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING

from msgspec import Struct

from retime.media.bits import BitReader
from retime.media.h264_sequence import H264Sequence, h264_sequence, unescaped
from retime.media.startcodes import START, units

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

__all__ = ["H264Picture", "h264_pictures"]

_SLICE, _PARTITION, _IDR, _SEI, _SPS, _DELIMITER = 1, 2, 5, 6, 7, 9
_CODED = frozenset({_SLICE, _PARTITION, _IDR})
# What begins an access unit when it comes after a coded picture: section 7.4.1.2.3.
_BEFORE = frozenset({_SEI, _SPS, 8, _DELIMITER, 14, 15, 16, 17, 18})
_PERIOD, _TIMING = 0, 1  # SEI payload types buffering_period and pic_timing
_CLOCK = 90_000  # ticks a second, in which delays are counted
_ON = 0xFF  # a byte that says that its number goes on
_KINDS = ("P", "B", "I", "SP", "SI")  # by slice_type, which counts them twice over
_SLICE_HEAD = 64  # bytes, more than are read
_SHOWN = {0: 2, 1: 1, 2: 1, 3: 2, 4: 2, 5: 3, 6: 3, 7: 4, 8: 6}  # fields by pic_struct, table D-1


class H264Picture(Struct, frozen=True, kw_only=True):
    """A coded picture, with the sequence parameters that stand in its access unit.

    ``kind`` is that of its first slice. ``idr`` if nothing from it on refers to what is before.
    ``frame`` if it is no single field. ``structure`` is pic_struct: 0 a frame, 3 a top field and
    then a bottom one, 4 the other way; None where it is not said. ``fields`` is for how many
    fields it is shown. ``bits`` is all that a decoder takes out of its buffer at once for it, and
    ``delay`` for how many seconds it will then have been filling, where the stream says it anew.
    """

    kind: str
    idr: bool
    frame: bool
    structure: int | None
    fields: int
    bits: int
    delay: Fraction | None
    delimited: bool
    sequence: H264Sequence | None


class _Unit(Struct, kw_only=True):
    """An access unit as it is gathered: what is read of it, and its size in bytes."""

    size: int = 0
    parameters: bytes = b""
    head: bytes = b""
    messages: list[bytes]
    delimited: bool = False


def h264_pictures(chunks: Iterable[bytes]) -> Iterator[H264Picture]:
    """Yield the coded pictures of a stream in the order in which they are coded.

    Raises ValueError, as a clause, at what is no such stream.
    """
    sequence: H264Sequence | None = None
    for unit in _access_units(chunks):
        stated = h264_sequence(unit.parameters) if unit.parameters else None
        sequence = stated or sequence
        if sequence is None:
            raise ValueError("the stream does not begin with sequence parameters")
        yield _picture(unit, sequence, stated)


def _access_units(chunks: Iterable[bytes]) -> Iterator[_Unit]:
    gathered = _Unit(messages=[])
    for unit in units(chunks):
        body = unit[len(START) :]
        kind = body[0] & 0x1F if body else 0
        coded = kind in _CODED
        # A picture's first slice begins with macroblock 0, whose ue(v) is a single set bit.
        first = coded and len(body) > 1 and body[1] & 0x80
        if gathered.head and (first or kind in _BEFORE):
            yield gathered
            gathered = _Unit(messages=[])
        gathered.size += len(unit)
        gathered.delimited |= kind == _DELIMITER
        if coded:
            gathered.head = gathered.head or body[:_SLICE_HEAD]
        elif kind == _SPS:
            gathered.parameters = body
        elif kind == _SEI:
            gathered.messages.append(body)
    if gathered.head:
        yield gathered


def _picture(unit: _Unit, sequence: H264Sequence, stated: H264Sequence | None) -> H264Picture:
    bits = BitReader(unescaped(unit.head))
    bits.take(8)
    bits.unsigned()  # first_mb_in_slice
    kind = bits.unsigned() % len(_KINDS)
    bits.unsigned()  # pic_parameter_set_id
    bits.take(sequence.frame_number_bits + 2 * sequence.planes_apart)
    frame = sequence.frames_only or not bits.flag()
    messages = dict(payload for message in unit.messages for payload in _payloads(message))
    structure = _structure(messages.get(_TIMING), sequence)
    return H264Picture(
        kind=_KINDS[kind],
        idr=unit.head[0] & 0x1F == _IDR,
        frame=frame,
        structure=structure,
        fields=(2 if frame else 1) if structure is None else _SHOWN[structure],
        bits=8 * unit.size,
        delay=_delay(messages.get(_PERIOD), sequence),
        delimited=unit.delimited,
        sequence=stated,
    )


def _delay(period: bytes | None, sequence: H264Sequence) -> Fraction | None:
    """Return initial_cpb_removal_delay in seconds: section D.1.2."""
    if period is None or sequence.buffer is None:
        return None
    bits = BitReader(period)
    bits.unsigned()  # seq_parameter_set_id
    return Fraction(bits.take(sequence.buffer.initial_bits), _CLOCK)


def _structure(timing: bytes | None, sequence: H264Sequence) -> int | None:
    """Return pic_struct: section D.1.3."""
    if timing is None or not sequence.has_structure:
        return None
    bits = BitReader(timing)
    if sequence.buffer is not None:
        bits.take(sequence.buffer.delay_bits + sequence.buffer.output_bits)
    structure = bits.take(4)
    if structure not in _SHOWN:
        raise ValueError(f"a picture has the unknown structure {structure}")
    return structure


def _payloads(message: bytes) -> Iterator[tuple[int, bytes]]:
    """Yield the payloads of a unit of supplemental information with their types: 7.3.2.3.1."""
    data = unescaped(message)[1:]
    at = 0
    while at + 1 < len(data):  # a last byte alone is the unit's trailing bits
        kind, at = _summed(data, at)
        size, at = _summed(data, at)
        yield kind, data[at : at + size]
        at += size


def _summed(data: bytes, at: int) -> tuple[int, int]:
    """Return a number written as bytes of 255 and a last one, and where what follows starts."""
    value = 0
    while at < len(data) and data[at] == _ON:
        value, at = value + _ON, at + 1
    if at >= len(data):
        raise ValueError("supplemental information ends early")
    return value + data[at], at + 1
