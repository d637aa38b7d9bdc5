"""Rates, numbers and timecode in a DPX file's header, put right for a deliverable.

Field places: SMPTE ST 268 (DPX 2.0), generic, film and television headers, from memory and
held in the tests against what FFmpeg reads. The film and television headers are optional: FFmpeg
writes none, and starts the picture where they would be. A file without them is given them.
"""

from __future__ import annotations

import struct
from typing import TYPE_CHECKING

from msgspec import Struct

if TYPE_CHECKING:
    from collections.abc import Mapping

    from retime.film.speed import Rate

__all__ = ["DpxTimes", "with_dpx_times"]

_PICTURE_AT, _FILE_SIZE, _GENERIC_SIZE = 4, 16, 24
_PROJECT, _PROJECT_SIZE = 260, 200
_ELEMENTS, _ELEMENT_SIZE, _MOST_ELEMENTS, _ELEMENT_DATA = 780, 72, 8, 28
_GENERIC, _FULL = 1664, 2048
_FRAME_POSITION, _FILM_RATE = 1712, 1724
_TIMECODE, _TV_RATE = 1920, 1940
_UNDEFINED = b"\xff\xff\xff\xff"

# Numbers that are not told have all bits set, texts and what is reserved are zero.
_FILM = bytes(48) + _UNDEFINED * 5 + bytes(188)
_TELEVISION = _UNDEFINED * 2 + b"\xff\xff\xff\0" + _UNDEFINED * 10 + bytes(76)


class DpxTimes(Struct, frozen=True, kw_only=True):
    """What one file's header is to say; ``timecode`` is None where it can say none."""

    rate: Rate
    number: int
    timecode: str | None


def with_dpx_times(data: bytes, times: DpxTimes, about: Mapping[str, str]) -> bytes:
    """Return the file with the deliverable's rate, frame number, timecode and description.

    Anything that is not a DPX file is returned as it is.
    """
    orders = {b"SDPX": ">", b"XPDS": "<"}
    if data[:4] not in orders or len(data) < _FULL:
        return data
    order = orders[data[:4]]
    (begins,) = struct.unpack_from(order + "I", data, _PICTURE_AT)
    if begins < _GENERIC:
        return data
    changed = bytearray(data) if begins >= _FULL else _with_full_headers(data, order, begins)
    described = " ".join(f"{key}={value}" for key, value in about.items()).encode(
        "ascii", "replace"
    )
    changed[_PROJECT : _PROJECT + _PROJECT_SIZE] = described[: _PROJECT_SIZE - 1].ljust(
        _PROJECT_SIZE, b"\0"
    )
    rate = struct.pack(order + "f", float(times.rate.fps))
    changed[_FILM_RATE : _FILM_RATE + 4] = changed[_TV_RATE : _TV_RATE + 4] = rate
    changed[_FRAME_POSITION : _FRAME_POSITION + 4] = struct.pack(order + "I", times.number)
    timecode = _UNDEFINED
    if times.timecode is not None:
        digits = times.timecode.replace(":", "").replace(";", "")
        timecode = struct.pack(order + "I", int(digits, 16))
    changed[_TIMECODE : _TIMECODE + 4] = timecode
    return bytes(changed)


def _with_full_headers(data: bytes, order: str, begins: int) -> bytearray:
    """Return a copy of the file in which the picture begins after all headers, not among them."""
    added = _FULL - begins
    headers = bytearray(data[:_GENERIC] + _FILM + _TELEVISION)
    struct.pack_into(order + "I", headers, _PICTURE_AT, _FULL)
    struct.pack_into(order + "I", headers, _FILE_SIZE, len(data) + added)
    struct.pack_into(order + "3I", headers, _GENERIC_SIZE, _GENERIC, _FULL - _GENERIC, 0)
    for element in range(_MOST_ELEMENTS):
        place = _ELEMENTS + element * _ELEMENT_SIZE + _ELEMENT_DATA
        (picture,) = struct.unpack_from(order + "I", headers, place)
        if begins <= picture < len(data):
            struct.pack_into(order + "I", headers, place, picture + added)
    return headers + data[begins:]
