"""Where on a grid of pulses a stretch of film begins, exactly and in small numbers.

A film of many different speeds has starts of thousands of digits. Each is therefore put between
two neighbouring multiples of 2 to the -80 seconds, once: what is rounded down comes out the same
for all between them, unless a boundary lies there too, and only then are the long terms worked
with. (Measured: planning 1,500 three-decimal speeds takes half as long.)
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    from fractions import Fraction

__all__ = ["Onset", "lag_of", "nearly", "onset_of"]

_FINE = 1 << 80
_LONG = 1 << 160  # a denominator beyond is worth putting between two short ones


class Onset(NamedTuple):
    """The first pulse whose centre is at or past a start: ``pulse``, on a grid of pulses a second.

    ``near`` is what ``nearly`` says of the start.
    """

    pulse: int
    start: Fraction
    near: int | None
    grid: Fraction

    def past(self) -> tuple[int, int]:
        """Return how far past the start the centre is, in pulses: numerator and denominator."""
        return _past(self.pulse, self.start.numerator, self.start.denominator, self.grid)

    def phase(self, step: int) -> int:
        """Return the distance past the start times ``step``, rounded down."""
        if self.near is not None:
            least, most = (self._phase_at(self.near + more, _FINE, step) for more in (1, 0))
            if least == most:
                return least
        return self._phase_at(self.start.numerator, self.start.denominator, step)

    def _phase_at(self, top: int, bottom: int, step: int) -> int:
        past, scale = _past(self.pulse, top, bottom, self.grid)
        return past * step // scale


def nearly(start: Fraction) -> int | None:
    """Return a long start in multiples of 2 to the -80 seconds, rounded down; else None."""
    if start.denominator < _LONG:
        return None
    return start.numerator * _FINE // start.denominator


def onset_of(start: Fraction, near: int | None, grid: Fraction) -> Onset:
    """Return where a start, of which ``near`` is ``nearly`` it, comes on a grid."""
    if near is not None:
        pulse = _pulse(near, _FINE, grid)
        if pulse == _pulse(near + 1, _FINE, grid):
            return Onset(pulse, start, near, grid)
    return Onset(_pulse(start.numerator, start.denominator, grid), start, near, grid)


def lag_of(pulse: int, start: Fraction, near: int | None, grid: Fraction) -> float:
    """Return by how many pulses the beginning of ``pulse`` is later than a start."""
    top, bottom = (start.numerator, start.denominator) if near is None else (near, _FINE)
    scale = bottom * grid.denominator
    return (pulse * scale - top * grid.numerator) / scale


def _pulse(top: int, bottom: int, grid: Fraction) -> int:
    half = bottom * grid.denominator
    return -((half - top * (2 * grid.numerator)) // (2 * half))


def _past(pulse: int, top: int, bottom: int, grid: Fraction) -> tuple[int, int]:
    half = bottom * grid.denominator
    return (2 * pulse + 1) * half - top * (2 * grid.numerator), 2 * half
