"""Splits a stream at its start codes, 00 00 01, which MPEG-2 video and H.264 both have."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

__all__ = ["START", "units"]

START = b"\0\0\1"


def units(chunks: Iterable[bytes]) -> Iterator[bytes]:
    """Yield what stands from each start code up to the next, the code included.

    Chunks may be cut anywhere; no more than a unit and a chunk are held at a time. What stands
    before the first start code is left out.
    """
    held, searched = b"", 0
    for chunk in chunks:
        held += chunk
        first = held.find(START)
        if first < 0:
            held = held[-len(START) + 1 :]
            continue
        at = held.find(START, max(first + len(START), searched))
        while at >= 0:
            yield held[first:at]
            first = at
            at = held.find(START, first + len(START))
        held = held[first:]
        searched = len(held) - len(START) + 1  # a code may be cut by the end of the chunk
    if held.startswith(START):
        yield held
