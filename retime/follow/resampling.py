"""Sound whose pitch moves with its time: resampled, every sample from its exact place.

soxr's highest quality does the resampling, at one ratio from a whole sample of the recording on.
It is begun far enough ahead, where the samples wanted fall as near to whole ones as they ever do,
and what comes too early is thrown away. Where that is not near enough, as with 5 samples for 6,
what it makes is moved by the fraction of a sample that is left. So nothing adds up, and sound that
goes on from one speed to another goes on in the wave.

A ramp has a speed for each film frame. It is resampled at its highest speed, then to twice the
rate, where a few samples about each exact place are enough to tell the wave there.

What is weighed here, and not by soxr, is so in single precision: its noise lies 150 dB below the
sound, that of 24 bits at 146.
"""

from __future__ import annotations

from fractions import Fraction
from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np
import soxr
from numpy.lib.stride_tricks import sliding_window_view

from retime.film.rounding import ceiling_of, floor_of, half_up

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence

    from numpy.typing import NDArray

    from retime.media.sound_reader import SampleSource

__all__ = ["eased", "resampled"]

_QUALITY = "VHQ"
_BLOCK = 1 << 15
_WARM = 1024  # samples, of whichever side has fewer, that the filter sees before and after
_TRIED = 2048  # ways to begin
_NEAR = 1 / 1000  # samples: sound that is no further off is where it should be
_TAPS = 64  # of the filter that moves sound by less than a sample
_SLOPE = 10.0  # of the Kaiser windows: what they let through lies 100 dB below
_FEW = 16  # samples that tell the wave between them at twice the rate
_PLACES = 1 << 15  # between two samples: a step is a part in 100,000 of the highest tone's wave
_TURN = 1 << 12  # samples told at once, so that all fits the processor's cache


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
    start = position - ahead * step
    begin = half_up(start)
    made = _made(begin, step, ahead + count + _TAPS, source)
    if abs(start - begin) > _NEAR:
        made = _moved(made, float((start - begin) / step), source.channels)
    for block in made:
        dropped = min(ahead, len(block))
        ahead -= dropped
        wanted = block[dropped : dropped + count]
        count -= len(wanted)
        if len(wanted):
            yield wanted


def eased(
    places: Sequence[tuple[Fraction, Fraction, int]], source: SampleSource
) -> NDArray[np.float64]:
    """Return samples of a ramp, or of other short pieces that go on in one another.

    ``places`` are, for each piece, the position in the source of its first sample, the step to
    each next one, and how many there are. The highest step is not far above the lowest.
    """
    base = floor_of(places[0][0])
    at = np.concatenate(
        [float(first - base) + np.arange(count) * float(step) for first, step, count in places]
    )
    steepest = max(1.0, *(float(step) for _, step, _ in places))
    margin = ceiling_of(_WARM * Fraction(steepest))
    heard = source.read(base - margin, int(at[-1]) + 1 + 2 * margin).astype(np.float32)
    if steepest > 1:
        heard = soxr.resample(heard, steepest, 1.0, quality=_QUALITY)
    twice = soxr.resample(heard, 1.0, 2.0, quality=_QUALITY)
    return _told(twice, (at + margin) * (2 / steepest))


def _copied(first: int, count: int, source: SampleSource) -> Iterator[NDArray[np.float64]]:
    for at in range(0, count, _BLOCK):
        yield source.read(first + at, min(_BLOCK, count - at))


def _ahead(position: Fraction, step: Fraction) -> int:
    """Return how many samples ahead to begin, for the position there to be nearly whole."""
    least = ceiling_of(_WARM * max(Fraction(1), 1 / step))
    tried = np.arange(least, least + _TRIED)
    inside = float(position - floor_of(position))
    off = np.abs((inside - tried * float(step) + 0.5) % 1 - 0.5)
    near = np.flatnonzero(off <= _NEAR)
    return int(tried[near[0] if len(near) else np.argmin(np.round(off, 6))])


def _made(
    begin: int, step: Fraction, count: int, source: SampleSource
) -> Iterator[NDArray[np.float64]]:
    """Yield at least ``count`` samples, the first at a whole position, each ``step`` further."""
    stream = soxr.ResampleStream(
        float(step), 1.0, source.channels, dtype="float64", quality=_QUALITY
    )
    most = max(1, floor_of(step * _BLOCK))
    beyond = ceiling_of(_WARM * max(step, Fraction(1)))
    while count > 0:
        read = min(most, ceiling_of(count * step) + beyond)
        block = stream.resample_chunk(source.read(begin, read))
        begin += read
        count -= len(block)
        yield block


def _moved(
    blocks: Iterable[NDArray[np.float64]], off: float, channels: int
) -> Iterator[NDArray[np.float64]]:
    """Yield sound as it is ``off`` samples later, at most 1: a sinc in a Kaiser window."""
    before = _TAPS // 2 - 1
    distances = np.arange(_TAPS, dtype=np.float64) - (before + off)
    taps = _window(distances, _TAPS)[::-1].astype(np.float32)
    held = np.zeros((before, channels), np.float32)
    for block in blocks:
        known = np.concatenate([held, block.astype(np.float32)])
        held = known[-(_TAPS - 1) :]
        if len(known) >= _TAPS:
            moved = [np.convolve(known[:, one], taps, "valid") for one in range(channels)]
            yield np.stack(moved, axis=1).astype(np.float64)


def _window(distances: NDArray[np.float64], taps: int) -> NDArray[np.float64]:
    """Return a windowed sinc at distances from its middle; along the last axis its sum is 1."""
    inside = np.clip(1 - (distances / (taps / 2)) ** 2, 0, None)
    curve = np.sinc(distances) * np.i0(_SLOPE * np.sqrt(inside))
    return np.asarray(curve / curve.sum(axis=-1, keepdims=True))


@lru_cache(maxsize=1)
def _curves() -> NDArray[np.float32]:
    """Return what each of a few samples weighs, for every place between the middle two."""
    places = np.arange(_PLACES)[:, None] / _PLACES
    return _window(np.arange(_FEW) - (_FEW // 2 - 1) - places, _FEW).astype(np.float32)


def _told(sound: NDArray[np.float32], at: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return the wave at places of ``sound``, which holds nothing above half its band."""
    curves = _curves()
    told = np.empty((len(at), sound.shape[1]))
    channels = [sliding_window_view(np.ascontiguousarray(one), _FEW) for one in sound.T]
    for turn in range(0, len(at), _TURN):
        here = at[turn : turn + _TURN]
        whole = np.floor(here).astype(np.int64)
        weights = curves[((here - whole) * _PLACES).astype(np.int64)]
        first = whole - (_FEW // 2 - 1)
        for number, channel in enumerate(channels):
            told[turn : turn + len(here), number] = np.einsum("nk,nk->n", channel[first], weights)
    return told
