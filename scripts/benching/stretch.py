"""Brings a score of noise and tones along, and writes how fast it went and how much memory it took.

Run as a program of its own with pitch and minutes, so that its memory is nobody else's.
"""

import json
import resource
import sys
from fractions import Fraction
from time import process_time

import numpy as np
from numpy.typing import NDArray

from retime.follow.track import Track, blocks_of
from retime.plan.timemap import Leg, TimeMap
from retime.speedmap.following import Pitch

__all__ = ["Score", "brought"]

_RATE = 48_000
_KILOBYTE = 1024  # the unit of ru_maxrss on Linux


class Score:
    """A second of stereo, over and over."""

    channels = 2

    def __init__(self) -> None:
        """Draw it once."""
        times = np.arange(_RATE) / _RATE
        tones = sum(np.sin(2 * np.pi * pitch * times) for pitch in (220, 277, 330, 1234))
        noise = np.random.default_rng(0).normal(0, 0.02, (_RATE, 2))
        self._second = 0.1 * np.asarray(tones)[:, None] + noise

    def read(self, first: int, count: int) -> NDArray[np.float64]:
        """Return samples from ``first``, shape (count, 2)."""
        return self._second[np.arange(first, first + count) % _RATE]


def brought(pitch: Pitch, minutes: int) -> dict[str, float]:
    """Bring a score from 24 to 25; return times real time, and the peak memory in MB."""
    lasts = Fraction(60 * minutes)
    leg = Leg(Fraction(0), lasts, Fraction(0), lasts * Fraction(25, 24))
    track = Track(
        time_map=TimeMap(legs=(leg,), duration=lasts),
        source_rate=_RATE,
        source_samples=int(lasts * 2 * _RATE),
        rate=_RATE,
        pitch=pitch,
    )
    started = process_time()
    samples = sum(len(block) for block in blocks_of(track, Score()))
    taken = process_time() - started
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss * _KILOBYTE
    return {"times": samples / _RATE / taken, "peak": peak / 1e6}


if __name__ == "__main__":
    json.dump(brought(Pitch(sys.argv[1]), int(sys.argv[2])), sys.stdout)
