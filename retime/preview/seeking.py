"""A reel's film frames from far inside a movie, without reading all that comes before.

Renders read a scan from its beginning, which is sure whatever its times say; to look at eight
seconds of a reel, that may take longer than anybody waits. A movie whose frames come evenly is
sought into by their times. That they do is held against the number of frames it holds, and against
the times of those that are read; where any of it does not fit, the movie is read as renders do.
"""

from __future__ import annotations

from contextlib import closing
from typing import TYPE_CHECKING, NamedTuple

import av

from retime.errors import ScanError
from retime.media.bridge import only_video, open_movie, prepare_decoder
from retime.media.decoding import decode_in_order
from retime.render.film import facts_of, film_frames

if TYPE_CHECKING:
    from collections.abc import Generator, Iterator
    from fractions import Fraction

    from av.container import InputContainer
    from av.packet import Packet
    from av.video.frame import VideoFrame
    from av.video.stream import VideoStream

    from retime.edition.scans import ReelScan

__all__ = ["Grid", "frames_of", "grid_of"]

_NEAR = 64
"""Frames from the beginning up to which it is as quick to read them all."""


class Grid(NamedTuple):
    """Evenly timed frames: the first one's time in ticks, and how many ticks there are to each."""

    begin: int
    ticks: Fraction

    def place(self, pts: int) -> int:
        """Return the number of the frame that comes at a time."""
        return round((pts - self.begin) / self.ticks)

    def time(self, place: int) -> int:
        """Return the time of a frame."""
        return self.begin + round(place * self.ticks)


def frames_of(scan: ReelScan, first: int, last: int) -> Generator[VideoFrame | None]:
    """Yield film frames ``first`` to ``last``, both included; None for a missing file.

    Raises as ``film_frames``.
    """
    coming = first
    if first > _NEAR and scan.sequence is None and scan.sifting is None:
        with closing(_sought(scan, first, last)) as frames:
            for frame in frames:
                yield frame
                coming += 1
    if coming <= last:
        with closing(film_frames(scan, coming, last)) as rest:
            yield from rest


def _sought(scan: ReelScan, first: int, last: int) -> Generator[VideoFrame]:
    """Yield frames found by their times, as many as come in their turn; none if there is a doubt.

    A damaged file is left to whoever reads it from its beginning, and says which frame it is.
    """
    facts = facts_of(scan)
    coming = first
    try:
        with open_movie(facts.path) as container:
            stream = only_video(container, facts.path)
            grid = grid_of(container, stream, scan.held)
            if grid is None:
                return
            prepare_decoder(stream.codec_context, 0)
            packets = _packets(container, stream, grid.time(first))
            decoded = decode_in_order(packets, stream.codec_context, facts.picture, facts.path)
            with closing(decoded) as frames:
                for frame in frames:
                    place = -1 if frame.pts is None else grid.place(frame.pts)
                    if 0 <= place < coming == first:
                        continue
                    if place != coming:
                        return
                    yield frame
                    coming += 1
                    if coming > last:
                        return
    except (av.FFmpegError, ScanError, OSError, ValueError):
        return


def grid_of(container: InputContainer, stream: VideoStream, count: int) -> Grid | None:
    """Return how a movie's ``count`` frames are timed, None where that is not even for certain.

    The first is to come at the beginning, and the last when so many frames have.
    """
    rate, base = stream.average_rate, stream.time_base
    if not rate or not base or stream.start_time is None:
        return None
    grid = Grid(begin=stream.start_time, ticks=1 / (rate * base))
    opening = next(_packets(container, stream, grid.begin), None)
    if opening is None or opening.pts != grid.begin:
        return None
    times = [one.pts for one in _packets(container, stream, grid.time(count - 1))]
    if any(time is None for time in times):
        return None
    last = max((time for time in times if time is not None), default=grid.begin)
    return grid if grid.place(last) == count - 1 else None


def _packets(
    container: InputContainer, stream: VideoStream, time: int
) -> Iterator[Packet[VideoStream]]:
    """Yield the coded frames from the last key frame before a time, or at it, to the end."""
    container.seek(time, stream=stream, backward=True)
    return (packet for packet in container.demux(stream) if packet.size)
