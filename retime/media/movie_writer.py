"""Writes one movie file, packet by packet, at exact times."""

from __future__ import annotations

from contextlib import suppress
from typing import TYPE_CHECKING

import av
from msgspec import Struct, field

from retime.media.matroska_aspect import write_display_aspect
from retime.media.writeback import Writeback
from retime.media.writing import flush_to_disk, writing

if TYPE_CHECKING:
    from fractions import Fraction
    from pathlib import Path

    from av.packet import Packet
    from av.video.stream import VideoStream

    from retime.film.speed import Rate

__all__ = ["MovieSettings", "MovieWriter"]

_FORMATS = {"mkv": "matroska", "mov": "mov", "mp4": "mp4"}
# An index at the front lets a viewing copy start before it is fully loaded.
_OPTIONS = {"mp4": {"movflags": "faststart"}, "mkv": {"write_crc32": "0"}}


class MovieSettings(Struct, frozen=True, kw_only=True):
    """How a file is to describe its pictures; ``metadata`` is for people to read."""

    path: Path
    container: str
    rate: Rate
    sample_aspect: Fraction | None
    tag: str | None
    raster: tuple[int, int]
    metadata: dict[str, str] = field(default_factory=dict)


class MovieWriter:
    """A movie file being written; nothing is final until ``finish`` has flushed it to disk."""

    def __init__(self, settings: MovieSettings, template: VideoStream) -> None:
        """Open the file with one video stream like ``template``'s."""
        self._settings = settings
        self._tick = 1 / settings.rate.fps
        self.written = 0
        self._writeback = Writeback(settings.path)
        with writing(settings.path):
            self._container = av.open(
                str(settings.path),
                "w",
                format=_FORMATS[settings.container],
                options=_OPTIONS.get(settings.container, {}),
            )
            self._container.metadata.update(settings.metadata)
            self._stream = self._opened(template)

    def _opened(self, template: VideoStream) -> VideoStream:
        stream = self._container.add_stream_from_template(template)
        # A stream made from a template inherits the template's rate and loses its FourCC.
        stream.codec_context.framerate = self._settings.rate.fps
        stream.time_base = self._tick
        if self._settings.sample_aspect is not None:
            stream.codec_context.sample_aspect_ratio = self._settings.sample_aspect
        if self._settings.tag is not None:
            stream.codec_context.codec_tag = self._settings.tag
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
        self._writeback.add(packet.size * times)

    def write(self, packet: Packet[VideoStream]) -> None:
        """Write a packet at the times that its encoder gave it, counted in output frames."""
        packet.stream = self._stream
        with writing(self._settings.path):
            self._container.mux_one(packet)
        self.written += 1

    def finish(self) -> None:
        """Complete the file and flush it to disk."""
        path = self._settings.path
        with writing(path):
            self._container.close()
            self._writeback.stop()
            if self._settings.container == "mkv":
                write_display_aspect(path, self._settings.raster, self._settings.sample_aspect)
            flush_to_disk(path)

    def abandon(self) -> None:
        """Close the file as it stands; its owner removes it."""
        # The file goes anyway: what it lacks does not matter any more.
        with suppress(av.FFmpegError, OSError, ValueError):
            self._container.close()
        self._writeback.stop()
