"""What a MOV or MP4 file's index presents: its samples, as its edit list picks them."""

from __future__ import annotations

from typing import TYPE_CHECKING

from retime.media.facts import FrameCount

if TYPE_CHECKING:
    from av.container import InputContainer
    from av.video.stream import VideoStream

__all__ = ["indexed_frames"]

_KEY, _DISCARDED = 1, 2  # AVINDEX_KEYFRAME, AVINDEX_DISCARD_FRAME: FFmpeg's avformat.h


def indexed_frames(container: InputContainer, stream: VideoStream) -> FrameCount | None:
    """Return what the index presents, None where there is no whole index to trust.

    FFmpeg applies the edit list to the index and marks what is read only to decode the rest. A
    file in fragments has no whole index: its header counts no samples.
    """
    if "mov" not in container.format.name.split(",") or not stream.frames:
        return None
    flags = [entry.flags for entry in stream.index_entries]
    presented = [flag for flag in flags if not flag & _DISCARDED]
    return FrameCount(frames=len(presented), all_keys=all(flag & _KEY for flag in presented))
