"""Glances at a scan: how much moves from a film frame to the next, here and there.

A movie is sought into, so that nothing else of it is read. What is seen decides no more than which
excerpt is offered: where a file cannot be sought, or lies about its times, nothing is seen.
"""

from __future__ import annotations

from contextlib import ExitStack
from typing import TYPE_CHECKING, NamedTuple

import av
import numpy as np
from av.video.reformatter import Interpolation, VideoReformatter

from retime.errors import ScanError
from retime.media.bridge import only_video, open_movie, prepare_decoder
from retime.media.probe import picture_codec, whole_picture
from retime.preview.seeking import Grid

if TYPE_CHECKING:
    from collections.abc import Iterator
    from typing import Self

    from av.container import InputContainer
    from av.video.frame import VideoFrame
    from av.video.stream import VideoStream
    from numpy.typing import NDArray

    from retime.edition.scans import ReelScan

    Small = NDArray[np.float32]

__all__ = ["FURTHEST", "Glance", "Glances", "motion_of"]

FURTHEST = 64
"""How many pictures at most are decoded to come from a key picture to the one that is wanted."""

_COLUMNS, _ROWS = 128, 96
_APART = 8  # scan frames from one film frame to the next, at most


class Glance(NamedTuple):
    """How much moves from a film frame to the next, in parts of white."""

    frame: int
    motion: float


class _Seen(NamedTuple):
    """A picture, and its number in the scan."""

    place: int
    picture: VideoFrame


class Glances:
    """Looks into one reel's scan; ``decoded`` counts the pictures that it has cost."""

    def __init__(self, scan: ReelScan) -> None:
        """Open nothing yet."""
        self._scan = scan
        self._open = ExitStack()
        self._movie: tuple[InputContainer, VideoStream] | None = None
        self._scaler = VideoReformatter()
        self.decoded = 0

    def __enter__(self) -> Self:
        """Return it."""
        return self

    def __exit__(self, *_: object) -> None:
        """Let go of the scan."""
        self._open.close()

    def at(self, frame: int, since: int) -> Glance | None:
        """Return how much moves from a film frame to the next; None where they cannot be had.

        In a movie whose pictures lean on others it may be an earlier frame, but none before
        ``since``: that of the last picture that stands alone.
        """
        scan = self._scan
        first, last = scan.told(frame), scan.told(frame + 1)
        if last - first > _APART:
            return None
        leaning = scan.facts is not None and not scan.facts.intra and scan.sifting is None
        try:
            if scan.sequence is None:
                found = list(self._sought(first, last, since if leaning else first))
            else:
                found = list(self._files(first, last))
        except (av.FFmpegError, ScanError, OSError, ValueError):
            return None  # whoever reads the excerpt says what is wrong
        if len(found) != last - first + 1:
            return None
        motion = motion_of(self._small(found[0].picture), self._small(found[-1].picture))
        return Glance(found[0].place if leaning else frame, motion)

    def _files(self, first: int, last: int) -> Iterator[_Seen]:
        """Yield the pictures of a sequence that are there."""
        codec = picture_codec(self._scan.path)
        for place in range(first, last + 1):
            path = None if self._scan.sequence is None else self._scan.sequence.path_at(place)
            if path is not None:
                self.decoded += 1
                yield _Seen(place, whole_picture(path, codec)[1])

    def _sought(self, first: int, last: int, since: int) -> Iterator[_Seen]:
        """Yield as many frames of a movie, from ``first`` on or from one before, not ``since``.

        They are found by their times, which are taken to come evenly.
        """
        wanted: int | None = None
        for seen in self._decoded(first):
            if wanted is None and seen.place >= since:
                wanted = min(seen.place, first)
            if wanted is not None and seen.place >= wanted:
                yield seen
            if wanted is not None and seen.place >= wanted + last - first:
                return

    def _decoded(self, first: int) -> Iterator[_Seen]:
        """Yield a few pictures from the last before a frame that stands alone, in order."""
        container, stream = self._opened()
        rate, base = stream.average_rate, stream.time_base
        if not rate or not base:
            return
        grid = Grid(begin=stream.start_time or 0, ticks=1 / (rate * base))
        alone = self._scan.facts is not None and self._scan.facts.intra
        container.seek(grid.time(first), stream=stream, backward=True)
        stream.codec_context.flush_buffers()
        fed = 0
        for packet in container.demux(stream):
            if packet.pts is not None and alone and grid.place(packet.pts) < first:
                continue
            fed += 1
            for picture in stream.codec_context.decode(packet):
                self.decoded += 1
                if picture.pts is None:
                    return
                yield _Seen(grid.place(picture.pts), picture)
            if fed > FURTHEST:
                return

    def _opened(self) -> tuple[InputContainer, VideoStream]:
        if self._movie is None:
            container = self._open.enter_context(open_movie(self._scan.path))
            stream = only_video(container, self._scan.path)
            prepare_decoder(stream.codec_context, 0)
            # Frames decoded side by side would all have to be fed before the first comes out.
            stream.codec_context.thread_type = "SLICE"
            self._movie = container, stream
        return self._movie

    def _small(self, picture: VideoFrame) -> Small:
        """Return a picture's grey, 0 to 1, what the map cuts away left out."""
        grey = self._scaler.reformat(
            picture, width=_COLUMNS, height=_ROWS, format="gray", interpolation=Interpolation.AREA
        )
        whole = grey.to_ndarray().astype(np.float32) / np.float32(255)
        framing = self._scan.reel.framing
        if framing is None or framing.area is None:
            return whole
        area = framing.area
        rows = _part(area.top, area.height, _ROWS / picture.height)
        columns = _part(area.left, area.width, _COLUMNS / picture.width)
        return whole[rows, columns]


def _part(begin: int, size: int, scale: float) -> slice:
    """Return a part of a side in small samples, one at least."""
    first = int(begin * scale)
    return slice(first, max(first + 1, int((begin + size) * scale)))


def motion_of(one: Small, other: Small) -> float:
    """Return how much moves from a picture to the next, in parts of white; flicker counts nothing.

    That is the mean of how much samples change beyond what most of them change.
    """
    change = other - one
    return float(np.abs(change - np.median(change)).mean())
