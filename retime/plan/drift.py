"""Drift: how far a frame's first showing stands from its true time."""

from __future__ import annotations

import math
from dataclasses import dataclass
from fractions import Fraction
from typing import TYPE_CHECKING

from retime.plan.timeline import Shows

if TYPE_CHECKING:
    from collections.abc import Iterator

    from retime.plan.layout import Piece
    from retime.plan.plan import Plan

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


@dataclass(frozen=True, slots=True, kw_only=True)
class _Term:
    """``count`` first showings whose drift is (lag + number/scale) output frames.

    ``lag`` is top/bottom, unreduced; the numbers lie between ``low`` and ``high``.
    """

    top: int
    bottom: int
    scale: int
    count: int
    low: int
    high: int
    total: int
    squares: int

    def exact(self, number: int) -> Fraction:
        return Fraction(self.top * self.scale + number * self.bottom, self.bottom * self.scale)

    def near(self, number: int) -> float:
        return self.top / self.bottom + number / self.scale

    def square(self) -> float:
        lag = self.top / self.bottom
        cross = 2 * lag * (self.total / self.scale)
        return self.count * lag * lag + cross + self.squares / self.scale**2


def drift_of(plan: Plan) -> Drift:
    """Measure a repeat plan's drift; dropped frames and holes have none."""
    grid, rate = plan.conform.at.fps, plan.conform.rate.fps
    terms = [term for piece in plan.pieces for term in _terms(plan, piece, grid)]
    largest = _largest(terms)
    count = sum(term.count for term in terms)
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
    candidates = [(term, number) for term in terms for number in {term.low, term.high}]
    sizes = [abs(term.near(number)) for term, number in candidates]
    bar = max(sizes, default=0.0) - _NEAR
    exact = (
        abs(term.exact(number))
        for (term, number), size in zip(candidates, sizes, strict=True)
        if size >= bar
    )
    return max(exact, default=Fraction(0))


def _terms(plan: Plan, piece: Piece, grid: Fraction) -> Iterator[_Term]:
    stretch = plan.timeline.stretches[piece.stretch]
    if stretch.shows is not Shows.FILM:
        return
    # start x grid = top / bottom
    bottom = stretch.start.denominator * grid.denominator
    top = piece.output_first * bottom - stretch.start.numerator * grid.numerator
    if not piece.continues:
        # The slot that opens the piece may have begun well before its first output frame.
        into = stretch.pace.elapsed(piece.rule.slot(0)) * grid
        number, scale = -into.numerator, into.denominator
        yield _Term(
            top=top,
            bottom=bottom,
            scale=scale,
            count=1,
            low=number,
            high=number,
            total=number,
            squares=number * number,
        )
    lags = piece.rule.lags(piece.count)
    if lags.residues.count:
        found = lags.residues
        yield _Term(
            top=top,
            bottom=bottom,
            scale=lags.scale,
            count=found.count,
            low=found.smallest,
            high=found.largest,
            total=found.total,
            squares=found.squares,
        )
