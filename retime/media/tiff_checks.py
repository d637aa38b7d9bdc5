"""The checksums of a TIFF's deflated strips, at which FFmpeg does not look.

TIFF 6.0, section 2, for the directory of tags; Adobe's technical note of 2002 for compression 8,
whose strips or tiles are zlib streams (RFC 1950), each with an Adler-32 of what it holds.
"""

from __future__ import annotations

import struct
import zlib
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterator

__all__ = ["DIFFERS", "checksums_agree"]

DIFFERS = "a strip does not match its checksum"

_COMPRESSION = 259
_PLACES = ((273, 279), (324, 325))  # where strips, or tiles, begin, and how long they are
_ASKED = {_COMPRESSION, *_PLACES[0], *_PLACES[1]}
_DEFLATED = {8, 32946}
_KINDS = {3: ("H", 2), 4: ("I", 4)}  # SHORT and LONG
_INSIDE = 4  # bytes, which stand in the directory itself
_AT_ONCE = 1 << 16  # bytes, which may inflate to a thousand times as many


def checksums_agree(data: bytes | memoryview) -> bool:
    """Tell whether no deflated strip or tile holds other bytes than were deflated.

    What is no TIFF, is not deflated or is cut short is left to its decoder, and agrees.
    """
    try:
        tags = _tags(data)
        if tags.get(_COMPRESSION, (0,))[0] not in _DEFLATED:
            return True
        parts = list(_parts(tags))
        if sum(size for _, size in parts) > len(data):  # they overlap, or go on after the end
            return True
        return all(_agrees(data[begin : begin + size]) for begin, size in parts)
    except (struct.error, IndexError):
        return True


def _tags(data: bytes | memoryview) -> dict[int, tuple[int, ...]]:
    """Return the whole numbers of the first directory that are asked for, by their tags."""
    order = {b"II*\0": "<", b"MM\0*": ">"}.get(bytes(data[:4]))
    if order is None:
        return {}
    (at,) = struct.unpack_from(order + "I", data, 4)
    (count,) = struct.unpack_from(order + "H", data, at)
    found: dict[int, tuple[int, ...]] = {}
    for place in range(at + 2, at + 2 + 12 * count, 12):
        tag, kind, many = struct.unpack_from(order + "HHI", data, place)
        if kind in _KINDS and tag in _ASKED and tag not in found:
            letter, size = _KINDS[kind]
            inside = size * many <= _INSIDE
            begin = place + 8 if inside else struct.unpack_from(order + "I", data, place + 8)[0]
            found[tag] = struct.unpack_from(f"{order}{many}{letter}", data, begin)
    return found


def _parts(tags: dict[int, tuple[int, ...]]) -> Iterator[tuple[int, int]]:
    for begins, sizes in _PLACES:
        yield from zip(tags.get(begins, ()), tags.get(sizes, ()), strict=False)


def _agrees(deflated: bytes | memoryview) -> bool:
    """Inflate a stream, a little at once; other faults than its checksum are its decoder's."""
    inflating = zlib.decompressobj()
    try:
        for at in range(0, len(deflated), _AT_ONCE):
            inflating.decompress(deflated[at : at + _AT_ONCE])
            if inflating.eof:
                break
    except zlib.error as error:
        return "incorrect data check" not in str(error)
    return True
