"""A recording's samples, wherever they are asked for; silence before and after it.

Samples are given as floats of double precision, full scale being 1: integers of up to 32 bits and
floats of single precision come out of them as they went in.
"""

from __future__ import annotations

from collections import deque
from typing import TYPE_CHECKING, Protocol

import numpy as np

from retime.errors import ScanError
from retime.media.bridge import reading
from retime.media.countcache import state_of
from retime.media.sound_facts import only_sound, open_sound

if TYPE_CHECKING:
    from collections.abc import Generator, Iterator

    from av.audio.frame import AudioFrame
    from numpy.typing import NDArray

    from retime.media.sound_facts import SoundFacts

__all__ = ["SampleSource", "SoundReader"]

_KEPT = 1 << 18  # samples that may be asked for again: what overlaps at a joint, and more
_SCALES = {"u1": 1 << 7, "i2": 1 << 15, "i4": 1 << 31}


class SampleSource(Protocol):
    """Anything that gives samples by their numbers."""

    @property
    def channels(self) -> int:
        """How many channels there are."""

    def read(self, first: int, count: int) -> NDArray[np.float64]:
        """Return samples from ``first``, shape (count, channels); zeros outside of the whole."""


class SoundReader:
    """Reads a recording forward; what lies far back is read by beginning anew."""

    def __init__(self, facts: SoundFacts) -> None:
        """Take the file; it is opened when it is first asked."""
        self._facts = facts
        self._coming: Generator[NDArray[np.float64]] | None = None
        self._kept: deque[NDArray[np.float64]] = deque()
        self._first = self._stop = 0  # the samples that are kept

    @property
    def channels(self) -> int:
        """How many channels there are."""
        return self._facts.channels

    def read(self, first: int, count: int) -> NDArray[np.float64]:
        """Return samples from ``first``, shape (count, channels); zeros outside of the recording.

        Raises ScanError where the file cannot be decoded, ends before its counted length, or was
        written to since it was looked at.
        """
        found = np.zeros((count, self.channels))
        begin, stop = max(first, 0), min(first + count, self._facts.samples)
        if begin < stop:
            self._fetch(begin, stop)
            at = self._first
            for block in self._kept:
                low, high = max(begin, at), min(stop, at + len(block))
                if low < high:
                    found[low - first : high - first] = block[low - at : high - at]
                at += len(block)
        return found

    def close(self) -> None:
        """Let go of the file."""
        if self._coming is not None:
            self._coming.close()
            self._coming = None
        self._kept.clear()
        self._first = self._stop = 0

    def _fetch(self, begin: int, stop: int) -> None:
        """Decode up to ``stop``; let go of blocks that lie far before ``begin``."""
        if begin < self._first:
            self.close()
        if self._coming is None:
            self._coming = self._decoded()
        while self._stop < stop:
            block = next(self._coming, None)
            self._check_unchanged()
            if block is None:
                text = f"ends at sample {self._stop}, before its end"
                raise ScanError(self._facts.path, text)
            self._kept.append(block)
            self._stop += len(block)
            while self._kept and self._first + len(self._kept[0]) < begin - _KEPT:
                self._first += len(self._kept.popleft())

    def _check_unchanged(self) -> None:
        facts = self._facts
        with reading(facts.path):
            changed = facts.state is not None and facts.state != state_of(facts.path)
        if changed:
            raise ScanError(
                facts.path,
                "was changed since it was looked at",
                "let whatever writes it come to its end, and render again",
            )

    def _decoded(self) -> Generator[NDArray[np.float64]]:
        path = self._facts.path
        with open_sound(path) as container, reading(path, "cannot be decoded to its end"):
            stream = only_sound(container, path)
            yield from _gathered(container.decode(stream))


_BLOCK = 1 << 15


def _gathered(frames: Iterator[AudioFrame]) -> Iterator[NDArray[np.float64]]:
    """Yield decoded frames as blocks of some size, so that little is handled per sample."""
    waiting: list[NDArray[np.float64]] = []
    have = 0
    for frame in frames:
        waiting.append(_samples(frame))
        have += frame.samples
        if have >= _BLOCK:
            yield np.concatenate(waiting)
            waiting, have = [], 0
    if waiting:
        yield np.concatenate(waiting)


def _samples(frame: AudioFrame) -> NDArray[np.float64]:
    """Return a frame's samples at full scale 1, shape (samples, channels)."""
    array = frame.to_ndarray()
    array = array.T if frame.format.is_planar else array.reshape(frame.samples, -1)
    kind = array.dtype.str[1:]
    if kind not in _SCALES:
        return array.astype(np.float64)
    if kind == "u1":
        array = array.astype(np.int16) - _SCALES[kind]
    return np.asarray(array * (1 / _SCALES[kind]), np.float64)  # a power of two: exact
