"""Drift: how far a frame's first showing stands from its true time."""

from __future__ import annotations

import math
from fractions import Fraction
from operator import itemgetter
from typing import TYPE_CHECKING, NamedTuple

from msgspec import Struct

from retime.plan.beat import Beat
from retime.plan.timeline import Shows

if TYPE_CHECKING:
    from retime.plan.layout import Piece
    from retime.plan.plan import Plan
    from retime.plan.residues import Numbers

__all__ = ["Drift", "drift_of"]

_NEAR = 1e-6  # output frames: far coarser than a float's error here, far finer than any drift


class Drift(Struct, frozen=True, kw_only=True):
    """A deliverable's drift, positive where the showing is late.

    ``largest`` is the largest absolute value in output frames; ``rms`` and ``largest_ms`` in
    milliseconds; ``end`` and ``reel_ends`` in seconds.
    """

    largest: Fraction
    largest_ms: float
    rms_ms: float
    end: Fraction
    reel_ends: tuple[Fraction, ...]


class _Term(NamedTuple):
    """First showings whose drift is (lag + number/scale) output frames, by their numbers.

    The lag is top/bottom, unreduced: with many different speeds its terms are long.
    """

    top: int
    bottom: int
    lag: float
    scale: int
    numbers: Numbers

    def exact(self, number: int) -> Fraction:
        return Fraction(self.top * self.scale + number * self.bottom, self.bottom * self.scale)

    def largest_of(self, pair: tuple[int, int]) -> float:
        low, high = pair
        return max(abs(self.lag + low / self.scale), abs(self.lag + high / self.scale))


def drift_of(plan: Plan) -> Drift:
    """Measure a repeat plan's drift; dropped frames and holes have none."""
    grid, rate = plan.conform.at.fps, plan.conform.rate.fps
    terms = [term for piece in plan.pieces if (term := _term(plan, piece, grid))]
    largest = _largest(terms)
    ends = tuple(
        (stop - reel.stop * grid) / rate
        for reel, (_, stop) in zip(plan.timeline.reels, plan.reel_bounds(), strict=True)
    )
    return Drift(
        largest=largest,
        largest_ms=1000 * largest.numerator / largest.denominator / float(rate),
        rms_ms=1000 * math.sqrt(_mean_square(terms)) / float(rate),
        end=(plan.outputs - plan.timeline.duration * grid) / rate,
        reel_ends=ends,
    )


def _mean_square(terms: list[_Term]) -> float:
    count, sum_of_squares = 0, 0.0
    for _, _, lag, scale, numbers in terms:
        size, total, squares = numbers.sums()
        count += size
        sum_of_squares += size * lag * lag + 2 * lag * (total / scale) + squares / (scale * scale)
    return max(0.0, sum_of_squares / count) if count else 0.0


def _largest(terms: list[_Term]) -> Fraction:
    """Return the largest absolute drift.

    Bounds choose the terms whose extremes are looked for, and floats those of them that are
    worth exact arithmetic.
    """
    bounded = [(term.largest_of(term.numbers.bounds()), term) for term in terms]
    bounded.sort(key=itemgetter(0), reverse=True)
    bar, near = 0.0, []
    for bound, term in bounded:
        if bound < bar:
            break
        pair = term.numbers.extremes()
        size = term.largest_of(pair)
        bar = max(bar, size - _NEAR)
        near.append((size, term, pair))
    exact = (abs(term.exact(number)) for size, term, pair in near if size >= bar for number in pair)
    return max(exact, default=Fraction(0))


def _term(plan: Plan, piece: Piece, grid: Fraction) -> _Term | None:
    stretch = plan.timeline.stretches[piece.stretch]
    if stretch.shows is not Shows.FILM:
        return None
    lags = piece.rule.lags(piece.count, fresh=not piece.continues)
    if lags is None:
        return None
    # start x grid = top / bottom
    bottom = stretch.start.denominator * grid.denominator
    top = piece.output_first * bottom - stretch.start.numerator * grid.numerator
    if isinstance(piece.rule, Beat) and piece.rule.step == 0 and (slot := piece.rule.slot(0)):
        into = stretch.pace.elapsed(slot) * grid  # a rule of one slot does not know its start
        top, bottom = (
            top * into.denominator - into.numerator * bottom,
            bottom * into.denominator,
        )
    return _Term(top, bottom, top / bottom, lags.scale, lags.numbers)
