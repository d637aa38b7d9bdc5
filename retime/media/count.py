"""How many frames a scan holds: never guessed from a duration and a rate."""

from __future__ import annotations

from typing import TYPE_CHECKING

from retime.media.bridge import check_file, only_video, open_movie, reading
from retime.media.countcache import recall, remember, state_of
from retime.media.demuxing import coded_frames
from retime.media.facts import Form, FrameCount
from retime.media.index import indexed_frames
from retime.media.matroska import count_blocks

if TYPE_CHECKING:
    from pathlib import Path

    from retime.media.facts import ScanFacts

__all__ = ["count_frames", "frame_count"]


def frame_count(facts: ScanFacts, *, cache: Path | None) -> int:
    """Return how many frames a scan presents; in a sequence holes count as frames.

    Known from the index of a MOV or MP4, else counted once and remembered in ``cache`` (None:
    nowhere; ``countcache.users_cache`` gives the user's). Raises ScanError for a file that is
    damaged or cut short.
    """
    if facts.header_frames is not None:
        return facts.header_frames
    return count_frames(facts, cache=cache).frames


def count_frames(facts: ScanFacts, *, cache: Path | None) -> FrameCount:
    """Return the count, and whether every frame is a key frame, which no header says.

    MOV and MP4 by their index, Matroska by its block headers, others by demuxing them once.
    """
    if facts.form is Form.SEQUENCE and facts.header_frames is not None:
        return FrameCount(frames=facts.header_frames, all_keys=True)
    path = facts.path
    check_file(path)
    with reading(path):
        state = state_of(path)
    known = recall(cache, state) if cache is not None else None
    if known is not None:
        return known
    found = _blocks(path) if "matroska" in facts.container.split(",") else _index_or_packets(path)
    if cache is not None:
        remember(cache, state, found)
    return found


def _blocks(path: Path) -> FrameCount:
    count = count_blocks(path)
    return FrameCount(frames=count.frames, all_keys=count.frames == count.key_frames)


def _index_or_packets(path: Path) -> FrameCount:
    with open_movie(path) as container, reading(path, "cannot be read to its end"):
        stream = only_video(container, path)
        indexed = indexed_frames(container, stream)
        if indexed is not None:
            return indexed
        frames, keys = 0, 0
        for packet in coded_frames(container, stream):
            frames += 1
            keys += packet.is_keyframe
    return FrameCount(frames=frames, all_keys=frames == keys)
