"""How loud a stream of sound is, half a millisecond after half a millisecond.

Kept in a file, so that any part can be had again and memory stays as it is: 8 bytes a channel and
half a millisecond. The second reader decodes.
"""

from __future__ import annotations

import tempfile
from fractions import Fraction
from typing import IO, TYPE_CHECKING

import numpy as np

from retime.film.rounding import half_up
from retime.second.sound import sound_blocks, sound_form

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable
    from pathlib import Path

    from numpy.typing import NDArray

__all__ = ["Envelope", "enveloped"]

_A_SECOND = 2000


class Envelope:
    """A stream's power, bin by bin; ``bin`` is how long one is, exactly, in seconds.

    ``power`` is the mean square of the samples, full scale being 1; ``edge`` that of their
    differences, in which attacks stand out.
    """

    def __init__(self, rate: int, channels: int) -> None:
        """Begin with no sound."""
        self.rate, self.channels = rate, channels
        self._samples = max(1, half_up(Fraction(rate, _A_SECOND)))
        self.bin = Fraction(self._samples, rate)
        self._kept: NDArray[np.float32] | None = None
        self.count = 0

    def fill(self, blocks: Iterable[NDArray[np.float32]]) -> None:
        """Take all samples; those of an unfinished last bin count as if silence followed."""
        rest = np.zeros((0, self.channels), np.float32)
        before = np.zeros((1, self.channels), np.float32)
        with tempfile.TemporaryFile() as file:
            for block in blocks:
                rest = np.concatenate((rest, block))
                whole = len(rest) // self._samples * self._samples
                before = self._add(file, rest[:whole], before)
                rest = rest[whole:]
            if len(rest):
                missing = self._samples - len(rest)
                self._add(file, np.pad(rest, ((0, missing), (0, 0))), before)
            file.flush()
            if self.count:
                # What is mapped stays when the file is closed, and goes with the envelope.
                shape = (self.count, 2, self.channels)
                self._kept = np.memmap(file, np.float32, "r", shape=shape)

    def _add(
        self, file: IO[bytes], samples: NDArray[np.float32], before: NDArray[np.float32]
    ) -> NDArray[np.float32]:
        """Write the bins of samples; return the last sample."""
        if not len(samples):
            return before
        steps = np.diff(samples, axis=0, prepend=before)
        both = np.stack((samples, steps)).astype(np.float64) ** 2
        binned = both.reshape(2, -1, self._samples, self.channels).mean(axis=2)
        file.write(np.ascontiguousarray(binned.swapaxes(0, 1), np.float32).tobytes())
        self.count += binned.shape[1]
        return samples[-1:]

    def part(self, first: int, stop: int) -> NDArray[np.float64]:
        """Return bins ``first`` up to ``stop``, shape (bins, 2, channels): power, then edge.

        Before the beginning and after the end there is silence.
        """
        found = np.zeros((max(0, stop - first), 2, self.channels))
        low, high = max(0, first), min(self.count, stop)
        if self._kept is not None and low < high:
            found[low - first : high - first] = self._kept[low:high]
        return found


def enveloped(path: Path, stream: int = 0, seen: Callable[[], None] | None = None) -> Envelope:
    """Return the envelope of a stream, calling ``seen`` after each block of it.

    Raises ScanError where it cannot be decoded to its end.
    """
    form = sound_form(path, stream)
    envelope = Envelope(form.rate, form.channels)

    def blocks() -> Iterable[NDArray[np.float32]]:
        for block in sound_blocks(path, stream):
            yield block
            if seen is not None:
                seen()

    envelope.fill(blocks())
    return envelope
