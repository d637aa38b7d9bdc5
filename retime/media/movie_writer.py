"""Writes one movie file, packet by packet, at exact times."""

from __future__ import annotations

from contextlib import suppress
from fractions import Fraction
from typing import TYPE_CHECKING, NamedTuple, Protocol

import av
from msgspec import Struct, field

from retime.film.rounding import floor_of, half_up
from retime.media.matroska_aspect import write_display_aspect
from retime.media.mov_fields import write_field_order
from retime.media.writeback import Writeback
from retime.media.writing import flush_to_disk, writing

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence
    from pathlib import Path

    from av.container import OutputContainer
    from av.container.core import Chapter
    from av.packet import Packet
    from av.stream import Stream
    from av.video.stream import VideoStream

    from retime.film.speed import Rate

__all__ = ["Companion", "MovieSettings", "MovieWriter", "NamedPlace"]

_FORMATS = {
    "mkv": "matroska",
    "mov": "mov",
    "mp4": "mp4",
    "mxf": "mxf",
    "m2v": "mpeg2video",
    "264": "h264",
    "mpg": "vob",
    "ts": "mpegts",
    "m2ts": "mpegts",
}
_OPTIONS = {
    # An index at the front lets a viewing copy start before it is fully loaded.
    "mp4": {"movflags": "faststart"},
    "mkv": {"write_crc32": "0"},
    # Any edit rate is written exactly, but what wraps each picture has codes for those of
    # television and 24 alone: the others, those of ST 428-21 among them, go without.
    "mxf": {"strict": "unofficial"},
    # A disc's program stream: packs of one sector, and the rate at which it is read.
    "mpg": {"muxrate": "10080000", "packetsize": "2048"},
    # Packets of 192 bytes, each with its time of arrival.
    "m2ts": {"mpegts_m2ts_mode": "1"},
}


# Where subtitles have come to their end, FFmpeg keeps pictures until there are ten seconds of them.
_KEPT = {"max_interleave_delta": "2000000"}  # microseconds: more than sound goes ahead
_OFTEN = Fraction(1, 4)  # seconds of pictures that companions are brought along for at once


class NamedPlace(NamedTuple):
    """A chapter: what it is called, and when it begins, in seconds."""

    name: str
    begin: Fraction


class Companion(Protocol):
    """What is written beside the pictures into one file: sound, or subtitles."""

    def join(self, container: OutputContainer) -> None:
        """Add a stream to a file that is just opened."""

    def until(self, time: Fraction | None) -> Iterator[Packet[Stream]]:
        """Yield the packets that begin before ``time`` seconds, all that are left for None."""

    def close(self) -> None:
        """Let go of everything, whether all was written or not, before the file is closed."""


class MovieSettings(Struct, frozen=True, kw_only=True):
    """How a file is to describe its pictures; ``metadata`` is for people to read.

    ``timecode`` is the label of the first output frame, one that exists at the rate: MOV, MP4 and
    MXF have a track for it, Matroska a tag. None leaves it out, but MXF then counts from 0.
    ``chapters`` are rising, ``runtime`` is where the last of them ends, in seconds.
    """

    path: Path
    container: str
    rate: Rate
    sample_aspect: Fraction | None
    tag: str | None
    raster: tuple[int, int]
    timecode: str | None = None
    chapters: tuple[NamedPlace, ...] = ()
    runtime: Fraction = Fraction(0)
    metadata: dict[str, str] = field(default_factory=dict)


class MovieWriter:
    """A movie file being written; nothing is final until ``finish`` has flushed it to disk."""

    def __init__(
        self,
        settings: MovieSettings,
        template: VideoStream,
        companions: Sequence[Companion] = (),
    ) -> None:
        """Open the file with one video stream like ``template``'s, and its companions'."""
        self._settings = settings
        self._companions = companions
        self._tick = 1 / settings.rate.fps
        self.written = self._accompanied = 0
        self._field_order = template.codec_context.field_order
        self._writeback = Writeback(settings.path)
        try:
            with writing(settings.path):
                self._container = self._begun(template)
                self._accompany()
        except BaseException:
            self._let_go()
            raise

    def _begun(self, template: VideoStream) -> OutputContainer:
        settings = self._settings
        container = av.open(
            str(settings.path),
            "w",
            format=_FORMATS[settings.container],
            options=_KEPT | _OPTIONS.get(settings.container, {}),
        )
        container.metadata.update(settings.metadata)
        self._stream = self._opened(container, template)
        for companion in self._companions:
            companion.join(container)
        if settings.chapters:
            container.set_chapters(_chapters(settings))
        return container

    def _opened(self, container: OutputContainer, template: VideoStream) -> VideoStream:
        stream = container.add_stream_from_template(template)
        # A stream made from a template inherits the template's rate and loses its FourCC.
        stream.codec_context.framerate = self._settings.rate.fps
        stream.time_base = self._tick
        if self._settings.sample_aspect is not None:
            stream.codec_context.sample_aspect_ratio = self._settings.sample_aspect
        if self._settings.tag is not None:
            stream.codec_context.codec_tag = self._settings.tag
        if self._settings.timecode is not None:
            stream.metadata["timecode"] = self._settings.timecode
        return stream

    def repeat(self, packet: Packet[VideoStream], times: int) -> None:
        """Write a coded picture ``times`` times in a row; it must stand alone."""
        packet.stream = self._stream
        with writing(self._settings.path):
            for _ in range(times):
                packet.time_base = self._tick
                packet.pts = packet.dts = self.written
                packet.duration = 1
                self._container.mux_one(packet)
                self.written += 1
                self._accompany()
        self._writeback.add(packet.size * times)

    def write(self, packet: Packet[VideoStream]) -> None:
        """Write a packet at the times that its encoder gave it, counted in output frames."""
        packet.stream = self._stream
        with writing(self._settings.path):
            self._container.mux_one(packet)
            self.written += 1
            self._accompany()

    def _accompany(self) -> None:
        """Bring the companions up to the pictures, so that little waits for its turn."""
        if self.written < self._accompanied:
            return
        self._accompanied = self.written + max(1, floor_of(_OFTEN / self._tick))
        for companion in self._companions:
            for packet in companion.until(self._accompanied * self._tick):
                self._container.mux_one(packet)

    def finish(self) -> None:
        """Complete the file and flush it to disk."""
        path = self._settings.path
        with writing(path):
            for companion in self._companions:
                for packet in companion.until(None):
                    self._container.mux_one(packet)
                companion.close()
            self._container.close()
            self._writeback.stop()
            if self._settings.container == "mkv":
                write_display_aspect(path, self._settings.raster, self._settings.sample_aspect)
            if self._settings.container == "mov":
                write_field_order(path, self._field_order)
            flush_to_disk(path)

    def abandon(self) -> None:
        """Close the file as it stands; its owner removes it."""
        self._let_go()
        # The file goes anyway: what it lacks does not matter any more.
        with suppress(av.FFmpegError, OSError, ValueError):
            self._container.close()

    def _let_go(self) -> None:
        for companion in self._companions:
            companion.close()
        self._writeback.stop()


_NANOSECOND = Fraction(1, 1_000_000_000)  # Matroska's unit for chapters; MOV rounds to its own


def _chapters(settings: MovieSettings) -> list[Chapter]:
    """Return the chapters as PyAV takes them, each up to the next."""
    begins = [half_up(one.begin / _NANOSECOND) for one in settings.chapters]
    ends = [*begins[1:], half_up(settings.runtime / _NANOSECOND)]
    return [
        {
            "id": number,
            "start": begin,
            "end": end,
            "time_base": _NANOSECOND,
            "metadata": {"title": one.name},
        }
        for number, (one, begin, end) in enumerate(
            zip(settings.chapters, begins, ends, strict=True), 1
        )
    ]
