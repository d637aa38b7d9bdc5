"""Brings a recording along, and writes how fast it went and how much memory it took, as JSON.

Run as a program of its own with the file and the pitch, so that its memory is nobody else's.
"""

import json
import resource
import sys
from fractions import Fraction
from pathlib import Path
from time import process_time

from retime.follow.track import Track
from retime.follow.track_samples import blocks_of
from retime.media.sound_facts import probe_sound
from retime.media.sound_reader import SoundReader
from retime.plan.timemap import Leg, TimeMap
from retime.speedmap.following import Pitch

__all__ = ["brought"]

_RATIO = Fraction(25, 24)
_KILOBYTE = 1024  # the unit of ru_maxrss on Linux


def brought(path: Path, pitch: Pitch) -> dict[str, float]:
    """Bring a recording from 24 to 25; return times real time, and the peak memory in MB."""
    facts = probe_sound(path)
    heard = Fraction(facts.samples, facts.rate)
    lasts = heard / _RATIO
    track = Track(
        time_map=TimeMap(legs=(Leg(Fraction(0), lasts, Fraction(0), heard),), duration=lasts),
        source_rate=facts.rate,
        source_samples=facts.samples,
        rate=facts.rate,
        pitch=pitch,
    )
    started = process_time()
    samples = sum(len(block) for block in blocks_of(track, SoundReader(facts)))
    taken = process_time() - started
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss * _KILOBYTE
    return {"times": samples / facts.rate / taken, "peak": peak / 1e6}


if __name__ == "__main__":
    json.dump(brought(Path(sys.argv[1]), Pitch(sys.argv[2])), sys.stdout)
