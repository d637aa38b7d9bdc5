"""Rates, numbers and timecode in a DPX file's header, put right for a deliverable.

Field places: SMPTE ST 268 (DPX 2.0), generic, film and television headers, from memory and
held in the tests against what FFmpeg reads.
"""

from __future__ import annotations

import struct
from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Mapping

    from retime.film.speed import Rate

__all__ = ["DpxTimes", "with_dpx_times"]

_PROJECT, _PROJECT_SIZE = 260, 200
_FRAME_POSITION, _FILM_RATE = 1712, 1724
_TIMECODE, _TV_RATE = 1920, 1940
_UNDEFINED = b"\xff\xff\xff\xff"
_SHORTEST = 2048


@dataclass(frozen=True, slots=True, kw_only=True)
class DpxTimes:
    """What one file's header is to say; ``timecode`` is None where it can say none."""

    rate: Rate
    number: int
    timecode: str | None


def with_dpx_times(data: bytes, times: DpxTimes, about: Mapping[str, str]) -> bytes:
    """Return the file with the deliverable's rate, frame number, timecode and description.

    Anything that is not a DPX file with full headers is returned as it is.
    """
    orders = {b"SDPX": ">", b"XPDS": "<"}
    if data[:4] not in orders or len(data) < _SHORTEST:
        return data
    order = orders[data[:4]]
    changed = bytearray(data)
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
