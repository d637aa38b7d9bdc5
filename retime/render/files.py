"""Opens the writer that an order asks for."""

from __future__ import annotations

from typing import TYPE_CHECKING

from retime.media.movie_writer import MovieSettings, MovieWriter
from retime.media.sequence_writer import SequenceSettings, SequenceWriter

if TYPE_CHECKING:
    from av.video.stream import VideoStream

    from retime.render.order import Order

__all__ = ["movie_writer", "sequence_writer"]


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
    return SequenceWriter(
        SequenceSettings(
            folder=order.work,
            stem=order.final.name,
            ending=ending,
            rate=order.rate,
            drop_frame=order.drop_frame,
            links=order.profile.links,
            timecode=order.timecode,
            about=order.metadata,
        )
    )
