"""Runs of figures that agree: one run, or several, and what sticks out of them.

A figure sticks out of its run when it stands more than three of its uncertainties from the run's
median, and then from the mean of those that do not (uncertainties being widened by 1.4826 times the
median of the absolute residuals, the usual robust scale, where that is above 1).

Which division into one, two or three runs is told is decided by their probabilities (Jeffreys 1939;
from memory). Before, the level of every run, and that of a figure that sticks out, may be any from
12 to 30 alike, in the logarithm; the divisions into as many runs are alike, and together half as
probable as those into one run less; so are all choices of as many figures that stick out. A scatter
of all figures above what they state is fitted to every division.
"""

from __future__ import annotations

from functools import cache
from itertools import pairwise
from math import comb, log, pi, sqrt
from statistics import median
from typing import TYPE_CHECKING

from msgspec import Struct

from retime.evidence.support import FASTEST, SLOWEST

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

__all__ = ["Point", "Run", "mean_of", "runs_of", "scatter_of"]

_FAR = 3
_ROBUST = 1.4826
"""The deviation of a normal distribution over the median of its absolute deviations."""
_SPAN = log(FASTEST / SLOWEST)
_LEAST_OF_A_RUN = 2
"""A single figure is no run of its own: it sticks out."""


class Point(Struct, frozen=True):
    """The logarithm of a figure, and the standard uncertainty of that, above 0."""

    at: float
    doubt: float


class Run(Struct, frozen=True, kw_only=True):
    """Points ``first`` to before ``stop``; ``kept`` are those that do not stick out."""

    first: int
    stop: int
    kept: frozenset[int]

    def points(self, among: Sequence[Point]) -> list[Point]:
        """Return the points that do not stick out, in order."""
        return [among[i] for i in sorted(self.kept)]


class _Told(Struct, frozen=True, kw_only=True):
    """A run with what its probability is made of.

    ``squares`` are those of the residuals over their uncertainties, ``room`` is minus twice the
    logarithm of the share of the span that the points single out.
    """

    run: Run
    squares: float
    room: float


def mean_of(points: Iterable[Point]) -> tuple[float, float]:
    """Return the mean, weighed by the inverse squares of the uncertainties, and its uncertainty."""
    weights = [(1 / p.doubt**2, p.at) for p in points]
    total = sum(weight for weight, _ in weights)
    return sum(weight * at for weight, at in weights) / total, 1 / sqrt(total)


def scatter_of(runs: Sequence[Sequence[Point]]) -> float:
    """Return by how much more points differ from their runs' means than they state, 1 or more.

    That is the root of the residuals' sum of squares over its degrees of freedom (Birge 1932; from
    memory).
    """
    freedom = sum(len(run) - 1 for run in runs)
    return sqrt(max(1.0, sum(_squares(run) for run in runs) / max(1, freedom)))


def runs_of(points: Sequence[Point]) -> tuple[Run, ...]:
    """Return the most probable division of points, at least one, into runs."""

    @cache
    def told(first: int, stop: int) -> _Told:
        return _told(points, first, stop)

    divisions = list(_divisions(len(points)))
    ways = [sum(len(one) == runs + 1 for one in divisions) for runs in range(4)]

    def cost(bounds: Sequence[int]) -> float:
        parts = [told(first, stop) for first, stop in pairwise(bounds)]
        return _cost(parts, len(points)) + 2 * log(2 ** len(parts) * ways[len(parts)])

    best = min(divisions, key=cost)
    return tuple(told(first, stop).run for first, stop in pairwise(best))


def _divisions(count: int) -> Iterable[tuple[int, ...]]:
    """Yield the bounds of the whole, and of every division into two or three runs."""
    yield 0, count
    for first in range(_LEAST_OF_A_RUN, count - _LEAST_OF_A_RUN + 1):
        yield 0, first, count
        for second in range(first + _LEAST_OF_A_RUN, count - _LEAST_OF_A_RUN + 1):
            yield 0, first, second, count


def _told(points: Sequence[Point], first: int, stop: int) -> _Told:
    kept = _kept(points[first:stop])
    run = Run(first=first, stop=stop, kept=frozenset(first + i for i in kept))
    inside = run.points(points)
    alone = [points[i].doubt for i in range(first, stop) if i not in run.kept]
    levels = [mean_of(inside)[1], *alone]
    room = sum(max(0.0, 2 * log(_SPAN / (doubt * sqrt(2 * pi)))) for doubt in levels)
    return _Told(run=run, squares=_squares(inside), room=room)


def _cost(parts: Sequence[_Told], count: int) -> float:
    """Return minus twice the logarithm of the probability of a division, but for a constant."""
    kept = sum(len(part.run.kept) for part in parts)
    squares, freedom = sum(part.squares for part in parts), kept - len(parts)
    fitted = freedom + freedom * log(squares / freedom) if squares > freedom > 0 else squares
    return fitted + sum(part.room for part in parts) + 2 * log(comb(count, kept))


def _kept(points: Sequence[Point]) -> frozenset[int]:
    """Return which points stand together."""
    middle = median(point.at for point in points)
    scatter = max(1.0, _ROBUST * median(abs(p.at - middle) / p.doubt for p in points))
    kept = frozenset(range(len(points)))
    for _ in points:
        near = frozenset(
            i for i, p in enumerate(points) if abs(p.at - middle) <= _FAR * scatter * p.doubt
        )
        if not near or near == kept:
            break
        kept = near
        middle, _ = mean_of([points[i] for i in kept])
    return kept


def _squares(points: Sequence[Point]) -> float:
    middle, _ = mean_of(points)
    return sum(((p.at - middle) / p.doubt) ** 2 for p in points)
