"""The rate that a cadence is laid out at, and the rate that it is then run at."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from msgspec import Struct

from retime.film.speed import Rate, Speed

if TYPE_CHECKING:
    from fractions import Fraction

__all__ = ["Conform"]


class Conform(Struct, frozen=True, kw_only=True):
    """``at`` is the conform rate, in whole frames; ``rate`` is the deliverable's own."""

    rate: Rate
    at: Rate

    @staticmethod
    def of(rate: Rate, at: Rate | None = None) -> Conform:
        """Return the conform of a rate; left unsaid it is the rate itself, or its nominal N."""
        return Conform(rate=rate, at=at or rate.nominal)

    @property
    def run_change(self) -> Fraction:
        """How much faster than laid out the deliverable runs."""
        return self.rate.fps / self.at.fps

    def effective(self, speed: Speed) -> Speed:
        """Return the speed at which film laid out at ``speed`` is seen."""
        return Speed(speed.fps * self.run_change)

    @property
    def cents(self) -> float:
        """What the run does to pitch, in hundredths of a semitone."""
        return 1200 * math.log2(self.run_change)
