"""Writes a sample aspect into a finished Matroska file's header, which PyAV cannot.

Element names and layout: RFC 8794 (EBML) and RFC 9559 (Matroska). Room is taken from the Void
that FFmpeg leaves after the SeekHead, so that no cluster moves.
"""

from __future__ import annotations

from math import ceil, gcd
from typing import TYPE_CHECKING

from retime.errors import OutputError

if TYPE_CHECKING:
    from collections.abc import Iterator
    from fractions import Fraction
    from pathlib import Path

__all__ = ["display_size", "write_display_aspect"]

_SEGMENT, _CLUSTER = 0x18538067, 0x1F43B675
_SEEK_HEAD, _SEEK, _SEEK_ID, _SEEK_POSITION = 0x114D9B74, 0x4DBB, 0x53AB, 0x53AC
_VOID, _TRACKS, _TRACK, _VIDEO = 0xEC, 0x1654AE6B, 0xAE, 0xE0
_DISPLAY = (0x54B0, 0x54BA, 0x54B2)  # width, height, unit (0: pixels)
_HEADER = 1 << 20
_VOID_WIDTH = 8
_LEAST_VOID = 1 + _VOID_WIDTH


def display_size(raster: tuple[int, int], sample_aspect: Fraction) -> tuple[int, int]:
    """Return a display size in whole pixels that has the raster's shape exactly, no smaller."""
    wide, high = raster[0] * sample_aspect.numerator, raster[1] * sample_aspect.denominator
    common = gcd(wide, high)
    wide, high = wide // common, high // common
    times = max(1, ceil(raster[1] / high))
    return wide * times, high * times


def write_display_aspect(
    path: Path, raster: tuple[int, int], sample_aspect: Fraction | None
) -> None:
    """Put the sample aspect into the file's video track; square or unknown needs nothing.

    Raises OutputError where the header is not laid out as FFmpeg lays it out.
    """
    if sample_aspect is None or sample_aspect == 1:
        return
    video = b"".join(
        _coded(ident, value.to_bytes(4, "big"))
        for ident, value in zip(_DISPLAY, (*display_size(raster, sample_aspect), 0), strict=True)
    )
    with path.open("r+b") as file:
        head = file.read(_HEADER)
        start, length, elements = _top(path, head)
        file.seek(start)
        file.write(_with_display(path, elements, video, length))


def _top(path: Path, head: bytes) -> tuple[int, int, list[tuple[int, bytes]]]:
    """Return where a segment's contents begin, their length up to its clusters, and them."""
    at = 0
    while True:
        ident, at = _ident(head, at)
        size, at = _size(head, at)
        if ident == _SEGMENT:
            break
        at += size
    elements: list[tuple[int, bytes]] = []
    start = at
    while at < len(head):
        first = at
        ident, at = _ident(head, at)
        size, at = _size(head, at)
        if ident == _CLUSTER:
            return start, first - start, elements
        elements.append((ident, head[at : at + size]))
        at += size
    raise OutputError(path, "has a header too long to write the sample aspect into")


def _with_display(
    path: Path, elements: list[tuple[int, bytes]], video: bytes, length: int
) -> bytes:
    """Return the elements in ``length`` bytes as before, the Void paying for ``video``."""
    new = {ident: _tracks(body, video) if ident == _TRACKS else body for ident, body in elements}
    spare = length - sum(len(_coded(*one)) for one in new.items() if one[0] != _VOID)
    if len(new) < len(elements) or _VOID not in new or spare < _LEAST_VOID:
        raise OutputError(path, "has no room in its header for the sample aspect")
    new[_VOID] = bytes(spare - _LEAST_VOID)
    positions, at = {}, 0
    for ident, body in new.items():
        positions[ident] = at
        at += len(_coded(ident, body, _VOID_WIDTH if ident == _VOID else 0))
    new[_SEEK_HEAD] = _seeks(new[_SEEK_HEAD], positions)
    return b"".join(
        _coded(ident, body, _VOID_WIDTH if ident == _VOID else 0) for ident, body in new.items()
    )


def _tracks(body: bytes, video: bytes) -> bytes:
    """Return a Tracks element's body, ``video`` replacing what its video track says of display."""
    if all(ident not in {_TRACK, _VIDEO} for ident, _ in _elements(body)):
        kept = [(ident, data) for ident, data in _elements(body) if ident not in _DISPLAY]
        return b"".join(_coded(ident, data) for ident, data in kept) + video
    return b"".join(
        _coded(ident, _tracks(data, video) if ident in {_TRACK, _VIDEO} else data)
        for ident, data in _elements(body)
    )


def _seeks(body: bytes, positions: dict[int, int]) -> bytes:
    """Return a SeekHead's body of the same length, with the positions that are new."""
    changed = bytearray(body)
    for ident, data in _elements(body):
        fields = dict(_elements(data)) if ident == _SEEK else {}
        target = int.from_bytes(fields.get(_SEEK_ID, b""), "big")
        if target in positions:
            old = fields[_SEEK_POSITION]
            at = body.index(data) + data.rindex(old)
            changed[at : at + len(old)] = positions[target].to_bytes(len(old), "big")
    return bytes(changed)


def _elements(data: bytes) -> Iterator[tuple[int, bytes]]:
    at = 0
    while at < len(data):
        ident, at = _ident(data, at)
        size, at = _size(data, at)
        yield ident, data[at : at + size]
        at += size


def _ident(data: bytes, at: int) -> tuple[int, int]:
    length = 9 - data[at].bit_length()
    return int.from_bytes(data[at : at + length], "big"), at + length


def _size(data: bytes, at: int) -> tuple[int, int]:
    length = 9 - data[at].bit_length()
    value = int.from_bytes(data[at : at + length], "big")
    return value & ((1 << (7 * length)) - 1), at + length


def _coded(ident: int, body: bytes, width: int = 0) -> bytes:
    """Return an element, its size in ``width`` bytes or, with 0, in as few as it takes."""
    name = ident.to_bytes((ident.bit_length() + 7) // 8, "big")
    width = width or max(1, (len(body) + 1).bit_length() // 7 + 1)
    return name + (len(body) | 1 << (7 * width)).to_bytes(width, "big") + body
