"""Sound whose pitch moves with its time: resampled, each stretch of one speed by itself.

soxr's highest quality does the resampling. It begins at a whole sample of the recording, so it is
begun far enough ahead, where the samples wanted fall as near to whole ones as they ever do, and
what comes too early is thrown away: no stretch is off by more than some hundredths of a sample,
and nothing adds up from one to the next.
"""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING

import numpy as np
import soxr

from retime.film.rounding import ceiling_of, floor_of, half_up

if TYPE_CHECKING:
    from collections.abc import Iterator

    from numpy.typing import NDArray

    from retime.media.sound_reader import SampleSource

__all__ = ["resampled"]

_BLOCK = 1 << 15
_WARM = 256  # samples, of whichever side has fewer, that the filter sees before and after
_TRIED = 1024  # ways to begin


def resampled(
    position: Fraction, step: Fraction, count: int, source: SampleSource
) -> Iterator[NDArray[np.float64]]:
    """Yield ``count`` samples, the first at ``position`` of the source, each ``step`` further.

    A step of 1 copies samples as they are, from the nearest whole position.
    """
    if step == 1:
        yield from _copied(half_up(position), count, source)
        return
    ahead = _ahead(position, step)
    begin = half_up(position - ahead * step)
    stream = soxr.ResampleStream(float(step), 1.0, source.channels, dtype="float64", quality="VHQ")
    most = max(1, floor_of(step * _BLOCK))
    beyond = ceiling_of(_WARM * max(step, Fraction(1)))
    at, left = begin, count
    while left:
        read = min(most, ceiling_of((ahead + left) * step) + beyond)
        block = stream.resample_chunk(source.read(at, read))
        at += read
        dropped = min(ahead, len(block))
        ahead -= dropped
        block = block[dropped : dropped + left]
        left -= len(block)
        if len(block):
            yield block


def _copied(first: int, count: int, source: SampleSource) -> Iterator[NDArray[np.float64]]:
    for at in range(0, count, _BLOCK):
        yield source.read(first + at, min(_BLOCK, count - at))


def _ahead(position: Fraction, step: Fraction) -> int:
    """Return how many samples ahead to begin, for the position there to be nearly whole."""
    least = ceiling_of(_WARM * max(Fraction(1), 1 / step))
    tried = np.arange(least, least + _TRIED)
    inside = float(position - floor_of(position))
    off = np.abs((inside - tried * float(step) + 0.5) % 1 - 0.5)
    return int(tried[np.argmin(np.round(off, 6))])
