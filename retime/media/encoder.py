"""One open encoder, apart from any file: pictures in, packets out."""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING

import av
from av.video.frame import PictureType
from av.video.stream import VideoStream
from msgspec import Struct

from retime.errors import OutputError
from retime.film.scanning import Scanning
from retime.media.field_marks import FIELD_ORDERS, FieldMarker, scanning_options
from retime.media.writing import writing

if TYPE_CHECKING:
    from collections.abc import Collection, Iterator, Mapping
    from pathlib import Path

    from av.packet import Packet

    from retime.film.speed import Rate
    from retime.light.format import PictureFormat

__all__ = ["EncoderSettings", "PictureEncoder"]


class EncoderSettings(Struct, frozen=True, kw_only=True):
    """What an encoder is told; equal settings mean interchangeable coded pictures.

    ``rate`` is told to encoders whose rate control or stream headers want one; for an encoder
    whose pictures serve several rates it is None. ``scanning`` is how the frames that are fed are
    scanned: stream and frames are made to say so, whatever the frames say themselves.
    """

    encoder: str
    options: tuple[tuple[str, str], ...]
    tag: str | None
    threads: int
    picture: PictureFormat
    rate: Rate | None
    scanning: Scanning = Scanning.PROGRESSIVE


class PictureEncoder:
    """An encoder that numbers its pictures 0, 1, 2... and gives packets with those numbers."""

    def __init__(
        self, settings: EncoderSettings, path: Path, starts: Collection[int] = frozenset()
    ) -> None:
        """Open the encoder; ``path`` is the deliverable that an error speaks of.

        ``starts`` are the numbers of pictures that begin a group, coded without reference to any
        other; whether its group is closed is for the settings to say.
        """
        self.settings = settings
        self._starts = starts
        self._path = path
        self._tick = Fraction(1) if settings.rate is None else 1 / settings.rate.fps
        with writing(path, "cannot be encoded so"):
            self._marker = FieldMarker(settings.picture, settings.scanning)
            self._container = av.open("/dev/null", "w", format="null")
            self._stream = self._opened()
        self._fed = 0

    def _opened(self) -> VideoStream:
        settings, picture = self.settings, self.settings.picture
        options = scanning_options(settings.encoder, dict(settings.options), settings.scanning)
        stream = self._container.add_stream(settings.encoder, rate=1 / self._tick, options=options)
        if not isinstance(stream, VideoStream):
            raise TypeError(settings.encoder)
        context = stream.codec_context
        context.width, context.height = picture.width, picture.height
        context.pix_fmt = picture.pixel_format
        context.time_base = self._tick
        context.field_order = FIELD_ORDERS[settings.scanning]
        context.color_primaries = picture.primaries
        context.color_trc = picture.transfer
        context.colorspace = picture.matrix
        context.color_range = picture.range
        if picture.sample_aspect is not None:
            context.sample_aspect_ratio = picture.sample_aspect
        if settings.tag is not None:
            context.codec_tag = settings.tag
        context.thread_type = "AUTO"
        context.thread_count = settings.threads
        self._container.start_encoding()
        self._check_options(context.options)
        return stream

    def _check_options(self, left: Mapping[str, str]) -> None:
        """Refuse options that FFmpeg gave back: it takes no notice of those that it knows not."""
        if left:
            names = ", ".join(left)
            text = f"the encoder {self.settings.encoder} knows no option {names}"
            raise OutputError(self._path, text, "correct the options in its profile")

    @property
    def template(self) -> VideoStream:
        """The stream that a file's own stream is made after."""
        return self._stream

    def encode(self, frame: av.VideoFrame) -> Iterator[Packet[VideoStream]]:
        """Feed one picture, already in the encoder's format; yield the packets that are ready."""
        frame = self._marker.mark(frame)
        frame.pts = self._fed
        frame.time_base = self._tick
        # A scan's own picture types are no business of ours.
        frame.pict_type = PictureType.I if self._fed in self._starts else PictureType.NONE
        # Some encoders write a picture's own tags into it, and conversion may have guessed them.
        picture = self.settings.picture
        frame.color_primaries, frame.color_trc = picture.primaries, picture.transfer
        frame.colorspace, frame.color_range = picture.matrix, picture.range
        self._fed += 1
        with writing(self._path, "encoding failed"):
            packets = self._stream.encode(frame)
        yield from packets

    def finish(self) -> Iterator[Packet[VideoStream]]:
        """Yield what the encoder still holds."""
        with writing(self._path, "encoding failed"):
            packets = self._stream.encode(None)
        yield from packets

    def close(self) -> None:
        """Let the encoder go."""
        self._container.close()
