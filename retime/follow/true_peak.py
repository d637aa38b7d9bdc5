"""The true peak of a track: the highest that its wave comes to, between samples too.

It is looked for at four times the samples, as ITU-R BS.1770, annex 2, has it; soxr tells them.
FFmpeg's ebur128 would do so as well, at twice the cost of that, and thrice that of its loudness.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import soxr

if TYPE_CHECKING:
    from numpy.typing import NDArray

__all__ = ["TruePeak"]

_FINER = 4
_QUALITY = "HQ"


class TruePeak:
    """Sees a track in blocks and remembers its peak."""

    def __init__(self, rate: int, channels: int) -> None:
        """Take the track's samples a second."""
        self._finer = soxr.ResampleStream(
            rate, _FINER * rate, channels, dtype="float32", quality=_QUALITY
        )
        self._channels = channels
        self._peak = 0.0

    def see(self, block: NDArray[np.float64]) -> None:
        """Take a block of shape (samples, channels)."""
        self._take(block.astype(np.float32), last=False)

    def peak(self) -> float:
        """Return the peak, 1 being full scale; nothing may be seen any more."""
        self._take(np.zeros((0, self._channels), np.float32), last=True)
        return self._peak

    def _take(self, block: NDArray[np.float32], *, last: bool) -> None:
        fine = self._finer.resample_chunk(block, last=last)
        self._peak = max(self._peak, float(fine.max(initial=0)), -float(fine.min(initial=0)))
