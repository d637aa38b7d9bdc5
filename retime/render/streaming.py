"""The stream route: every output frame encoded in order, for codecs with long groups."""

from __future__ import annotations

from typing import TYPE_CHECKING

from retime.media.encoder import PictureEncoder
from retime.picture.black import black_picture
from retime.render.cursor import Cursor
from retime.render.files import movie_writer

if TYPE_CHECKING:
    from av.video.frame import VideoFrame

    from retime.media.encoder import EncoderSettings
    from retime.render.order import Order

__all__ = ["Streamed"]


class Streamed:
    """One deliverable with an encoder of its own."""

    def __init__(self, settings: EncoderSettings, order: Order) -> None:
        """Open the encoder and the file."""
        self.order = order
        self._encoder = PictureEncoder(settings, order.work)
        self._writer = movie_writer(order, self._encoder.template, None)
        self._cursor = Cursor(order.plan.showings())

    @property
    def written(self) -> int:
        """How many output frames stand in the file."""
        return self._writer.written

    def wants(self, reel: int, frame: int) -> bool:
        """Tell whether the deliverable shows a film frame."""
        return self._cursor.wants(reel, frame)

    def feed(self, reel: int, frame: int, picture: VideoFrame) -> None:
        """Take the picture of a film frame, in the encoder's format."""
        self._encode_black()
        self._encode(picture, self._cursor.take(reel, frame))

    def _encode_black(self) -> None:
        times = self._cursor.black()
        if times:
            self._encode(black_picture(self._encoder.settings.picture), times)

    def _encode(self, picture: VideoFrame, times: int) -> None:
        for _ in range(times):
            for packet in self._encoder.encode(picture):
                self._writer.write(packet)

    def finish(self) -> None:
        """Complete the file."""
        self._encode_black()
        for packet in self._encoder.finish():
            self._writer.write(packet)
        self._writer.finish()
        self._encoder.close()

    def abandon(self) -> None:
        """Close the file as it stands."""
        self._writer.abandon()
        self._encoder.close()
