"""The copy route: a scan's coded pictures written as often as they are shown."""

from __future__ import annotations

from typing import TYPE_CHECKING

from retime.media.frame_header import prores_rate_code, with_prores_rate
from retime.media.movie_writer import MovieWriter
from retime.render.cursor import Cursor
from retime.render.files import movie_writer, sequence_writer

if TYPE_CHECKING:
    from pathlib import Path

    import av
    from av.video.stream import VideoStream

    from retime.media.sequence_writer import SequenceWriter
    from retime.render.order import Order

__all__ = ["FileCopy", "PacketCopy"]


class PacketCopy:
    """Copies packets of movie scans into one movie."""

    def __init__(self, order: Order, template: VideoStream, codec: str, tag: str) -> None:
        """Open the movie; ``template`` is the first scan's stream, ``tag`` its FourCC."""
        self.order = order
        self._writer = movie_writer(order, template, tag.strip("\0 ") and tag or None)
        self._cursor = Cursor(order.plan.showings())
        self._prores = prores_rate_code(order.rate) if codec == "prores" else None

    @property
    def written(self) -> int:
        """How many output frames stand in the file."""
        return self._writer.written

    def feed(self, reel: int, frame: int, packet: av.Packet) -> None:
        """Take the coded picture of a film frame."""
        times = self._cursor.take(reel, frame)
        if times == 0:
            return
        if self._prores is not None:
            packet = with_prores_rate(packet, self._prores)
        self._writer.repeat(packet, times)

    def finish(self) -> None:
        """Complete the file."""
        self._writer.finish()

    def abandon(self) -> None:
        """Close the file as it stands."""
        self._writer.abandon()


class FileCopy:
    """Copies files of numbered scans into one numbered sequence."""

    def __init__(self, order: Order, ending: str) -> None:
        """Open the folder."""
        self.order = order
        self._writer = sequence_writer(order, ending)
        self._cursor = Cursor(order.plan.showings())

    @property
    def written(self) -> int:
        """How many output frames stand in the folder."""
        return self._writer.written

    def feed(self, reel: int, frame: int, source: Path) -> None:
        """Take the file of a film frame."""
        times = self._cursor.take(reel, frame)
        if times:
            self._writer.repeat_bytes(source.read_bytes(), times)

    def finish(self) -> None:
        """Complete the folder."""
        self._writer.finish()

    def abandon(self) -> None:
        """Leave the folder as it stands."""
        self._writer.abandon()
