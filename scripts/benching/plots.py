"""Where the page's marks stand: costs on two logarithmic scales, figures beside their bounds.

Positions are percents of a figure's width or height, as the report's page has them, so that a
figure is as wide as its page and its words keep their size.
"""

from collections.abc import Iterable, Sequence
from itertools import pairwise
from math import ceil, floor, log10
from typing import NamedTuple

from benching.curves import Curve
from benching.rows import Row
from retime.report.plotting import Mark, percent

__all__ = ["Dot", "Line", "Plot", "Scale", "Strip", "plots", "strip"]

_ROUND = (1, 2, 5)
_FEW = 2.5  # decades: below that, 2 and 5 are marked too
_ROOM = 1.05  # times less, and more, than the least and the greatest, at least
_EDGE = 8  # times less, or more, than a bound: where a strip ends


class Scale(NamedTuple):
    """A logarithmic scale between two positive values."""

    low: float
    high: float

    def share(self, value: float) -> float:
        """Return where a value lies, from 0 to 1; what is beyond the scale lies at its end."""
        if value <= self.low:
            return 0.0
        return min(1.0, log10(value / self.low) / log10(self.high / self.low))

    def across(self, value: float) -> str:
        """Return a value's place from the left."""
        return percent(self.share(value))

    def down(self, value: float) -> str:
        """Return a value's place from the top, where greater ones are."""
        return percent(1 - self.share(value))

    @property
    def marks(self) -> list[float]:
        """The round values on it."""
        few = log10(self.high / self.low) < _FEW
        values = _round_values(self.low, self.high, _ROUND if few else (1,))
        return [value for value in values if self.low <= value <= self.high]


class Dot(NamedTuple):
    """A point's median, and its least and greatest figure; ``told`` is what it says."""

    x: str
    y: str
    low: str
    high: str
    told: str


class Line(NamedTuple):
    """A straight line from one place to another."""

    x1: str
    y1: str
    x2: str
    y2: str


class Plot(NamedTuple):
    """A curve's figure; ``even`` is where it ran if it grew as what is counted does."""

    curve: Curve
    across: list[Mark]
    down: list[Mark]
    dots: list[Dot]
    lines: list[Line]
    even: list[Line]


def plots(curves: Iterable[Curve]) -> list[Plot]:
    """Return the figures of curves of two points or more, none of which costs nothing."""
    return [
        _plot(curve)
        for curve in curves
        if len(curve.points) > 1
        and all(point.at > 0 and min(point.figures) > 0 for point in curve.points)
    ]


def _plot(curve: Curve) -> Plot:
    """Return a curve's figure, on scales that hold all of its points."""
    ats = [point.at for point in curve.points]
    wide = _scale(ats)
    tall = _scale([figure for point in curve.points for figure in point.figures])
    dots = [
        Dot(
            wide.across(point.at),
            tall.down(point.figure),
            tall.down(min(point.figures)),
            tall.down(max(point.figures)),
            f"{point.at:,.0f} {curve.across}: {point.figure:.3g} {curve.unit}",
        )
        for point in curve.points
    ]
    return Plot(
        curve=curve,
        across=[Mark(at=wide.across(one), label=_label(one)) for one in wide.marks],
        down=[Mark(at=tall.down(one), label=_label(one)) for one in tall.marks],
        dots=dots,
        lines=[Line(a.x, a.y, b.x, b.y) for a, b in pairwise(dots)],
        even=_even(curve, wide, tall),
    )


def _even(curve: Curve, wide: Scale, tall: Scale) -> list[Line]:
    """Return the line from the first point on which the rest costs what the first did, a piece.

    It is straight but for the start, which counts once, so it is drawn in parts; what leaves the
    scale is left out.
    """
    first, last = curve.points[0], curve.points[-1]
    each = (first.figure - curve.start) / first.at
    ats = [first.at * (last.at / first.at) ** (step / 24) for step in range(25)]
    costs = [(at, curve.start + each * at) for at in ats]
    inside = [(wide.across(at), tall.down(cost)) for at, cost in costs if cost <= tall.high]
    return [Line(*a, *b) for a, b in pairwise(inside)]


class Strip(NamedTuple):
    """A row's figures beside its bound, which lies in the middle; what is kept lies left of it."""

    at: str
    low: str
    wide: str
    told: str


def strip(row: Row) -> Strip | None:
    """Return where a row's figures lie beside its bound; None where there is none."""
    shares = [_share(row, figure) for figure in row.figures]
    if None in shares:
        return None
    scale = Scale(1 / _EDGE, _EDGE)
    places = sorted(scale.share(share) for share in shares if share is not None)
    at = _share(row, row.figure) or 0.0
    return Strip(
        at=percent(scale.share(at)),
        low=percent(places[0]),
        wide=percent(places[-1] - places[0]),
        told=f"{row.spread} {row.unit}, {row.bound}",
    )


def _share(row: Row, figure: float) -> float | None:
    """Return how much of what is allowed a figure takes: more than 1 where it misses its bound."""
    if row.most is not None:
        return figure / row.most if figure > 0 else 0.0
    if row.least is not None:
        return row.least / figure if figure > 0 else float("inf")
    return None


def _scale(values: Sequence[float]) -> Scale:
    """Return a scale from one round value to another."""
    least, most = min(values) / _ROOM, max(values) * _ROOM
    around = _round_values(least, most, _ROUND)
    return Scale(
        max(value for value in around if value <= least),
        min(value for value in around if value >= most),
    )


def _round_values(low: float, high: float, digits: Sequence[int]) -> list[float]:
    """Return the round values of all decades that two values lie in, and those of the next."""
    powers = range(floor(log10(low)), ceil(log10(high)) + 1)
    return [digit * 10.0**power for power in powers for digit in digits]


def _label(value: float) -> str:
    return f"{value:,.0f}" if value >= 1 else f"{value:g}"
