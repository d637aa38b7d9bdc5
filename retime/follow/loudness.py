"""How loud a track is: EBU R 128, as FFmpeg's filter ebur128 measures it (ITU-R BS.1770)."""

from __future__ import annotations

from errno import EAGAIN
from typing import TYPE_CHECKING, NamedTuple

import av
import numpy as np
from av.audio.frame import AudioFrame
from av.filter import Graph

if TYPE_CHECKING:
    from collections.abc import Iterable

    from av.filter.context import FilterContext
    from numpy.typing import NDArray

__all__ = ["Loudness", "loudness_of"]

_SILENT = -70.0  # LUFS: the absolute gate, below which there is nothing to tell


class Loudness(NamedTuple):
    """``integrated`` in LUFS, ``spread`` in LU, ``peak`` in dBTP; None for silence.

    ``clipped`` counts samples beyond full scale, which integers cut there.
    """

    integrated: float | None
    spread: float
    peak: float | None
    clipped: int


def loudness_of(blocks: Iterable[NDArray[np.float64]], rate: int, layout: str) -> Loudness:
    """Measure a track, given in blocks of shape (samples, channels)."""
    graph = Graph()
    source = graph.add_abuffer(sample_rate=rate, format="dblp", layout=layout)
    meter = graph.add("ebur128", "metadata=1:peak=true:framelog=quiet")
    sink = graph.add("abuffersink")
    source.link_to(meter)
    meter.link_to(sink)
    graph.configure()
    at = clipped = 0
    told: dict[str, str] = {}
    for block in blocks:
        clipped += int(np.count_nonzero(np.abs(block) > 1))
        frame = AudioFrame.from_ndarray(np.ascontiguousarray(block.T), format="dblp", layout=layout)
        frame.sample_rate, frame.pts = rate, at
        at += len(block)
        source.push(frame)
        told |= _told(sink)
    source.push(None)
    told |= _told(sink)
    return _read(told, clipped)


def _told(sink: FilterContext) -> dict[str, str]:
    """Return what the meter has said last."""
    told: dict[str, str] = {}
    while True:
        try:
            frame = sink.pull()
        except av.EOFError:
            return told
        except av.FFmpegError as error:
            if error.errno == EAGAIN:
                return told
            raise
        told = dict(frame.metadata)


def _read(told: dict[str, str], clipped: int) -> Loudness:
    integrated = float(told.get("lavfi.r128.I", _SILENT))
    peaks = [
        float(value) for key, value in told.items() if key.startswith("lavfi.r128.true_peaks_ch")
    ]
    loudest = max(peaks, default=0.0)
    return Loudness(
        integrated=None if integrated <= _SILENT else integrated,
        spread=float(told.get("lavfi.r128.LRA", 0)),
        peak=20 * float(np.log10(loudest)) if loudest > 0 else None,
        clipped=clipped,
    )
