"""What a foot or a metre of a reel holds, and so what its spoken speeds come to."""

from __future__ import annotations

from typing import TYPE_CHECKING

from retime.film.gauge import Footage, frames_per_foot, frames_per_metre

if TYPE_CHECKING:
    from fractions import Fraction

    from retime.film.gauge import Gauge
    from retime.film.notation import SpokenSpeed
    from retime.film.speed import Speed
    from retime.speedmap.model import Reel, SpeedMap

__all__ = ["footage", "gauge_of", "speed_on"]


def gauge_of(speed_map: SpeedMap, reel: Reel) -> Gauge:
    """Return the gauge of a reel: its own if it has one, else the film's."""
    return reel.gauge or speed_map.gauge


def footage(speed_map: SpeedMap, reel: Reel) -> tuple[Fraction, Fraction | None]:
    """Return how many frames a foot and a metre of the reel hold.

    Feet are nominal unless the map's ``footage`` says otherwise; metres are None unless it says
    something.
    """
    gauge, chosen = gauge_of(speed_map, reel), speed_map.footage
    per_foot = frames_per_foot(gauge, chosen or Footage.NOMINAL)
    return per_foot, frames_per_metre(gauge, chosen) if chosen else None


def speed_on(speed_map: SpeedMap, reel: Reel, spoken: SpokenSpeed) -> Speed:
    """Return what a spoken speed comes to on a reel.

    Raises:
        NotationError: it is spoken in metres, and the map does not say what a metre holds.
    """
    return spoken.on(*footage(speed_map, reel))
