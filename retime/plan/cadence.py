"""Cadence: how many times in turn each film frame of a stretch is shown."""

from __future__ import annotations

from fractions import Fraction
from functools import lru_cache
from itertools import pairwise

from msgspec import Struct

__all__ = ["LONGEST_CYCLE", "Cadence", "cadence_at", "same_cadence"]

LONGEST_CYCLE = 64  # film frames; a longer cycle is told by the nearest shorter one


class Cadence(Struct, frozen=True, kw_only=True):
    """Run lengths over one cycle of ``film_frames`` in ``outputs``.

    ``runs`` begins at the stretch's first film frame. ``slips_every`` is None where the
    cadence is exact, else how many output frames pass, on the mean, between breaks of it.
    """

    runs: tuple[int, ...]
    film_frames: int
    outputs: int
    slips_every: Fraction | None

    def __str__(self) -> str:
        """Return the run lengths as the trade writes them, ``1:1:2:1:1``."""
        return ":".join(map(str, self.runs))


@lru_cache(maxsize=4096)
def cadence_at(step: int, beat: int, phase: int) -> Cadence:
    """Return the cadence of ``step`` film frames in ``beat`` output frames, in lowest terms.

    Output frame k shows film frame floor((step k + phase)/beat); 0 <= ``phase`` < ``step``.
    """
    exact = Fraction(beat, step)
    near = exact
    if step > LONGEST_CYCLE:
        shortest = Fraction(1, LONGEST_CYCLE)
        near = exact.limit_denominator(LONGEST_CYCLE) or shortest
    slips = None
    if near != exact:
        # A break comes whenever the two drift apart by one part in the near cycle's beat.
        slips = 1 / (near.numerator * abs(1 / exact - 1 / near))
    film, outputs = near.denominator, near.numerator
    at = phase * film // step
    firsts = [-((at - slot * outputs) // film) for slot in range(film + 1)]
    runs = tuple(after - before for before, after in pairwise(firsts))
    return Cadence(runs=runs, film_frames=film, outputs=outputs, slips_every=slips)


def same_cadence(one: tuple[int, ...], other: tuple[int, ...]) -> bool:
    """Tell whether two run-length cycles are rotations of each other."""
    doubled = one + one
    return len(one) == len(other) and any(
        doubled[turn : turn + len(one)] == other for turn in range(len(one))
    )
