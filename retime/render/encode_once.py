"""The encode-once route: each film frame encoded once for all deliverables of its format."""

from __future__ import annotations

from collections import deque
from typing import TYPE_CHECKING

from retime.media.encoder import PictureEncoder
from retime.picture.black import black_picture
from retime.render.cursor import Cursor
from retime.render.files import movie_writer, sequence_writer

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from av.packet import Packet
    from av.video.frame import VideoFrame
    from av.video.stream import VideoStream

    from retime.media.encoder import EncoderSettings
    from retime.media.movie_writer import MovieWriter
    from retime.media.sequence_writer import SequenceWriter
    from retime.render.order import Order

__all__ = ["EncodeOnce", "Share"]


class Share:
    """One deliverable's share of the encoded pictures.

    An encoder gives pictures back later than it takes them, so there are two cursors:
    ``demand`` goes with the pictures that are fed, ``cursor`` with those that are written.
    """

    def __init__(self, order: Order, writer: MovieWriter | SequenceWriter) -> None:
        """Stand before the plan's first showing."""
        self.order = order
        self.writer = writer
        self.demand = Cursor(order.plan.showings())
        self.cursor = Cursor(order.plan.showings())

    @property
    def written(self) -> int:
        """How many output frames are written."""
        return self.writer.written


class EncodeOnce:
    """One encoder, and the deliverables that its pictures go into."""

    def __init__(self, settings: EncoderSettings, orders: Sequence[Order]) -> None:
        """Open the encoder and every file; black is encoded first where any of them shows it."""
        self._encoder = PictureEncoder(settings, orders[0].work)
        self._waiting: deque[tuple[int, int] | None] = deque()
        self._black: Packet[VideoStream] | None = None
        self.shares: list[Share] = []
        for order in orders:
            self.shares.append(Share(order, self._writer(order)))
        if any(showing.frame is None for order in orders for showing in order.plan.showings()):
            self._waiting.append(None)
            self._pass_on(self._encoder.encode(black_picture(settings.picture)))

    def _writer(self, order: Order) -> MovieWriter | SequenceWriter:
        if order.container == "sequence":
            codec = order.profile.codec
            return sequence_writer(order, codec.ending if codec else "")
        return movie_writer(order, self._encoder.template, self._encoder.settings.tag)

    def wants(self, reel: int, frame: int) -> bool:
        """Tell whether any deliverable shows a film frame."""
        return any(share.demand.wants(reel, frame) for share in self.shares)

    def feed(self, reel: int, frame: int, picture: VideoFrame) -> None:
        """Take the picture of a film frame, in the encoder's format."""
        for share in self.shares:
            share.demand.black()
            share.demand.take(reel, frame)
        self._waiting.append((reel, frame))
        self._pass_on(self._encoder.encode(picture))

    def _pass_on(self, packets: Iterable[Packet[VideoStream]]) -> None:
        """Write each packet, which come in the order of the pictures, where it is shown."""
        for packet in packets:
            which = self._waiting.popleft()
            if which is None:
                self._black = packet
                continue
            for share in self.shares:
                self._write_black(share)
                times = share.cursor.take(*which)
                if times:
                    share.writer.repeat(packet, times)

    def _write_black(self, share: Share) -> None:
        times = share.cursor.black()
        if times and self._black is not None:
            share.writer.repeat(self._black, times)

    def finish(self) -> None:
        """Complete every file."""
        self._pass_on(self._encoder.finish())
        for share in self.shares:
            self._write_black(share)
            share.writer.finish()
        self._encoder.close()

    def abandon(self) -> None:
        """Close every file as it stands."""
        for share in self.shares:
            share.writer.abandon()
        self._encoder.close()
