"""The support curve of a question: how much every speed from 12 to 30 is supported."""

from __future__ import annotations

from math import exp
from typing import TYPE_CHECKING

import numpy as np
from msgspec import Struct

from retime.evidence.support import FASTEST, SLOWEST, question_support

if TYPE_CHECKING:
    from collections.abc import Sequence

    from retime.evidence.model import Item, Link, Question
    from retime.evidence.support import Floats, Support
    from retime.film.speed import Speed

__all__ = ["GRID", "Curve", "curve_of"]

_A_FRAME = 500
_DIGITS = 6
GRID: Floats = np.linspace(SLOWEST, FASTEST, round((FASTEST - SLOWEST) * _A_FRAME) + 1)
"""The speeds at which a curve is told: every 1/500 frame per second."""

_WEIGHTS: Floats = np.ones_like(GRID)
_WEIGHTS[0] = _WEIGHTS[-1] = 0.5  # of the trapezoidal rule

_ALIKE = 1e-9
"""Logarithms that differ by less differ by rounding alone, or by nothing that matters."""


class Curve(Struct, frozen=True, eq=False, kw_only=True):
    """What a question's items support.

    ``logs`` are the logarithms of the support at the speeds of ``GRID``, ``support`` that of any
    speed. ``items`` are the ids of those that speak to the question, over links too.
    """

    question: Question
    logs: Floats
    support: Support
    items: frozenset[str]

    @property
    def density(self) -> Floats:
        """The posterior density under the flat prior, per frame per second: its integral is 1."""
        heights = np.exp(self.logs - self.logs.max())
        return np.asarray(heights * _A_FRAME / float(heights @ _WEIGHTS))

    @property
    def best(self) -> float:
        """The most supported speed.

        Of neighbours supported alike, as limits leave them, it is the end of the span where they
        reach one, else their middle.
        """
        alike = np.flatnonzero(self.logs > self.logs.max() - _ALIKE)
        neighbours = np.split(alike, np.flatnonzero(np.diff(alike) > 1) + 1)[0]
        first, last = int(neighbours[0]), int(neighbours[-1])
        if first == 0 or last == len(GRID) - 1:
            return float(GRID[0 if first == 0 else -1])
        return float(GRID[(first + last) // 2])

    def log_at(self, speed: Speed) -> float:
        """Return the logarithm of a speed's support over that of the most supported speed."""
        return float(self.support(np.array([float(speed.fps)]))[0] - self.logs.max())

    def log_factor(self, first: Speed, second: Speed) -> float:
        """Return the logarithm of the Bayes factor of one speed over another."""
        return self.log_at(first) - self.log_at(second)

    def factor(self, first: Speed, second: Speed) -> float:
        """Return the Bayes factor of one speed over another."""
        return exp(min(700.0, self.log_factor(first, second)))

    def factor_of_best(self, speed: Speed) -> float:
        """Return the Bayes factor of the most supported speed over another."""
        return exp(min(700.0, -self.log_at(speed)))

    def range(self, share: float) -> tuple[tuple[float, float], ...]:
        """Return the shortest range, of one piece or more, that holds ``share`` of the support."""
        density = self.density
        # Where the support is flat, what lies nearer to the most supported speed goes first.
        heights = np.round(density / density.max(), _DIGITS)
        order = np.lexsort((np.abs(GRID - self.best), -heights))
        held = np.cumsum((density * _WEIGHTS)[order]) / _A_FRAME
        inside = np.zeros(len(density), bool)
        inside[order[: int(np.searchsorted(held, share)) + 1]] = True
        edges = np.flatnonzero(np.diff(np.concatenate(([0], inside.astype(np.int8), [0]))))
        return tuple(
            (float(GRID[first]), float(GRID[stop - 1]))
            for first, stop in zip(edges[::2], edges[1::2], strict=True)
        )


def curve_of(items: Sequence[Item], links: Sequence[Link], question: Question) -> Curve | None:
    """Return a question's curve, or None where nothing speaks to it."""
    support, ids = question_support(items, links, question)
    if not ids:
        return None
    return Curve(question=question, logs=support(GRID), support=support, items=ids)
