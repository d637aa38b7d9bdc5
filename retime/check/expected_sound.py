"""What a deliverable's sound should look like, by the exact map of time and the recording alone.

No sample is resampled here: the energy that a recording has between two moments is what the
deliverable has between the two moments that the map brings them to, less or more as its time runs
faster or slower.
"""

from __future__ import annotations

from bisect import bisect_right
from fractions import Fraction
from operator import attrgetter
from typing import TYPE_CHECKING

import numpy as np

from retime.film.rounding import ceiling_of, floor_of
from retime.film.timecode import day_of, frame_of
from retime.plan.timemap import Leg, clock_of

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from retime.check.envelope import Envelope
    from retime.edition.edition import Making
    from retime.speedmap.following import Recording

__all__ = ["ExpectedSound", "legs_of"]


def legs_of(making: Making, recording: Recording, length: Fraction) -> tuple[Leg, ...]:
    """Return where on a deliverable's clock a recording of ``length`` seconds is heard.

    The source of each leg is the recording's own time, from its first sample. Raises NotationError
    for a label that does not exist.
    """
    offset = recording.offset
    if recording.follows is not None:
        legs = making.courses[recording.follows.text].legs
        return tuple(
            leg._replace(source_begin=leg.source_begin - offset, source_end=leg.source_end - offset)
            for leg in legs
        )
    begin = clock_of(making.plan).start + offset
    if recording.at is not None:
        begin = _labelled(making, recording.at) + offset
    return (Leg(begin, begin + length, Fraction(0), length),)


def _labelled(making: Making, text: str) -> Fraction:
    rate = making.plan.conform.rate
    number, day = frame_of(text, rate), day_of(rate, drop=making.drop_frame)
    return ((number - making.start) % day) / rate.fps


class ExpectedSound:
    """A recording as it should be heard on a deliverable's clock, ``gain`` times as loud."""

    def __init__(self, recording: Envelope, legs: tuple[Leg, ...], gain: float) -> None:
        """Take the recording's envelope and where it is heard."""
        self._recording, self._legs, self._power = recording, legs, gain**2
        self.channels = recording.channels

    def part(self, begin: Fraction, bin_: Fraction, count: int) -> NDArray[np.float64]:
        """Return ``count`` bins from a time on, shape (bins, 2, channels): power, then edge.

        ``bin_`` is how long each is, in seconds.
        """
        edges = float(begin) + float(bin_) * np.arange(count + 1, dtype=np.float64)
        energy = np.zeros((count + 1, 2, self.channels))
        end = begin + bin_ * count
        number = max(0, bisect_right(self._legs, begin, key=attrgetter("begin")) - 1)
        while number < len(self._legs) and self._legs[number].begin < end:
            leg = self._legs[number]
            number += 1
            if leg.end > begin:
                self._add(energy, leg, edges, (max(begin, leg.begin), min(end, leg.end)))
        return np.asarray(np.diff(energy, axis=0) * (self._power / float(bin_)))

    def ratio_at(self, time: Fraction) -> float:
        """Return how fast the recording runs at a time, 1 being its own speed, or nothing."""
        number = bisect_right(self._legs, time, key=attrgetter("begin")) - 1
        if number < 0 or time >= self._legs[number].end:
            return 1.0
        return float(self._legs[number].ratio)

    def _add(
        self,
        energy: NDArray[np.float64],
        leg: Leg,
        edges: NDArray[np.float64],
        span: tuple[Fraction, Fraction],
    ) -> None:
        """Add the energy that a leg has brought up to each edge, from begin to end of a span."""
        begin, end = span
        low, high = np.searchsorted(edges, (float(begin), float(end)))
        inside = np.concatenate((edges[low:high], [float(end)]))
        source = float(leg.source_begin) + (inside - float(leg.begin)) * float(leg.ratio)
        bin_ = self._recording.bin
        first_at = leg.source_at(begin)
        first = floor_of(first_at / bin_)
        bins = self._recording.part(first, ceiling_of(leg.source_at(end) / bin_) + 1)
        summed = np.concatenate((np.zeros((1, *bins.shape[1:])), np.cumsum(bins, axis=0)))
        places = np.concatenate(([float(first_at)], source)) / float(bin_) - first
        whole = np.clip(places.astype(np.int64), 0, len(bins) - 1)
        rest = (places - whole)[:, None, None]
        brought = summed[whole] + rest * (summed[whole + 1] - summed[whole])
        brought = (brought[1:] - brought[0]) * (float(bin_) / float(leg.ratio))
        energy[low:high] += brought[:-1]
        energy[high:] += brought[-1]
