"""Subtitles on their way into a movie file, as plain text."""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING, NamedTuple

import av

from retime.film.rounding import half_up

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from av.container import OutputContainer
    from av.packet import Packet
    from av.stream import Stream

__all__ = ["HOLDS_SUBTITLES", "ShownText", "SubtitleTrack"]

HOLDS_SUBTITLES = {"mkv": "subrip", "mov": "mov_text", "mp4": "mov_text"}
"""FFmpeg's names for the subtitles that a container carries."""

_MILLISECOND = Fraction(1, 1000)


class ShownText(NamedTuple):
    """A text and when it stands, in seconds."""

    begin: Fraction
    end: Fraction
    text: str


class SubtitleTrack:
    """A stream of subtitles; MOV and MP4 take each with its length before it (3GPP TS 26.245)."""

    def __init__(self, container: str, shown: Sequence[ShownText], language: str | None) -> None:
        """Take the texts, rising; those of no length are left out."""
        self._codec = HOLDS_SUBTITLES[container]
        self._shown = [one for one in shown if one.end > one.begin and one.text]
        self._language = language
        self._stream: Stream | None = None

    def join(self, container: OutputContainer) -> None:
        """Add a stream to a file that is just opened."""
        self._stream = container.add_mux_stream(self._codec)
        self._stream.time_base = _MILLISECOND
        if self._language is not None:
            self._stream.metadata["language"] = self._language

    def until(self, time: Fraction | None) -> Iterator[Packet[Stream]]:  # noqa: ARG002
        """Yield all packets, whatever ``time``: they are few, and wait for their turn in the file.

        With the first of a stream PyAV logs an error of its own, which is not to be taken for one
        of whatever is decoded meanwhile; so none is left for later.
        """
        left, self._shown = self._shown, []
        for one in left:
            yield self._packet(one)

    def close(self) -> None:
        """Let go of the texts."""
        self._shown = []

    def _packet(self, one: ShownText) -> Packet[Stream]:
        data = one.text.encode()
        if self._codec == "mov_text":
            data = len(data).to_bytes(2, "big") + data
        packet: Packet[Stream] = av.Packet(data)
        if self._stream is None:
            raise AssertionError("the track has joined no file")
        packet.stream = self._stream
        packet.time_base = _MILLISECOND
        begin, end = half_up(one.begin * 1000), half_up(one.end * 1000)
        packet.pts = packet.dts = begin
        packet.duration = max(1, end - begin)
        return packet
