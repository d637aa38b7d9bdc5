"""How loud a track is: EBU R 128, as FFmpeg's filter ebur128 measures it (ITU-R BS.1770)."""

from __future__ import annotations

from errno import EAGAIN
from typing import TYPE_CHECKING, NamedTuple

import av
import numpy as np
from av.audio.frame import AudioFrame
from av.audio.layout import AudioLayout
from av.filter import Graph

from retime.follow.true_peak import TruePeak

if TYPE_CHECKING:
    from collections.abc import Generator, Iterable

    from av.filter.context import FilterContext
    from numpy.typing import NDArray

__all__ = ["Loudness", "Meter"]

_SILENT = -70.0  # LUFS: the absolute gate, below which there is nothing to tell


class Loudness(NamedTuple):
    """``integrated`` in LUFS, ``spread`` in LU, ``peak`` in dBTP; None for silence.

    ``clipped`` counts samples beyond full scale, which integers cut there.
    """

    integrated: float | None
    spread: float
    peak: float | None
    clipped: int

    def __str__(self) -> str:
        """Return it in a sentence."""
        told = "silent" if self.integrated is None else f"{self.integrated:.1f} LUFS"
        told += f", range {self.spread:.1f} LU"
        if self.peak is not None:
            told += f", true peak {self.peak:.1f} dBTP"
        return told + (f", {self.clipped} samples clipped" if self.clipped else "")


class Meter:
    """Measures a track as it passes."""

    def __init__(self, rate: int, layout: str) -> None:
        """Take the track's samples a second, and FFmpeg's name for its channels."""
        self._rate, self._layout = rate, layout
        graph = Graph()
        self._source = graph.add_abuffer(sample_rate=rate, format="dbl", layout=layout)
        meter = graph.add("ebur128", "metadata=1:framelog=quiet")
        self._sink = graph.add("abuffersink")
        self._source.link_to(meter)
        meter.link_to(self._sink)
        graph.configure()
        self._graph = graph
        self._true_peak = TruePeak(rate, AudioLayout(layout).nb_channels)
        self._at = self._clipped = 0
        self._told: dict[str, str] = {}

    def passing(self, blocks: Iterable[NDArray[np.float64]]) -> Generator[NDArray[np.float64]]:
        """Yield blocks of shape (samples, channels) as they are, and measure them."""
        for block in blocks:
            if block.max(initial=0) > 1 or block.min(initial=0) < -1:
                self._clipped += int(np.count_nonzero(np.abs(block) > 1))
            self._true_peak.see(block)
            array = np.ascontiguousarray(block).reshape(1, -1)
            frame = AudioFrame.from_ndarray(array, format="dbl", layout=self._layout)
            frame.sample_rate, frame.pts = self._rate, self._at
            self._at += len(block)
            self._source.push(frame)
            self._told |= _told(self._sink)
            yield block

    def loudness(self) -> Loudness:
        """Return how loud all was that has passed; nothing may pass any more."""
        self._source.push(None)
        return _read(self._told | _told(self._sink), self._true_peak.peak(), self._clipped)


def _told(sink: FilterContext) -> dict[str, str]:
    """Return what the meter has said last."""
    frame = None
    while True:
        try:
            frame = sink.pull()
        except av.EOFError:
            break
        except av.FFmpegError as error:
            if error.errno != EAGAIN:
                raise
            break
    return {} if frame is None else dict(frame.metadata)


def _read(told: dict[str, str], peak: float, clipped: int) -> Loudness:
    integrated = float(told.get("lavfi.r128.I", _SILENT))
    return Loudness(
        integrated=None if integrated <= _SILENT else integrated,
        spread=float(told.get("lavfi.r128.LRA", 0)),
        peak=20 * float(np.log10(peak)) if peak > 0 else None,
        clipped=clipped,
    )
