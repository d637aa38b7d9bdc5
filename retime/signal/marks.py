"""Frames marked by hand, foot strike by foot strike: the period by least squares.

Marks may leave some out: how many periods lie between two of them is inferred, the shortest
distance being one, and refused where that is not clear. The standard error is that of the slope of
a straight line through the marks (any textbook of linear regression), and at the least that of
reading each to half a frame either way, which is all that can be said of two marks.
"""

from __future__ import annotations

from itertools import accumulate, pairwise
from math import sqrt
from typing import TYPE_CHECKING

from msgspec import Struct

from retime.signal.period import Unclear

if TYPE_CHECKING:
    from collections.abc import Sequence
    from fractions import Fraction

__all__ = ["MarkedPeriod", "fit_marks"]

_UNEVEN = 0.25  # of a period, by which a distance may differ from a whole number of them
_DOUBTFUL = 0.35  # the same, with what the period itself is not known by
_READING = 0.5  # frames either way to which a mark is read at best, a rectangle


class MarkedPeriod(Struct, frozen=True, kw_only=True):
    """A period in film frames, its standard error, and how many periods the marks span."""

    period: float
    standard_error: float
    periods: int


def fit_marks(marks: Sequence[Fraction | float]) -> MarkedPeriod | Unclear:
    """Return the period of marked frames in rising order, at least two of them."""
    places = [float(mark) for mark in marks]
    if len(places) < 2:  # noqa: PLR2004 - a distance has two ends
        return Unclear(reason="one mark has no distance to another")
    if any(after <= before for before, after in pairwise(places)):
        return Unclear(reason="the marks do not rise")
    counts = _counts(places)
    return counts if isinstance(counts, Unclear) else _fitted(places, [0, *accumulate(counts)])


def _counts(marks: Sequence[float]) -> list[int] | Unclear:
    """Return how many periods lie between each mark and the next.

    The shortest distances come first: from them it is known how long a period is, the better the
    more of them there are, and so how many of them the longer ones hold.
    """
    steps = [after - before for before, after in pairwise(marks)]
    counts = [1] * len(steps)
    frames, periods = min(steps), 1
    for place in sorted(range(len(steps)), key=steps.__getitem__):
        here = steps[place] * periods / frames
        counts[place] = count = max(1, round(here))
        off = abs(here - count)
        if off > _UNEVEN or (count > 1 and off + count * _READING / frames > _DOUBTFUL):
            fewer, more = sorted((count, count + 1 if here >= count else max(count - 1, 1)))
            return Unclear(
                reason=f"between the marks {marks[place]:g} and {marks[place + 1]:g} "
                f"there may be {fewer} {'period' if fewer == 1 else 'periods'} or {more}"
            )
        if place != steps.index(min(steps)):
            frames, periods = frames + steps[place], periods + count
    return counts


def _fitted(marks: Sequence[float], places: Sequence[int]) -> MarkedPeriod:
    """Return the slope of the line through the marks, and its standard error."""
    count = len(marks)
    middle, mean = sum(places) / count, sum(marks) / count
    spread = sum((place - middle) ** 2 for place in places)
    pairs = list(zip(places, marks, strict=True))
    period = sum((place - middle) * (mark - mean) for place, mark in pairs) / spread
    error = _READING / sqrt(3) / sqrt(spread)
    if count > 2:  # noqa: PLR2004 - two marks lie on a line whatever they are
        rest = sum((mark - mean - period * (place - middle)) ** 2 for place, mark in pairs)
        error = max(error, sqrt(rest / (count - 2) / spread))
    return MarkedPeriod(period=period, standard_error=error, periods=places[-1])
