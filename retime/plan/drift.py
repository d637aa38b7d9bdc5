"""Drift: how far a frame's first showing stands from its true time."""

from __future__ import annotations

import math
from dataclasses import dataclass
from fractions import Fraction
from typing import TYPE_CHECKING, NamedTuple

from retime.plan.beat import Beat
from retime.plan.timeline import Shows

if TYPE_CHECKING:
    from collections.abc import Iterator

    from retime.plan.layout import Piece
    from retime.plan.plan import Plan
    from retime.plan.residues import Residues

__all__ = ["Drift", "drift_of"]

_NEAR = 1e-6  # output frames: far coarser than a float's error here, far finer than any drift


@dataclass(frozen=True, slots=True, kw_only=True)
class Drift:
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
    numbers: Residues

    def exact(self, number: int) -> Fraction:
        return Fraction(self.top * self.scale + number * self.bottom, self.bottom * self.scale)

    def square(self) -> float:
        lag, numbers, scale = self.lag, self.numbers, self.scale
        cross = 2 * lag * (numbers.total / scale)
        return numbers.size * lag * lag + cross + numbers.squares / (scale * scale)


def drift_of(plan: Plan) -> Drift:
    """Measure a repeat plan's drift; dropped frames and holes have none."""
    grid, rate = plan.conform.at.fps, plan.conform.rate.fps
    terms = [term for piece in plan.pieces for term in _terms(plan, piece, grid)]
    largest = _largest(terms)
    count = sum(term.numbers.size for term in terms)
    mean_square = sum(term.square() for term in terms) / count if count else 0.0
    ends = tuple(
        (stop - reel.stop * grid) / rate
        for reel, (_, stop) in zip(plan.timeline.reels, plan.reel_bounds(), strict=True)
    )
    return Drift(
        largest=largest,
        largest_ms=1000 * largest.numerator / largest.denominator / float(rate),
        rms_ms=1000 * math.sqrt(max(0.0, mean_square)) / float(rate),
        end=(plan.outputs - plan.timeline.duration * grid) / rate,
        reel_ends=ends,
    )


def _largest(terms: list[_Term]) -> Fraction:
    """Return the largest absolute drift; floats choose the few terms worth exact arithmetic."""
    sizes = [
        max(abs(lag + numbers.smallest / scale), abs(lag + numbers.largest / scale))
        for _, _, lag, scale, numbers in terms
    ]
    bar = max(sizes, default=0.0) - _NEAR
    near = [term for term, size in zip(terms, sizes, strict=True) if size >= bar]
    exact = (
        abs(term.exact(number))
        for term in near
        for number in (term.numbers.smallest, term.numbers.largest)
    )
    return max(exact, default=Fraction(0))


def _terms(plan: Plan, piece: Piece, grid: Fraction) -> Iterator[_Term]:
    stretch = plan.timeline.stretches[piece.stretch]
    if stretch.shows is not Shows.FILM:
        return
    # start x grid = top / bottom
    bottom = stretch.start.denominator * grid.denominator
    top = piece.output_first * bottom - stretch.start.numerator * grid.numerator
    lags = piece.rule.lags(piece.count, fresh=not piece.continues)
    if lags.residues.size == 0:
        return
    slot = piece.rule.slot(0)
    if slot and isinstance(piece.rule, Beat) and piece.rule.step == 0:
        into = stretch.pace.elapsed(slot) * grid  # a rule of one slot does not know its start
        top, bottom = (
            top * into.denominator - into.numerator * bottom,
            bottom * into.denominator,
        )
    yield _Term(top, bottom, top / bottom, lags.scale, lags.residues)
