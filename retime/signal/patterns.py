"""The cadences that are looked for: those of the usual speeds in the usual rates, laid evenly.

Evenly spaced repeats are the rule of nearest frame, whoever lays it (Toussaint, The Euclidean
algorithm generates traditional musical rhythms, Bridges 2005, from memory): floor(k p/q) for p film
frames in q pictures, or fields. What is not even is listed.
"""

from __future__ import annotations

from fractions import Fraction
from itertools import pairwise
from math import log

from msgspec import Struct

__all__ = ["LONGEST", "NEW_EVERY_TIME", "Pattern", "evenly", "known_patterns", "turned"]

LONGEST = 60
"""The longest cycle that is looked for, in pictures or fields."""

_SPEEDS = (
    *(Fraction(fps) for fps in range(12, 31)),
    Fraction(200, 11),  # SMPTE ST 428-21:2011, archive rates
    Fraction(240, 11),
    Fraction(50, 3),
    Fraction(55, 2),
)
_RATES = (24, 25, 30, 50, 60)
_FIELD_RATES = (50, 60)
# FFmpeg filters documentation, telecine: 2332 for 24 film frames in 60 fields; 32222 and 12222 for
# 27.5 in 60 and in 50 fields, which as ratios are no speed of the list above.
_UNEVEN_FIELDS = ((2, 3, 3, 2),)
_ODD_FIELDS = ((3, 2, 2, 2, 2), (1, 2, 2, 2, 2))
# Nats: how much less likely than that every picture differs.
_WHOLE, _FIELDS, _OTHER_RATE, _UNPAIRED = 1.0, 3.0, 3.0, 2.0


class Pattern(Struct, frozen=True, kw_only=True):
    """Runs of pictures, or of fields, that show one film frame after the other, over a cycle.

    ``upper_first`` says which field of a picture comes first in time, where runs are of fields.
    ``unlikely`` is how unlikely it is beforehand, in nats.
    """

    runs: tuple[int, ...]
    in_fields: bool = False
    upper_first: bool = True
    unlikely: float = 0.0

    @property
    def outputs(self) -> int:
        """How many pictures, or fields, a cycle has."""
        return sum(self.runs)

    @property
    def step(self) -> int:
        """How many places of the cycle a picture takes."""
        return 2 if self.in_fields else 1

    def film_at(self, place: int) -> int:
        """Return which film frame a place shows, 0 being that of place 0; places go on and on."""
        whole, rest = divmod(place, self.outputs)
        film = 0
        for run in self.runs:
            if rest < run:
                break
            rest -= run
            film += 1
        return whole * len(self.runs) + film


NEW_EVERY_TIME = Pattern(runs=(1,))
"""Every picture shows another film frame."""


def evenly(film: int, outputs: int) -> tuple[int, ...]:
    """Return the runs of ``film`` frames laid evenly in ``outputs``, a long run first."""
    firsts = [-(-slot * outputs // film) for slot in range(film + 1)]
    return tuple(after - before for before, after in pairwise(firsts))


def turned(pattern: Pattern, place: int) -> tuple[tuple[int, ...], int]:
    """Return a cycle's runs from the one that a place is in, and how much of that has gone by."""
    place %= pattern.outputs
    run = 0
    while place >= pattern.runs[run]:
        place -= pattern.runs[run]
        run += 1
    return pattern.runs[run:] + pattern.runs[:run], place


def known_patterns(rate: Fraction | None) -> tuple[Pattern, ...]:
    """Return all that is looked for, the likelier for the rate that the file says, if it does."""
    nominal = None if rate is None else round(rate)
    found: dict[Pattern, float] = {}
    for told in _RATES:
        usual = nominal is None or told == nominal
        for runs in _even_runs(told):
            _offer(found, Pattern(runs=runs), _WHOLE + (0 if usual else _OTHER_RATE))
    for told in _FIELD_RATES:
        usual = nominal is None or told == 2 * nominal
        uneven = _UNEVEN_FIELDS if told == 60 else ()  # noqa: PLR2004 - fields a second
        for runs in (*_even_runs(told), *uneven, *_ODD_FIELDS, (1,)):
            unlikely = _FIELDS + (0 if usual else _OTHER_RATE)
            unlikely += _UNPAIRED if min(runs) == 1 else 0
            for upper_first in (True, False):
                _offer(found, Pattern(runs=runs, in_fields=True, upper_first=upper_first), unlikely)
    listed = [
        Pattern(
            runs=one.runs,
            in_fields=one.in_fields,
            upper_first=one.upper_first,
            unlikely=unlikely + log(one.outputs),
        )
        for one, unlikely in found.items()
    ]
    return (NEW_EVERY_TIME, *listed)


def _even_runs(rate: int) -> list[tuple[int, ...]]:
    ratios = {speed / rate for speed in _SPEEDS}
    return [
        evenly(ratio.numerator, ratio.denominator)
        for ratio in sorted(ratios)
        if ratio < 1 and ratio.denominator <= LONGEST
    ]


def _offer(found: dict[Pattern, float], pattern: Pattern, unlikely: float) -> None:
    found[pattern] = min(unlikely, found.get(pattern, unlikely))
