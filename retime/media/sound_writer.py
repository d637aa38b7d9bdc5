"""A track of sound on its way into a file: samples in, packets out, beside pictures or alone."""

from __future__ import annotations

from contextlib import closing
from fractions import Fraction
from typing import TYPE_CHECKING, Any, NamedTuple, cast

import av
import numpy as np
from av.audio.frame import AudioFrame
from msgspec import Struct

from retime.media.ahead import read_ahead
from retime.media.writing import flush_to_disk, writing

if TYPE_CHECKING:
    from collections.abc import Generator, Iterable, Iterator
    from pathlib import Path

    from av.audio.stream import AudioStream
    from av.container import OutputContainer
    from av.packet import Packet
    from numpy.typing import NDArray

__all__ = ["SoundSettings", "SoundTrack", "write_sound"]

_ENCODERS = {
    ("pcm", 16): ("pcm_s16le", "s16"),
    ("pcm", 24): ("pcm_s24le", "s32"),
    ("pcm", 32): ("pcm_s32le", "s32"),
    ("flac", 16): ("flac", "s16"),
    ("flac", 24): ("flac", "s32"),
    ("aac", None): ("aac", "fltp"),
    ("ac3", None): ("ac3", "fltp"),
}
_FORMATS = {"wav": "wav", "flac": "flac", "ac3": "ac3", "m4a": "ipod"}
_AHEAD = Fraction(1, 2)  # seconds of sound that go before their pictures
_READY = 1 << 22  # bytes that are coded before the pictures want them


class SoundSettings(Struct, frozen=True, kw_only=True):
    """How a track is coded: ``bits`` of a sample, or ``bit_rate`` in bits a second.

    ``language`` is a code of ISO 639-2.
    """

    codec: str
    rate: int
    layout: str
    bits: int | None = None
    bit_rate: int | None = None
    language: str | None = None


class _Coded(NamedTuple):
    """Packets, and how many samples they and all before them hold, but for an encoder's delay."""

    packets: list[Packet[AudioStream]]
    samples: int


class SoundTrack:
    """A track's samples, made and coded in a thread of their own, ahead of when they are needed.

    Samples of full scale 1 become integers by rounding; none is dithered, so that what was PCM
    comes out as it went in. Those beyond full scale are cut there.
    """

    def __init__(self, settings: SoundSettings, blocks: Iterable[NDArray[np.float64]]) -> None:
        """Take the samples, in blocks of shape (samples, channels)."""
        self.settings = settings
        self.written = 0
        self._encoder, self._format = _ENCODERS[settings.codec, settings.bits]
        self._blocks = blocks
        self._coming: Generator[_Coded] | None = None

    def join(self, container: OutputContainer) -> None:
        """Add a stream to a file that is just opened; it must outlast the track."""
        settings = self.settings
        stream = cast("AudioStream", container.add_stream(self._encoder, rate=settings.rate))
        stream.layout = settings.layout
        stream.format = self._format
        if settings.bit_rate is not None:
            stream.bit_rate = settings.bit_rate
        if settings.language is not None:
            stream.metadata["language"] = settings.language
        self._coming = read_ahead(self._coded(stream), _weight, _READY)

    def until(self, time: Fraction | None) -> Iterator[Packet[AudioStream]]:
        """Yield the packets of sound up to a little after ``time`` seconds; all for None."""
        if self._coming is None:
            raise AssertionError("the track has joined no file")
        while time is None or self.written < (time + _AHEAD) * self.settings.rate:
            coded = next(self._coming, None)
            if coded is None:
                break
            self.written = coded.samples
            yield from coded.packets

    def close(self) -> None:
        """Let go of the samples that were not asked for; the file may be closed then."""
        if self._coming is not None:
            self._coming.close()

    def _coded(self, stream: AudioStream) -> Generator[_Coded]:
        samples = 0
        for block in self._blocks:
            packets = stream.encode(self._frame(block, samples))
            samples += len(block)
            yield _Coded(packets, samples)
        yield _Coded(stream.encode(None), samples)

    def _frame(self, block: NDArray[np.float64], first: int) -> AudioFrame:
        settings = self.settings
        array: NDArray[Any]
        if self._format == "fltp":
            array = np.ascontiguousarray(block.T, np.float32)
        else:
            array = self._whole(block).reshape(1, -1)
        frame = AudioFrame.from_ndarray(array, format=self._format, layout=settings.layout)
        frame.sample_rate = settings.rate
        frame.time_base = Fraction(1, settings.rate)
        frame.pts = first
        return frame

    def _whole(self, block: NDArray[np.float64]) -> NDArray[np.signedinteger]:
        """Return samples as integers; those of 24 bits stand in the upper ones of 32."""
        bits = self.settings.bits or 0
        scale = 1 << (bits - 1)
        whole = np.rint(block * scale)
        if whole.max(initial=0) >= scale or whole.min(initial=0) < -scale:
            whole = np.clip(whole, -scale, scale - 1)
        kind = np.int16 if self._format == "s16" else np.int32
        room = (16 if self._format == "s16" else 32) - bits
        return np.ascontiguousarray(whole.astype(kind)) << room


def _weight(coded: _Coded) -> int:
    return sum(packet.size for packet in coded.packets)


def write_sound(path: Path, ending: str, track: SoundTrack) -> None:
    """Write a track into a file of its own, of the kind that an ending names."""
    kind = _FORMATS[ending]
    with writing(path), av.open(str(path), "w", format=kind) as container, closing(track):
        track.join(container)
        for packet in track.until(None):
            container.mux(packet)
    flush_to_disk(path)
