"""Writes the order of fields into a MOV file's description of its pictures.

FFmpeg leaves the ``fiel`` atom away for H.264 and DNxHD, whose coded pictures say it themselves; a
reader that opens the headers alone does not see those. The atom and its values: QuickTime File
Format Specification, video sample description extensions. It may stand in MOV only, not in MP4.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from retime.errors import OutputError

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

__all__ = ["write_field_order"]

# By FFmpeg's AVFieldOrder: how many fields a frame has, and which is shown and stored first.
_DETAILS = {1: b"\1\0", 2: b"\2\1", 3: b"\2\6", 4: b"\2\x09", 5: b"\2\x0e"}
_HEAD = 8  # size and name
_LIST_HEAD = 8  # of stsd: version, flags, count
_ENTRY = 86  # a video sample description, up to its extensions
_KIND = 16  # where a handler says what its track is


def write_field_order(path: Path, field_order: int) -> None:
    """Add ``fiel`` to the file's one video track, unless it is there or the order is unknown.

    ``field_order`` is FFmpeg's AVFieldOrder. The movie header has to be the last of the file.
    """
    if field_order not in _DETAILS:
        return
    with path.open("r+b") as file:
        start = _header_at(path, path.stat().st_size)
        file.seek(start)
        body = b"fiel" + _DETAILS[field_order]
        changed = _with_order(file.read(), (4 + len(body)).to_bytes(4, "big") + body)
        if changed is not None:
            file.seek(start)
            file.write(changed)


def _header_at(path: Path, size: int) -> int:
    """Return where the movie header starts, which ends the file."""
    at = 0
    with path.open("rb") as file:
        while at < size:
            file.seek(at)
            head = file.read(2 * _HEAD)
            length = int.from_bytes(head[:4], "big")
            if length == 1:
                length = int.from_bytes(head[_HEAD:], "big")
            if head[4:_HEAD] == b"moov" and at + length == size:
                return at
            at += length or size
    raise OutputError(path, "has no movie header at its end to write the order of fields into")


def _with_order(moov: bytes, atom: bytes) -> bytes | None:
    """Return the movie header with the atom in its video track; None where it has one."""
    around = _around_description(moov)
    extensions, end = around[-1] + _ENTRY, around[-1] + _size(moov, around[-1])
    if any(True for _ in _atoms(moov, extensions, end, atom[4:8])):
        return None
    # In front, for a zero may stand behind the extensions to end them.
    changed = bytearray(moov[:extensions] + atom + moov[extensions:])
    for at in around:
        changed[at : at + 4] = (_size(moov, at) + len(atom)).to_bytes(4, "big")
    return bytes(changed)


def _around_description(moov: bytes) -> list[int]:
    """Return where the atoms start that the description of the pictures lies in, it included."""
    for track in _atoms(moov, _HEAD, len(moov), b"trak"):
        media = _child(moov, track, b"mdia")
        handler = _child(moov, media, b"hdlr") + _KIND
        if moov[handler : handler + 4] == b"vide":
            information = _child(moov, media, b"minf")
            tables = _child(moov, information, b"stbl")
            listed = _child(moov, tables, b"stsd")
            return [0, track, media, information, tables, listed, listed + _HEAD + _LIST_HEAD]
    raise ValueError("no video track")


def _child(moov: bytes, at: int, name: bytes) -> int:
    """Return where the first atom of a name starts in the one that starts at a place."""
    return next(_atoms(moov, at + _HEAD, at + _size(moov, at), name))


def _atoms(data: bytes, at: int, end: int, name: bytes) -> Iterator[int]:
    """Yield where each atom of a name starts, in a stretch of atoms."""
    while at + _HEAD <= end and _size(data, at) >= _HEAD:
        if data[at + 4 : at + _HEAD] == name:
            yield at
        at += _size(data, at)


def _size(data: bytes, at: int) -> int:
    return int.from_bytes(data[at : at + 4], "big")
