"""Changes what a coded MPEG-2 picture says of its display, and what its sequence header says.

All is done in place: no bit moves, and nothing that a picture is decoded by is touched. The
layout is that of ISO/IEC 13818-2, section 6.2, as ``mpeg2`` reads it.
"""

from __future__ import annotations

from retime.media.startcodes import START

__all__ = ["set_repeat_flags", "set_sequence", "set_time_code"]

Packet = bytearray | memoryview

_SEQUENCE, _EXTENSION, _GROUP = START + b"\xb3", START + b"\xb5", START + b"\xb8"
_SEQUENCE_ID, _CODING_ID = 1, 8
_HEADERS = 1 << 10  # bytes: sequence, matrices, extensions, group and picture fit in well
_CODE = 32  # bits of a start code
_RATE_UNIT, _BUFFER_UNIT = 400, 16_384  # bits a second, bits


def set_repeat_flags(packet: Packet, *, top_first: bool, repeat_first: bool) -> None:
    """Set top_field_first and repeat_first_field of a packet's one picture.

    Raises ValueError where the packet has no picture coding extension.
    """
    at = _extension(bytes(packet[:_HEADERS]), _CODING_ID)
    _put(packet, at, _CODE + 24, 1, top_first)
    _put(packet, at, _CODE + 30, 1, repeat_first)


def set_sequence(
    packet: Packet, *, bit_rate: int, buffer_bits: int, progressive: bool, rate_code: int
) -> None:
    """Set what a sequence header and its extension say, if the packet begins with them.

    ``bit_rate`` in bits a second and ``buffer_bits`` are rounded up to the units that the header
    counts in. A header of a frame rate's code stands for that rate alone: its extension is set
    to 1/1. ``progressive`` is progressive_sequence, which may be taken back but not claimed.
    """
    head = bytes(packet[:_HEADERS])
    if not head.startswith(_SEQUENCE):
        return
    rate, size = -(-bit_rate // _RATE_UNIT), -(-buffer_bits // _BUFFER_UNIT)
    _put(packet, 0, _CODE + 28, 4, rate_code)
    _put(packet, 0, _CODE + 32, 18, rate & 0x3FFFF)
    _put(packet, 0, _CODE + 51, 10, size & 0x3FF)
    at = _extension(head, _SEQUENCE_ID)
    _put(packet, at, _CODE + 12, 1, progressive)
    _put(packet, at, _CODE + 19, 12, rate >> 18)
    _put(packet, at, _CODE + 32, 8, size >> 10)
    _put(packet, at, _CODE + 41, 7, 0)


def set_time_code(packet: Packet, label: str) -> None:
    """Set the time code of a group's header, if the packet has one; ``;`` marks drop-frame."""
    at = bytes(packet[:_HEADERS]).find(_GROUP)
    if at < 0:
        return
    hours, minutes, seconds, pictures = map(int, label.replace(";", ":").split(":"))
    _put(packet, at, _CODE, 1, ";" in label)
    for place, width, value in ((1, 5, hours), (6, 6, minutes), (13, 6, seconds)):
        _put(packet, at, _CODE + place, width, value)
    _put(packet, at, _CODE + 19, 6, pictures)


def _extension(head: bytes, ident: int) -> int:
    """Return where the extension of an identifier starts."""
    at = head.find(_EXTENSION)
    while at >= 0 and head[at + 4] >> 4 != ident:
        at = head.find(_EXTENSION, at + 1)
    if at < 0:
        raise ValueError("a coded picture lacks an extension that MPEG-2 has")
    return at


def _put(packet: Packet, start: int, place: int, width: int, value: int) -> None:
    """Write a value of so many bits, counting places in bits from a byte of the packet."""
    first, stop = start + place // 8, start + (place + width - 1) // 8 + 1
    below = 8 * (stop - start) - place - width
    mask = (1 << width) - 1 << below
    word = int.from_bytes(packet[first:stop], "big")
    packet[first:stop] = (word & ~mask | value << below).to_bytes(stop - first, "big")
