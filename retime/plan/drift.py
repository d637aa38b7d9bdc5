"""Drift: how far a frame's first showing stands from its true time."""

from __future__ import annotations

import math
from fractions import Fraction
from operator import itemgetter
from typing import TYPE_CHECKING, NamedTuple

from msgspec import Struct

from retime.plan.beat import Beat
from retime.plan.onset import lag_of
from retime.plan.residues import Listed

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from retime.plan.layout import Piece
    from retime.plan.plan import Plan
    from retime.plan.residues import Numbers

__all__ = ["Drift", "Term", "drift_of", "terms_of"]

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


class Term(NamedTuple):
    """First showings whose drift is (lag + number/scale) pulses, by their numbers.

    The lag is that of ``pulse`` after ``start`` and ``into``, in pulses: worked out exactly only
    for the few terms that may hold the largest drift, as with many different speeds it is long.
    """

    pulse: Fraction | int
    start: Fraction
    into: Fraction | int
    lag: float
    scale: int
    numbers: Numbers

    def exact(self, number: int, grid: Fraction) -> Fraction:
        """Return the drift of a number, in pulses of a ``grid`` of so many a second."""
        return self.pulse - self.start * grid - self.into + Fraction(number, self.scale)

    def span_of(self, pair: tuple[int, int]) -> tuple[float, float]:
        """Return the drifts of two numbers, in pulses."""
        low, high = pair
        return self.lag + low / self.scale, self.lag + high / self.scale

    def largest_of(self, pair: tuple[int, int]) -> float:
        """Return the larger of the two without its sign."""
        low, high = self.span_of(pair)
        return max(abs(low), abs(high))


def drift_of(plan: Plan) -> Drift | None:
    """Measure the drift of a plan's film frames; a blend has none.

    Dropped frames have none, nor have holes, what is put in, and a loop's showings.
    """
    if plan.window is not None:
        return None
    at, rate = plan.conform.at.fps, plan.conform.rate.fps
    terms = [term for piece in plan.pieces for term in terms_of(plan, piece)]
    largest = _largest(terms, plan.grid.pulses) * at / plan.grid.pulses
    mean_square = _mean_square(terms) * float(at / plan.grid.pulses) ** 2
    ends = tuple(
        (Fraction(stop, 2) - plan.head_frames - reel.stop * at) / rate
        for reel, (_, stop) in zip(plan.timeline.reels, plan.reel_fields(), strict=True)
    )
    return Drift(
        largest=largest,
        largest_ms=1000 * largest.numerator / largest.denominator / float(rate),
        rms_ms=1000 * math.sqrt(mean_square) / float(rate),
        end=(plan.outputs - plan.timeline.duration * at) / rate,
        reel_ends=ends,
    )


def _mean_square(terms: list[Term]) -> float:
    count, sum_of_squares = 0, 0.0
    for _, _, _, lag, scale, numbers in terms:
        size, total, squares = numbers.sums()
        count += size
        sum_of_squares += size * lag * lag + 2 * lag * (total / scale) + squares / (scale * scale)
    return max(0.0, sum_of_squares / count) if count else 0.0


def _largest(terms: list[Term], grid: Fraction) -> Fraction:
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
    exact = (
        abs(term.exact(number, grid)) for size, term, pair in near if size >= bar for number in pair
    )
    return max(exact, default=Fraction(0))


def terms_of(plan: Plan, piece: Piece) -> Iterable[Term]:
    """Return the first showings of a piece, in pulses."""
    stretch = plan.timeline.stretches[piece.stretch]
    if not stretch.fresh:
        return ()
    lags = piece.rule.lags(piece.count, fresh=not piece.continues)
    if lags is None:
        return ()
    slot = piece.rule.slot(0) if isinstance(piece.rule, Beat) and piece.rule.step == 0 else 0
    # A rule of one slot does not know its start.
    into = stretch.pace.elapsed(slot) * plan.grid.pulses if slot else 0
    lag = lag_of(piece.pulse_first, stretch.start, stretch.near, plan.grid.pulses) - float(into)
    term = Term(piece.pulse_first, stretch.start, into, lag, lags.scale, lags.numbers)
    return (term,) if plan.carry.per_frame else _unevenly_carried(plan, piece, term)


def _unevenly_carried(plan: Plan, piece: Piece, opening: Term) -> Iterator[Term]:
    """Yield first showings one by one where two and three fields carry pulses in turn.

    ``opening`` is the term of a piece that is carried evenly. Every pulse is late or early by
    what its fields are off the even share: this looks at every film frame.
    """
    stretch, carry = plan.timeline.stretches[piece.stretch], plan.carry
    share = Fraction(len(carry.pattern), sum(carry.pattern))
    single = isinstance(piece.rule, Beat) and piece.rule.step == 0
    k = 0
    for slot, run in piece.rule.runs(piece.count):
        if k or not piece.continues:
            inside = opening.into if single else stretch.pace.elapsed(slot) * plan.grid.pulses
            pulse = carry.first_field(piece.pulse_first + k) * share
            moved = pulse - piece.pulse_first - (inside - opening.into)
            yield Term(
                pulse, stretch.start, inside, opening.lag + float(moved), 1, Listed(numbers=(0,))
            )
        k += run
