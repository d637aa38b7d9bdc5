"""The coded frames of a movie, one after another, held against what the scan is said to hold."""

from __future__ import annotations

from itertools import chain
from typing import TYPE_CHECKING

from retime.errors import ScanError
from retime.media.bridge import only_video, open_movie, reading
from retime.media.frame_times import frame_time

if TYPE_CHECKING:
    from collections.abc import Generator, Iterator
    from pathlib import Path

    from av.container import InputContainer
    from av.packet import Packet
    from av.video.stream import VideoStream

__all__ = ["check_end", "coded_frames", "frame_packets"]


def coded_frames(container: InputContainer, stream: VideoStream) -> Iterator[Packet[VideoStream]]:
    """Yield the packets that hold a frame which the file presents.

    Left out are the empty packets that flush a decoder, and what an edit list cuts away.
    """
    return (packet for packet in container.demux(stream) if packet.size and not packet.is_discard)


def frame_packets(
    path: Path, first: int, last: int, count: int | None = None
) -> Generator[Packet[VideoStream]]:
    """Yield the packets of frames ``first`` to ``last``, inclusive, where one is one frame.

    ``count`` is how many frames the scan is said to hold; where ``last`` is the last of them, a
    movie that goes on is an error. Raises ScanError where it ends before ``last``.
    """
    position = 0
    stop = last + 2 if last + 1 == count else last + 1
    with open_movie(path) as container, reading(path, "cannot be read to its end"):
        stream = only_video(container, path)
        packets = coded_frames(container, stream)
        begin = _entered(path, container, stream, first)
        if begin is not None:
            position, packets = first, chain((begin,), packets)
        for packet in packets:
            if first <= position <= last:
                yield packet
            position += 1
            if position == stop:
                break
    check_end(path, position, last, count)


def _entered(
    path: Path, container: InputContainer, stream: VideoStream, first: int
) -> Packet[VideoStream] | None:
    """Return the packet of frame ``first``, what comes after it being next, without what is before.

    None, and back at the start, where the file does not say where that frame is. What lies before
    is left unread, which for the pieces of a long scan is nearly all of it.
    """
    time = frame_time(path, first, container.format.name)
    if time is None:
        return None
    container.seek(time, stream=stream)
    for packet in coded_frames(container, stream):
        if packet.dts is None or packet.dts > time:
            break
        if packet.dts == time:
            return packet
    container.seek(stream.start_time or 0, stream=stream)
    return None


def check_end(path: Path, found: int, last: int, count: int | None) -> None:
    """Raise ScanError if ``found`` frames are too few for ``last``, or more than ``count``."""
    if found <= last:
        raise ScanError(
            path,
            f"ends after {found} frames, before frame {last}",
            "it is truncated, or more frames are stated than it holds",
        )
    if last + 1 == count and found > count:
        raise ScanError(path, f"goes on after the {count} frames that it is said to hold")
