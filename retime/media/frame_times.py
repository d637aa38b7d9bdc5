"""When each frame of a movie is decoded, by its index, so that a reader can begin at any frame.

A movie in which pictures stand alone need not be read from its first byte: where the file says
exactly at which time frame n stands, a demuxer is sent there, and the first packet of that very
time is frame n. MOV and MP4 say it in their index, Matroska in its block headers; from other
files frames are counted from the start.
"""

from __future__ import annotations

from functools import lru_cache
from itertools import pairwise
from typing import TYPE_CHECKING

from msgspec import Struct

from retime.errors import ScanError
from retime.media.bridge import only_video, open_movie
from retime.media.countcache import state_of
from retime.media.facts import Form
from retime.media.matroska import block_times

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

    from retime.media.countcache import FileState
    from retime.media.facts import ScanFacts

__all__ = ["can_be_entered", "frame_time"]

_DISCARDED = 2  # AVINDEX_DISCARD_FRAME: FFmpeg's avformat.h
_MORE = 2  # times as many blocks are looked at as were asked for


def can_be_entered(facts: ScanFacts) -> bool:
    """Tell whether a scan can be read from any of its frames on, without what comes before."""
    kinds = set(facts.container.split(","))
    return facts.form is Form.SEQUENCE or (facts.intra and bool(kinds & {"mov", "matroska"}))


class _Table(Struct):
    """The times of a file's frames, as far as they are known."""

    times: Sequence[int] | None = ()
    whole: bool = False


def frame_time(path: Path, number: int, container: str) -> int | None:
    """Return the time of frame ``number``, in the stream's time base; None where none is known.

    ``container`` is the demuxer's name. No time is told of a file whose times do not rise from
    frame to frame.
    """
    kinds = set(container.split(","))
    if number == 0 or not kinds & {"mov", "matroska"}:
        return None
    table = _table(state_of(path))
    if not table.whole and table.times is not None and number >= len(table.times):
        _extend(table, path, number, matroska="matroska" in kinds)
    return table.times[number] if table.times and number < len(table.times) else None


@lru_cache(maxsize=64)
def _table(_state: FileState) -> _Table:
    return _Table()


def _extend(table: _Table, path: Path, number: int, *, matroska: bool) -> None:
    times: Sequence[int] | None
    if matroska:
        wanted = _MORE * (number + 1)
        try:
            times = block_times(path, wanted)
        except ScanError:  # whoever reads the file tells what is wrong with it
            times = None
        table.whole = times is None or len(times) < wanted
    else:
        times = _indexed_times(path)
        table.whole = True
    rising = times is not None and all(a < b for a, b in pairwise(times))
    table.times = times if rising else None


def _indexed_times(path: Path) -> Sequence[int] | None:
    with open_movie(path) as container:
        stream = only_video(container, path)
        if not stream.frames:  # in fragments: no whole index
            return None
        return [one.timestamp for one in stream.index_entries if not one.flags & _DISCARDED]
