"""Lengths of film in feet and metres, with the convention that was taken."""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING

from msgspec import Struct

from retime.film.gauge import Footage, frames_per_foot
from retime.speedmap.footage import gauge_of

if TYPE_CHECKING:
    from collections.abc import Sequence

    from retime.plan.timeline import Reel
    from retime.speedmap.model import SpeedMap

__all__ = ["Length", "length_of"]

_METRES_PER_FOOT = Fraction(3048, 10000)


class Length(Struct, frozen=True, kw_only=True):
    """A length of film; ``per_foot`` is None where gauges mix."""

    per_foot: Fraction | None
    feet: Fraction

    @property
    def metres(self) -> Fraction:
        """The same in metres."""
        return self.feet * _METRES_PER_FOOT


def length_of(speed_map: SpeedMap, reels: Sequence[Reel]) -> Length:
    """Return the length of reels together, each by its own gauge."""
    footage = speed_map.footage or Footage.NOMINAL
    per_foot = [
        frames_per_foot(gauge_of(speed_map, speed_map.reel(reel.name)), footage) for reel in reels
    ]
    pairs = zip(reels, per_foot, strict=True)
    feet = sum((reel.positions / each for reel, each in pairs), Fraction(0))
    return Length(per_foot=per_foot[0] if len(set(per_foot)) == 1 else None, feet=feet)
