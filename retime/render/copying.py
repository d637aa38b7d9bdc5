"""The copy route: a scan's coded pictures written as often as they are shown."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Generic, TypeVar

from retime.media.frame_header import prores_rate_code, prores_rated
from retime.render.containers import copy_tag
from retime.render.cursor import Cursor
from retime.render.files import movie_writer, sequence_writer
from retime.render.recipe import frames_of

if TYPE_CHECKING:
    from collections.abc import Callable

    from av.packet import Packet
    from av.video.stream import VideoStream

    from retime.media.facts import ScanFacts
    from retime.render.order import Order
    from retime.render.recipe import Place

__all__ = ["FileCopy", "PacketCopy"]


_T = TypeVar("_T")


class _Taken(Generic[_T]):
    """Coded pictures kept as long as a deliverable shows them, and written when it does."""

    def __init__(self, order: Order, write: Callable[[_T, int], None]) -> None:
        self._cursor = Cursor(order.pictures(), order.loops)
        self._write = write
        self._kept: dict[Place, _T] = {}

    def feed(self, place: Place, coded: _T) -> None:
        """Take the coded picture of a film frame, and write what can be."""
        if self._cursor.wants(place):
            self._kept[place] = coded
        for times, recipe in self._cursor.ready(place):
            (shown,) = frames_of(recipe)
            self._write(self._kept[shown], times)
        oldest = self._cursor.oldest()
        for old in [one for one in self._kept if oldest is None or one < oldest]:
            del self._kept[old]


class PacketCopy:
    """Copies packets of movie scans into one movie."""

    def __init__(
        self, order: Order, template: VideoStream, facts: ScanFacts, *, shared: bool
    ) -> None:
        """Open the movie; ``template`` is the first scan's stream, ``facts`` are that scan's.

        ``shared`` tells whether others, at other rates, are given the same packets.
        """
        self.order = order
        self._shared = shared
        self._writer = movie_writer(order, template, copy_tag(facts, order.container))
        self._taken = _Taken(order, self._writer.repeat)
        self._prores = prores_rate_code(order.rate) if facts.codec == "prores" else None

    @property
    def orders(self) -> list[Order]:
        """The deliverable, as those are told that make several."""
        return [self.order]

    @property
    def written(self) -> int:
        """How many output frames stand in the file."""
        return self._writer.written

    def feed(self, place: Place, coded: Packet[VideoStream] | Path) -> None:
        """Take the coded picture of a film frame."""
        if isinstance(coded, Path):
            return
        if self._prores is not None:
            coded = prores_rated(coded, self._prores, shared=self._shared)
        self._taken.feed(place, coded)

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
        self._taken = _Taken(order, self._write)

    @property
    def orders(self) -> list[Order]:
        """The deliverable, as those are told that make several."""
        return [self.order]

    @property
    def written(self) -> int:
        """How many output frames stand in the folder."""
        return self._writer.written

    def feed(self, place: Place, coded: Packet[VideoStream] | Path) -> None:
        """Take the file of a film frame."""
        if isinstance(coded, Path):
            self._taken.feed(place, coded)

    def _write(self, coded: Path, times: int) -> None:
        self._writer.repeat_bytes(coded.read_bytes(), times)

    def finish(self) -> None:
        """Complete the folder."""
        self._writer.finish()

    def abandon(self) -> None:
        """Leave the folder as it stands."""
        self._writer.abandon()
