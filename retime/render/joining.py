"""Joins the pieces of a pass into its deliverables, as they come in, packet by packet."""

from __future__ import annotations

from collections import defaultdict
from contextlib import closing
from functools import partial
from typing import TYPE_CHECKING

from retime.errors import RetimeError
from retime.media.encoder import PictureEncoder
from retime.media.sequence_writer import describe
from retime.media.writing import writing
from retime.picture.black import black_picture
from retime.render.files import movie_writer, sequence_settings
from retime.render.piece_files import ending_of
from retime.render.pieces import made_whole
from retime.render.sinks import encoder_settings
from retime.render.store import Store
from retime.render.streaming import stream_encoder

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable
    from pathlib import Path

    from av.packet import Packet
    from av.video.stream import VideoStream

    from retime.media.encoder import EncoderSettings
    from retime.media.movie_writer import MovieWriter
    from retime.render.failures import Failures
    from retime.render.order import Order
    from retime.render.piece_files import Made
    from retime.render.pieces import Piece
    from retime.render.sinks import Pass

__all__ = ["Joining"]

_TRIED = 8
"""Pictures that show how an encoder reorders them: H.264 and MPEG-2 need three."""


class Joining:
    """What a pass makes out of pieces, opened together and finished or abandoned together."""

    def __init__(self, made: Pass, folder: Path, failures: Failures) -> None:
        """Open every file; ``folder`` is where stores are."""
        self._folder = folder
        self._failures = failures
        self._joined: dict[str, _Movie | _Folder] = {}
        try:
            for (settings, *_), orders in made.shared.items():
                self._open_shared(settings, orders)
            for order in made.streams:
                self._apart(order.name, partial(self._open_stream, order))
        except BaseException:
            self.abandon()
            raise

    def _open_shared(self, settings: EncoderSettings, orders: Iterable[Order]) -> None:
        movies = []
        for order in orders:
            if order.container == "sequence":
                self._joined[order.name] = _Folder(order)
            else:
                movies.append(order)
        if not movies:
            return
        try:
            with closing(PictureEncoder(settings, movies[0].work)) as encoder:
                for order in movies:
                    work = partial(self._open_movie, order, encoder.template, settings.tag)
                    self._apart(order.name, work)
        except RetimeError as error:
            self._failures.take([order.name for order in movies], error)

    def _open_stream(self, order: Order) -> None:
        with closing(stream_encoder(encoder_settings(order), order)) as encoder:
            delay = 0
            writer = movie_writer(order, encoder.template, None)
            header = encoder.template.codec_context.extradata or b""
            if isinstance(encoder, PictureEncoder) and not made_whole(order):
                delay = _delay(encoder)
            self._joined[order.name] = _Movie(order, header, delay, writer)

    def _open_movie(self, order: Order, template: VideoStream, tag: str | None) -> None:
        header = template.codec_context.extradata or b""
        self._joined[order.name] = _Movie(order, header, 0, movie_writer(order, template, tag))

    def _apart(self, name: str, work: Callable[[], None]) -> None:
        """Do something for one order; what goes wrong there is not the others' business."""
        try:
            work()
        except RetimeError as error:
            self._failures.take([name], error)
            self.drop([name])

    def take(self, piece: Piece, made: Made) -> None:
        """Write the next piece into every file that it has a part of."""
        stores: dict[str, list[str]] = defaultdict(list)
        for order, name in made.stores.items():
            if order in self._joined and order in piece.outputs:
                stores[name].append(order)
        for name, orders in stores.items():
            with closing(Store(self._folder / name)) as store:
                for order in orders:
                    self._apart(order, partial(self._joined[order].take, store))

    def drop(self, names: Iterable[str]) -> None:
        """Let go of orders that have failed elsewhere."""
        for name in names:
            if name in self._joined:
                self._joined.pop(name).abandon()

    def finish(self) -> None:
        """Complete every file, and hold what was written against the plans."""
        for name in list(self._joined):
            self._apart(name, self._joined[name].finish)

    def abandon(self) -> None:
        """Close every file as it stands."""
        for joined in self._joined.values():
            joined.abandon()


def _delay(encoder: PictureEncoder) -> int:
    """Return by how many pictures decoding goes ahead of what is shown, found by trying."""
    picture = black_picture(encoder.settings.picture)
    packets = [packet for _ in range(_TRIED) for packet in encoder.encode(picture)]
    packets += encoder.finish()
    return max(0, -min(packet.dts or 0 for packet in packets))


class _Movie:
    """A movie whose pictures come out of stores."""

    def __init__(self, order: Order, header: bytes, delay: int, writer: MovieWriter) -> None:
        self._order = order
        self._writer = writer
        self._header = header
        self._delay = delay
        self._tick = 1 / order.rate.fps
        self._whole = made_whole(order)

    def take(self, store: Store) -> None:
        if store.header != self._header:
            raise RetimeError(f"{self._order.name}: a piece was encoded under another header")
        begin = self._writer.written
        for packet, times in store.shown(self._order.name):
            if self._order.stands_alone:
                self._writer.repeat(packet, times)
                continue
            if not self._whole:
                self._shift(packet, begin)
            self._writer.write(packet)

    def _shift(self, packet: Packet[VideoStream], begin: int) -> None:
        """Give a packet of a piece the times that it has in the file.

        Decoding goes on evenly over all pieces, as far ahead of what is shown as the encoder
        reorders pictures; a piece on its own may be too short to tell.
        """
        if packet.pts is None:
            raise TypeError(packet)
        packet.pts += begin
        packet.dts = self._writer.written - self._delay
        packet.duration = 1
        packet.time_base = self._tick

    def finish(self) -> None:
        if self._writer.written != self._order.coded:
            raise RetimeError(
                f"{self._order.name}: {self._writer.written} pictures were joined, "
                f"not {self._order.coded}"
            )
        self._writer.finish()

    def abandon(self) -> None:
        self._writer.abandon()


class _Folder:
    """Numbered files, which are where they belong already."""

    def __init__(self, order: Order) -> None:
        self._order = order

    def take(self, store: Store) -> None:
        """Nothing of it is in any store."""

    def finish(self) -> None:
        settings = sequence_settings(self._order, ending_of(self._order))
        with writing(settings.folder):
            describe(settings)
            files = sum(1 for _ in settings.folder.iterdir()) - 1
        if files != len(self._order.outputs):
            raise RetimeError(
                f"{self._order.name}: there are {files} files, not {len(self._order.outputs)}"
            )

    def abandon(self) -> None:
        """The files stay until the render is gone on with."""
