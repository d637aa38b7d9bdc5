"""Where the coded pictures of an order go: the files that it asks for, or what stands for them."""

from __future__ import annotations

from typing import TYPE_CHECKING, Protocol

from retime.media.movie_writer import MovieSettings, MovieWriter
from retime.media.sequence_writer import SequenceSettings, SequenceWriter

if TYPE_CHECKING:
    from av.packet import Packet
    from av.video.stream import VideoStream

    from retime.render.order import Order

__all__ = [
    "Files",
    "Nowhere",
    "Outlet",
    "PacketWriter",
    "Writer",
    "movie_writer",
    "sequence_settings",
    "sequence_writer",
]


class Writer(Protocol):
    """What takes coded pictures; ``written`` are the output frames, or packets, that it has."""

    written: int

    def repeat(self, packet: Packet[VideoStream], times: int) -> None:
        """Write a coded picture ``times`` times in a row; it must stand alone."""

    def finish(self) -> None:
        """Complete what is written, and flush it to disk."""

    def abandon(self) -> None:
        """Let go of it as it stands."""


class PacketWriter(Writer, Protocol):
    """What also takes packets of pictures that lean on each other."""

    def write(self, packet: Packet[VideoStream]) -> None:
        """Write a packet at the times that its encoder gave it."""


class Outlet(Protocol):
    """Opens the writers of the orders that one encoder's pictures go into."""

    def movie(self, order: Order, template: VideoStream, tag: str | None) -> PacketWriter:
        """Open a movie; ``tag`` is the FourCC where the codec has variants."""

    def sequence(self, order: Order, ending: str) -> Writer:
        """Open numbered files, which end in ``ending``."""


class Nowhere:
    """Stands for the file of a deliverable that has failed, beside others that have not."""

    written = 0

    def repeat(self, packet: Packet[VideoStream], times: int) -> None:
        """Let it pass."""

    def finish(self) -> None:
        """Let it pass."""

    def abandon(self) -> None:
        """Let it pass."""


class Files:
    """The files themselves."""

    def movie(self, order: Order, template: VideoStream, tag: str | None) -> MovieWriter:
        """Open the movie file."""
        return movie_writer(order, template, tag)

    def sequence(self, order: Order, ending: str) -> SequenceWriter:
        """Open the folder."""
        return sequence_writer(order, ending)


def movie_writer(order: Order, template: VideoStream, tag: str | None) -> MovieWriter:
    """Open the movie file of an order; ``tag`` is the FourCC where the codec has variants."""
    return MovieWriter(
        MovieSettings(
            path=order.work,
            container=order.container,
            rate=order.rate,
            sample_aspect=order.picture.sample_aspect,
            tag=tag,
            raster=(order.picture.width, order.picture.height),
            timecode=order.timecode,
            chapters=order.chapters,
            runtime=len(order.outputs) / order.rate.fps,
            metadata=order.metadata,
        ),
        template,
        order.company(),
    )


def sequence_writer(order: Order, ending: str) -> SequenceWriter:
    """Open the folder of an order's numbered files, which end in ``ending``."""
    return SequenceWriter(sequence_settings(order, ending))


def sequence_settings(order: Order, ending: str, piece: range | None = None) -> SequenceSettings:
    """Return how an order's numbered files are called; ``piece`` are those that are written now."""
    return SequenceSettings(
        folder=order.work,
        stem=order.final.name,
        ending=ending,
        rate=order.rate,
        drop_frame=order.drop_frame,
        links=order.profile.links,
        timecode=order.timecode,
        about=order.metadata,
        piece=piece,
    )
