"""What the lengths and speeds of a document come to in frames."""

from __future__ import annotations

from typing import TYPE_CHECKING

from msgspec import Struct

from retime.errors import NotationError
from retime.film.gauge import Footage, frames_per_foot, frames_per_metre
from retime.film.length import LengthUnit
from retime.film.notation import shown

if TYPE_CHECKING:
    from fractions import Fraction

    from retime.film.gauge import Gauge
    from retime.film.length import SpokenLength
    from retime.film.notation import SpokenSpeed

__all__ = ["Measures"]


class Measures(Struct, frozen=True, kw_only=True):
    """A gauge and a convention; ``footage`` is None where feet are nominal and metres unknown."""

    gauge: Gauge
    footage: Footage | None = None

    @property
    def per_foot(self) -> Fraction:
        """How many frames a foot holds."""
        return frames_per_foot(self.gauge, self.footage or Footage.NOMINAL)

    @property
    def per_metre(self) -> Fraction | None:
        """How many frames a metre holds, None where no convention was chosen."""
        return frames_per_metre(self.gauge, self.footage) if self.footage else None

    def frames(self, length: SpokenLength) -> Fraction:
        """Return a length in frames.

        Raises:
            NotationError: it is told in metres, and no convention was chosen; or it has more
                frames beyond whole feet than a foot holds.
        """
        if length.unit is LengthUnit.METRES and self.footage is None:
            what = f"{shown(length.text)} needs to know how many frames a metre holds"
            raise NotationError(what, "state footage: nominal or footage: pitch")
        return length.frames(self.gauge, self.footage or Footage.NOMINAL)

    def fps(self, speed: SpokenSpeed) -> Fraction:
        """Return a speed in frames per second.

        Raises:
            NotationError: it is told in metres, and no convention was chosen.
        """
        return speed.on(self.per_foot, self.per_metre).fps
