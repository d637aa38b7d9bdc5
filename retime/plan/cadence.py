"""Cadence: how many times in turn each film frame of a stretch is shown.

Where the whole cycle is too long to be read, a shorter one is told that holds for most of the time,
and how often it slips. Which one that is follows from how often a cycle slips. Let r film frames
pass in an output frame. A cycle of p film frames in q output frames is off by ``|q r - p|`` film
frames each time it plays, and slips once for every 1/q of a film frame that it has come to be off
by: ``|q r - p|`` slips to an output frame, so that it plays ``1/(q |q r - p|)`` times between two.

- Only convergents of r's continued fraction are looked at. Any other cycle slips as often as a
  convergent that is shorter, or oftener, and plays less than twice between slips (Lagrange's law
  of best approximations and Legendre's criterion; A. Ya. Khinchin, Continued Fractions, 1964,
  theorems 16, 17 and 19). What lies between two convergents can come nearer to r in value and never
  play through once: 63 in 94 is nearer to 16.735363 in 25 than 2 in 3 is, and slips every 13 output
  frames; 2 in 3 slips every 121.
- Of these, that one is told which plays most often between slips. It is the one before the largest
  term of the continued fraction: a longer cycle is worth its length only if slips become rarer by
  more than it becomes longer.
- A cycle that slips oftener than every 20 output frames, clearly more than once a second, is
  passed over where another is left: what comes so often is a part of the beat. Else 22 in
  24000/1001 would be a 1 that slips every 12, and not the 11 in 12 that slips every 91.

Of two convergents in succession at least one plays more than twice between slips (Khinchin,
theorem 18). So does whatever is told as long as no more than 2 film frames pass in an output frame,
and whatever is told plays through at least once.
"""

from __future__ import annotations

from fractions import Fraction
from functools import lru_cache
from itertools import pairwise
from typing import TYPE_CHECKING, NamedTuple

from msgspec import Struct

if TYPE_CHECKING:
    from collections.abc import Iterator

__all__ = ["LONGEST_CYCLE", "Cadence", "cadence_at", "same_cadence"]

LONGEST_CYCLE = 64  # film frames; a longer cycle is told by a shorter one that slips
_OFTEN = 20  # output frames; what comes oftener than that is no slip but a part of the beat


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


class _Near(NamedTuple):
    """A cycle of ``film`` frames in ``outputs`` that slips every ``slips`` output frames."""

    film: int
    outputs: int
    slips: Fraction

    @property
    def plays(self) -> Fraction:
        """How many times it plays between two slips, on the mean."""
        return self.slips / self.outputs


@lru_cache(maxsize=4096)
def cadence_at(step: int, beat: int, phase: int) -> Cadence | None:
    """Return the cadence of ``step`` film frames in ``beat`` output frames, in lowest terms.

    Output frame k shows film frame floor((step k + phase)/beat); 0 <= ``phase`` < ``step``. It is
    the whole cycle where that has at most 64 film frames, else what the module's head says. None
    where more than 64 film frames pass in every output frame: no cycle of so few plays even once.
    """
    if step <= LONGEST_CYCLE:
        runs = _runs(step, beat, phase, step)
        return Cadence(runs=runs, film_frames=step, outputs=beat, slips_every=None)
    nears = list(_nears(step, beat))
    if not nears:
        return None
    rare = [near for near in nears if near.slips >= _OFTEN]
    film, outputs, slips = max(rare or nears, key=lambda one: one.plays)  # of two alike the shorter
    runs = _runs(step, beat, phase, film)
    if sum(runs) != outputs:  # it slips in its very first cycle
        runs = _runs(film, outputs, min(phase * outputs // beat, film - 1), film)
    return Cadence(runs=runs, film_frames=film, outputs=outputs, slips_every=slips)


def _nears(step: int, beat: int) -> Iterator[_Near]:
    """Yield the convergents of step/beat of 1 to 64 film frames, rising; ``step`` is above 64."""
    before, (film, outputs) = (0, 1), (1, 0)
    above, below = step, beat
    while below:
        term, rest = divmod(above, below)
        after = term * film + before[0], term * outputs + before[1]
        before, (film, outputs) = (film, outputs), after
        if film > LONGEST_CYCLE:
            return
        if film:
            yield _Near(film, outputs, Fraction(beat, abs(outputs * step - film * beat)))
        above, below = below, rest


def _runs(step: int, beat: int, phase: int, count: int) -> tuple[int, ...]:
    """Return how often each of the first ``count`` film frames is shown."""
    firsts = (-((phase - slot * beat) // step) for slot in range(count + 1))
    return tuple(after - before for before, after in pairwise(firsts))


def same_cadence(one: tuple[int, ...], other: tuple[int, ...]) -> bool:
    """Tell whether two run-length cycles are rotations of each other."""
    doubled = one + one
    return len(one) == len(other) and any(
        doubled[turn : turn + len(one)] == other for turn in range(len(one))
    )
