"""Where the pictures of a piece go: packets into stores, numbered files to where they belong."""

from __future__ import annotations

from typing import TYPE_CHECKING

import xxhash
from msgspec import Struct, field

from retime.errors import OutputError
from retime.media.sequence_writer import SequenceWriter
from retime.media.writing import writing
from retime.render.damage import DamagedFrame  # noqa: TC001 - a journal is decoded by it
from retime.render.files import sequence_settings
from retime.render.store import StoreWriter, file_digest

if TYPE_CHECKING:
    from collections.abc import Mapping
    from pathlib import Path

    from av.packet import Packet
    from av.video.stream import VideoStream

    from retime.render.order import Order

__all__ = ["Made", "PieceOutlet", "ending_of", "files_digest", "is_whole"]


class Made(Struct, frozen=True, kw_only=True):
    """What a piece left behind.

    ``stores`` are the names of files in the folder of pieces, by the orders that they hold;
    ``digests`` are of those files, and ``folders`` of an order's numbered files, by its name.
    ``damaged`` are frames that something else was shown for.
    """

    stores: dict[str, str] = field(default_factory=dict)
    digests: dict[str, str] = field(default_factory=dict)
    folders: dict[str, str] = field(default_factory=dict)
    damaged: list[DamagedFrame] = field(default_factory=list)


class PieceOutlet:
    """Opens what one encoder's pictures go into; orders of movies share one store.

    ``whole`` are the orders that the piece is of, by their names.
    """

    def __init__(self, store: Path, whole: Mapping[str, Order]) -> None:
        """Open nothing yet."""
        self._path = store
        self._whole = whole
        self._store: StoreWriter | None = None
        self._open = 0
        self._stored: list[str] = []
        self._folders: dict[str, range] = {}

    def movie(self, order: Order, template: VideoStream, tag: str | None) -> _Stored:  # noqa: ARG002 - a movie's own affair
        """Open an order's share of the store."""
        if self._store is None:
            self._store = StoreWriter(self._path)
        self._store.begin(order.name, template.codec_context.extradata or b"")
        self._stored.append(order.name)
        self._open += 1
        return _Stored(self, self._store, order.name)

    def sequence(self, order: Order, ending: str) -> SequenceWriter:
        """Open an order's folder for the numbers of the piece."""
        numbers = numbers_of(self._whole[order.name], order.outputs)
        self._folders[order.name] = numbers
        return SequenceWriter(sequence_settings(self._whole[order.name], ending, numbers))

    def closed(self, *, complete: bool) -> None:
        """Take that one more of those who write into the store has ended."""
        self._open -= 1
        if self._store is None:
            return
        if not complete:
            self._store.abandon()
            self._store = None
        elif not self._open:
            self._store.finish()

    def made(self) -> Made:
        """Return what was made, when all of it is complete."""
        name, store = self._path.name, self._store
        return Made(
            stores=dict.fromkeys(self._stored, name) if store else {},
            digests={name: store.digest} if store else {},
            folders={
                order: files_digest(self._whole[order], numbers)
                for order, numbers in self._folders.items()
            },
        )


class _Stored:
    """One order's pictures on their way into a store."""

    def __init__(self, outlet: PieceOutlet, store: StoreWriter, name: str) -> None:
        self._outlet = outlet
        self._store = store
        self._name = name
        self._ended = False
        self.written = 0

    def repeat(self, packet: Packet[VideoStream], times: int) -> None:
        """Write a coded picture that is shown ``times`` times in a row."""
        self._store.add(self._name, packet, times)
        self.written += times

    def write(self, packet: Packet[VideoStream]) -> None:
        """Write a packet, whose times are kept."""
        self._store.add(self._name, packet, 1)
        self.written += 1

    def finish(self) -> None:
        """Complete the store, if it is the last to do so."""
        self._end(complete=True)

    def abandon(self) -> None:
        """Let go of the store."""
        self._end(complete=False)

    def _end(self, *, complete: bool) -> None:
        if not self._ended:
            self._ended = True
            self._outlet.closed(complete=complete)


def numbers_of(whole: Order, outputs: range) -> range:
    """Return which of an order's numbered files a piece's output frames are."""
    first = outputs.start - whole.outputs.start
    return range(first, first + len(outputs))


def ending_of(order: Order) -> str:
    """Return the ending of an order's numbered files."""
    return order.profile.codec.ending if order.profile.codec else ""


def files_digest(order: Order, numbers: range) -> str:
    """Return a digest of numbered files; raises OutputError where one cannot be read."""
    settings = sequence_settings(order, ending_of(order))
    digest = xxhash.xxh3_128()
    for number in numbers:
        path = settings.path(number)
        with writing(path, "cannot be read any more"):
            data = path.read_bytes()
        digest.update(len(data).to_bytes(8, "big"))
        digest.update(data)
    return digest.hexdigest()


def is_whole(
    made: Made, folder: Path, orders: Mapping[str, Order], outputs: Mapping[str, range]
) -> bool:
    """Tell whether all that a piece left behind is there as it was, for each of its ``outputs``."""
    if {*made.stores, *made.folders} != set(outputs):
        return False
    try:
        files = all(file_digest(folder / name) == digest for name, digest in made.digests.items())
        return files and all(
            files_digest(orders[name], numbers_of(orders[name], outputs[name])) == digest
            for name, digest in made.folders.items()
        )
    except OutputError:
        return False
