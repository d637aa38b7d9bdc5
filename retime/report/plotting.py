"""Small plots of a page: scales with their marks, and paths no finer than a screen can show.

Positions are percents of a figure's width or height, so that a figure is as wide as its page;
paths lie in a box of ``WIDE`` by ``HIGH`` units that is stretched over the figure.
"""

from __future__ import annotations

from itertools import groupby
from math import ceil, floor, log10
from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence

__all__ = ["HIGH", "WIDE", "Mark", "Scale", "boxes", "lines", "percent", "steps", "times", "values"]

WIDE, HIGH = 1000, 200
"""The units of a path's box."""

_FINE = 5  # tenths of a unit: half a pixel of a figure 1,000 pixels wide
_MOST = 8  # marks of a scale of time
_TIMES = (1, 2, 5, 10, 15, 30, 60, 120, 300, 600, 900, 1800, 3600, 7200, 18000, 36000)  # seconds
_EDGE = 94.0  # per cent: a label beyond ends at its mark, where others begin
_MINUTE, _HOUR = 60, 3600


class Mark(NamedTuple):
    """A mark of a scale: where, its label, and whether a narrow page can do without that."""

    at: str
    label: str
    spare: bool = False
    ends: bool = False


class Scale(NamedTuple):
    """What a figure's left and right, or bottom and top, stand for."""

    low: float
    high: float

    def share(self, value: float) -> float:
        """Return where a value lies, from 0 to 1."""
        return (value - self.low) / (self.high - self.low)

    def across(self, value: float) -> int:
        """Return a value's place in a path's box from its left, in tenths of a unit."""
        return round(10 * WIDE * self.share(value))

    def down(self, value: float) -> int:
        """Return a value's place in a path's box from its top, in tenths of a unit."""
        return round(10 * HIGH * (1 - self.share(value)))


def percent(share: float) -> str:
    """Return a part of a figure's width or height as an attribute tells it."""
    return f"{100 * share:.2f}".rstrip("0").rstrip(".") + "%"


def times(scale: Scale) -> list[Mark]:
    """Return the marks of a scale of seconds from 0: full seconds, minutes or hours."""
    most = scale.high
    step = next((one for one in _TIMES if most / one <= _MOST), _TIMES[-1])
    step *= max(1, ceil(most / step / _MOST))
    return [
        Mark(
            at=percent(scale.share(at)),
            label=_clock(at, hours=most >= _HOUR),
            spare=number % 2 == 1,
            ends=100 * scale.share(at) > _EDGE,
        )
        for number, at in enumerate(range(0, floor(most) + 1, step))
    ]


def _clock(seconds: int, *, hours: bool) -> str:
    minutes, second = divmod(seconds, _MINUTE)
    if not hours:
        return f"{minutes}:{second:02}"
    hour, minute = divmod(minutes, _MINUTE)
    return f"{hour}:{minute:02}" + (f":{second:02}" if second else "")


def values(low: float, high: float, most: int = 5) -> tuple[Scale, list[float]]:
    """Return a scale that holds two values with room about them, and the round values on it."""
    room = max((high - low) * 0.12, high * 0.08, 0.5)
    low, high = max(0.0, low - room), high + room
    rough = (high - low) / most
    power = 10 ** floor(log10(rough))
    step = next(one * power for one in (1, 2, 5, 10) if one * power >= rough)
    return Scale(low, high), [n * step for n in range(ceil(low / step), floor(high / step) + 1)]


def lines(pairs: Iterable[tuple[int, int, int]]) -> str:
    """Return the path of upright lines, each at an x from one y to another, in tenths of a unit."""
    return "".join(f"M{_unit(x)} {_unit(top)}v{_unit(bottom - top)}" for x, top, bottom in pairs)


def boxes(parts: Iterable[tuple[int, int, int]], wide: int) -> str:
    """Return the path of boxes, each from an x and between two ys, in tenths of a unit."""
    return "".join(
        f"M{_unit(x)} {_unit(top)}h{_unit(wide)}v{_unit(bottom - top)}h{_unit(-wide)}z"
        for x, top, bottom in parts
    )


def steps(parts: Sequence[Sequence[tuple[int, int]]]) -> str:
    """Return the path of lines through points, in tenths of a unit, that run from left to right.

    Of many points that lie within half a unit, the first, the least, the greatest and the last are
    kept: no screen shows more.
    """
    return "".join("M" + "L".join(map(_point, _thinned(part))) for part in parts if part)


def _thinned(points: Sequence[tuple[int, int]]) -> Iterator[tuple[int, int]]:
    for _, near in groupby(points, lambda point: point[0] // _FINE):
        some = list(near)
        heights = [y for _, y in some]
        least, most = heights.index(min(heights)), heights.index(max(heights))
        for place in sorted({0, least, most, len(some) - 1}):
            yield some[place]


def _point(point: tuple[int, int]) -> str:
    return f"{_unit(point[0])} {_unit(point[1])}"


def _unit(tenths: int) -> str:
    whole, rest = divmod(abs(tenths), 10)
    return f"{'-' if tenths < 0 else ''}{whole}" + (f".{rest}" if rest else "")
