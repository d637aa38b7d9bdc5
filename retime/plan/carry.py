"""How the pulses of a layout become fields, and two fields in turn an output frame.

A pulse is one step of the grid that a cadence is laid out on: an output frame; a field, where the
cadence is in fields; or a film-rate picture that 2:3 carries.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from msgspec import Struct

from retime.film.rounding import half_up

if TYPE_CHECKING:
    from fractions import Fraction

__all__ = ["FIELDS", "FRAMES", "THREE_TWO", "TWO_THREE", "Carry"]


class Carry(Struct, frozen=True, kw_only=True):
    """``pattern`` is how many fields carry each pulse, in turn: 1, or 2, or 2 and 3 by turns."""

    pattern: tuple[int, ...]

    @property
    def in_fields(self) -> bool:
        """Whether what is shown is counted in fields, as frames may hold two film frames."""
        return self.pattern != (2,)

    @property
    def per_frame(self) -> int:
        """How many pulses make an output frame, 0 where that is no whole number."""
        return 2 // self.pattern[0] if len(self.pattern) == 1 else 0

    def grid(self, conform_at: Fraction) -> Fraction:
        """Return how many pulses there are to a second, at so many output frames."""
        return 2 * conform_at * len(self.pattern) / sum(self.pattern)

    def lengths(self, duration: Fraction, conform_at: Fraction) -> tuple[int, int]:
        """Return how many pulses film of so many seconds has, and output frames to carry them.

        Where fields carry pulses unevenly, the last output frame is filled up with the last one.
        """
        if self.per_frame:
            outputs = half_up(duration * conform_at)
            return outputs * self.per_frame, outputs
        pulses = half_up(duration * self.grid(conform_at))
        return pulses, -(-self.first_field(pulses) // 2)

    def first_field(self, pulse: int) -> int:
        """Return the first field that carries a pulse, or that comes after so many pulses."""
        turns, inside = divmod(pulse, len(self.pattern))
        return turns * sum(self.pattern) + sum(self.pattern[:inside])


FRAMES = Carry(pattern=(2,))
"""Every output frame is a pulse, whether it is scanned progressively or in two fields."""
FIELDS = Carry(pattern=(1,))
"""Every field is a pulse."""
TWO_THREE = Carry(pattern=(2, 3))
THREE_TWO = Carry(pattern=(3, 2))
