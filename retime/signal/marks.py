"""Frames marked by hand, foot strike by foot strike: the period by least squares.

Marks may leave some out: how many periods lie between two of them is inferred from the shortest
distance, and refused where that is not clear. The standard error is that of the slope of a straight
line through the marks (any textbook of linear regression); of two marks, which have none, that of
reading each to half a frame either way.
"""

from __future__ import annotations

from itertools import pairwise
from math import sqrt
from typing import TYPE_CHECKING

from msgspec import Struct

from retime.signal.period import Unclear

if TYPE_CHECKING:
    from collections.abc import Sequence

__all__ = ["MarkedPeriod", "fit_marks"]

_CLEAR = 0.25
"""How far from a whole number of periods a distance may lie."""
_READING = 0.5
"""A mark is read to half a frame either way, a rectangle, at the least."""


class MarkedPeriod(Struct, frozen=True, kw_only=True):
    """A period in film frames, its standard error, and how many periods the marks span."""

    period: float
    standard_error: float
    periods: int


def fit_marks(marks: Sequence[float]) -> MarkedPeriod | Unclear:
    """Return the period of marked frames in rising order, at least two of them."""
    if len(marks) < 2:  # noqa: PLR2004 - a distance has two ends
        return Unclear(reason="one mark has no distance to another")
    steps = [after - before for before, after in pairwise(marks)]
    if min(steps) <= 0:
        return Unclear(reason="the marks do not rise")
    counts = _counts(steps)
    if counts is None:
        return Unclear(reason="the distances between marks are no whole numbers of one period")
    places = [0]
    for count in counts:
        places.append(places[-1] + count)
    return _fitted(marks, places)


def _counts(steps: Sequence[float]) -> list[int] | None:
    """Return how many periods each distance holds, None where that is not clear."""
    shortest = min(steps)
    single = [step for step in steps if step < shortest * (1 + 2 * _CLEAR)]
    period = sum(single) / len(single)
    counts = [round(step / period) for step in steps]
    off = (abs(step / period - count) for step, count in zip(steps, counts, strict=True))
    return None if max(off) > _CLEAR * max(1, max(counts) ** 0.5) else counts


def _fitted(marks: Sequence[float], places: Sequence[int]) -> MarkedPeriod:
    count = len(marks)
    middle, mean = sum(places) / count, sum(marks) / count
    spread = sum((place - middle) ** 2 for place in places)
    pairs = list(zip(places, marks, strict=True))
    period = sum((place - middle) * (mark - mean) for place, mark in pairs) / spread
    reading = _READING / sqrt(3) / sqrt(spread)
    error = reading
    if count > 2:  # noqa: PLR2004 - two marks lie on a line whatever they are
        rest = sum((mark - mean - period * (place - middle)) ** 2 for place, mark in pairs)
        error = max(reading, sqrt(rest / (count - 2) / spread))
    return MarkedPeriod(period=period, standard_error=error, periods=places[-1])
