"""Every output frame encoded in order, for codecs whose pictures lean on each other."""

from __future__ import annotations

from typing import TYPE_CHECKING

from msgspec.structs import replace

from retime.film.scanning import Scanning
from retime.film.timecode import label
from retime.media.encoder import PictureEncoder
from retime.media.flagged_encoder import FlaggedEncoder, Showing
from retime.render.composer import Composer
from retime.render.cursor import Cursor
from retime.render.files import Files

if TYPE_CHECKING:
    from collections.abc import Mapping

    from av.video.frame import VideoFrame

    from retime.edition.plates import PlateSource
    from retime.media.encoder import EncoderSettings
    from retime.render.files import Outlet
    from retime.render.order import Order
    from retime.render.recipe import Place

__all__ = ["Streamed", "stream_encoder"]


def stream_encoder(settings: EncoderSettings, order: Order) -> PictureEncoder | FlaggedEncoder:
    """Open the encoder of an order whose pictures lean on each other."""
    if order.flags is None:
        return PictureEncoder(_labelled(settings, order), order.work, order.starts())
    showing = Showing(
        runs=order.flags.runs,
        top_first=order.scanning is Scanning.TOP_FIRST,
        starts=order.flags.starts,
        first_frame=order.start,
        drop_frame=order.drop_frame,
    )
    return FlaggedEncoder(settings, showing, order.work)


def _labelled(settings: EncoderSettings, order: Order) -> EncoderSettings:
    """Return the settings with the first label, where groups of a disc's pictures carry labels."""
    codec = order.profile.codec
    if order.profile.disc is None or codec is None or codec.name != "mpeg2":
        return settings
    first = label(order.start, order.rate, drop=order.drop_frame)
    return replace(settings, options=(*settings.options, ("gop_timecode", first)))


class Streamed:
    """One deliverable with an encoder of its own."""

    def __init__(
        self,
        settings: EncoderSettings,
        order: Order,
        plates: Mapping[str, PlateSource],
        outlet: Outlet | None = None,
    ) -> None:
        """Open the encoder and the file; ``outlet`` opens what is to stand for the file."""
        self.order = order
        self._encoder = stream_encoder(settings, order)
        self._writer = (outlet or Files()).movie(order, self._encoder.template, None)
        self._composer = Composer(order.look(), plates)
        self._cursor = Cursor(order.pictures(), order.loops)

    @property
    def orders(self) -> list[Order]:
        """The deliverable, as those are told that make several."""
        return [self.order]

    @property
    def written(self) -> int:
        """How many output frames stand in the file."""
        return self._writer.written

    def wants(self, place: Place) -> bool:
        """Tell whether the deliverable shows a film frame."""
        return self._cursor.wants(place)

    def feed(self, place: Place, picture: VideoFrame) -> None:
        """Take the picture of a film frame, in the encoder's format."""
        self._composer.keep(place, picture)
        self._encode_ready(place)
        self._composer.release(self._cursor.oldest())

    def _encode_ready(self, place: Place | None) -> None:
        for times, recipe in self._cursor.ready(place):
            picture = self._composer.compose(recipe)
            for _ in range(times):
                for packet in self._encoder.encode(picture):
                    self._writer.write(packet)

    def finish(self) -> None:
        """Complete the file."""
        self._encode_ready(None)
        for packet in self._encoder.finish():
            self._writer.write(packet)
        self._writer.finish()
        self._encoder.close()
        self._composer.close()

    def abandon(self) -> None:
        """Close the file as it stands."""
        self._writer.abandon()
        self._encoder.close()
        self._composer.close()
