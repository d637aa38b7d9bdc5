"""Figures of a weighing as a person reads them: speeds, factors, times, lengths, and figures said.

Whatever is told here is rounded; ``retime-weighing/1`` tells it exactly.
"""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING

from msgspec import Struct

from retime.evidence.model import Measure, Question, Sense
from retime.film.gauge import Footage, frames_per_foot, frames_per_metre
from retime.film.rounding import half_up
from retime.report.numbers import decimal

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from retime.evidence.model import Evidence, Implied, Yardstick
    from retime.evidence.quantity import Quantity
    from retime.film.speed import Speed

__all__ = [
    "ASKED",
    "HAPPENED",
    "Cell",
    "bounds_said",
    "cells_of",
    "doubt_said",
    "factor_said",
    "figure_said",
    "fits",
    "fps",
    "grouped",
    "joined",
    "length_frames_said",
    "lengths_said",
    "plain",
    "ranges_said",
    "span_said",
    "speed",
    "time_said",
]

ASKED: dict[Question, str] = {
    Question.TAKING: "the speed at which it was taken",
    Question.SHOWING: "the speed at which it was shown",
    Question.LOOKING: "the speed at which it looks right",
}
"""What each question asks for."""

HAPPENED: dict[Question, str] = {
    Question.TAKING: "taken",
    Question.SHOWING: "shown",
    Question.LOOKING: "looks right",
}
"""What happened at the speed that a question asks for."""

_UNITS = {
    Measure.FPS: ("fps", 2),
    Measure.FEET_PER_MINUTE: ("ft/min", 1),
    Measure.METRES_PER_MINUTE: ("m/min", 2),
    Measure.TURNS: ("turns/s", 2),
    Measure.FRAMES: ("frames", 2),
    Measure.FLASHES: ("flashes/s", 1),
}
_PLACES_OF_A_SPEED = 2
_FEW = 10
_SHORT_OF = 0.05  # what rounds up to ten
_MOST = 1_000_000
_MINUTE = 60
_TEN_MINUTES = 600
_HOUR = 3_600


class Cell(Struct, frozen=True, kw_only=True):
    """What an item should have said at a candidate's speed, and whether that is what it says."""

    text: str
    fits: bool


def plain(x: Fraction | float, places: int) -> str:
    """Return a number with as many decimals as it needs, at most ``places``."""
    told = decimal(Fraction(x), places)
    return told.rstrip("0").rstrip(".") if "." in told else told


def grouped(x: Fraction, places: int) -> str:
    """Return a number as ``plain`` does, its thousands apart."""
    whole, point, rest = plain(x, places).partition(".")
    return f"{int(whole):,}{point}{rest}"


def speed(one: Speed) -> str:
    """Return a candidate's number of frames a second: ``20``, ``22.5``, ``21.33``."""
    return plain(one.fps, _PLACES_OF_A_SPEED)


def fps(x: Fraction | float, places: int = 1) -> str:
    """Return a speed that was found, its decimals all told."""
    return decimal(Fraction(x), places)


def joined(words: Sequence[str], by: str) -> str:
    """Return ``a``, ``a and b``, or ``a, b and c``."""
    if len(words) == 1:
        return words[0]
    return f"{', '.join(words[:-1])} {by} {words[-1]}"


def factor_said(factor: float) -> str:
    """Return a Bayes factor to two figures, very large ones as a bound."""
    if factor >= _MOST:
        return "more than 1,000,000"
    if factor < _FEW - _SHORT_OF:
        return f"{factor:.1f}"
    return f"{float(f'{factor:.1e}'):,.0f}"


def bounds_said(implied: Implied, places: int = _PLACES_OF_A_SPEED) -> tuple[str, str, str]:
    """Return the lowest speed, the speed itself and the highest; of a limit one end is open."""
    centre = fps(implied.speed.value, places)
    low, high = fps(implied.speed.low, places), fps(implied.speed.high, places)
    match implied.sense:
        case Sense.AT_LEAST:
            return low, f">= {centre}", "open"
        case Sense.AT_MOST:
            return "open", f"<= {centre}", high
        case _:
            return low, centre, high


def doubt_said(figure: Quantity, places: int = 1) -> str:
    """Return a figure with its standard uncertainty: ``20.1 ± 0.3``."""
    return f"{decimal(figure.value, places)} ± {decimal(Fraction(figure.uncertainty), places)}"


def ranges_said(ranges: Iterable[tuple[float, float]]) -> str:
    """Return a range of one piece or more: ``19.2 to 20.8, or 23.1 to 23.4 fps``."""
    return ", or ".join(f"{fps(low)} to {fps(high)}" for low, high in ranges) + " fps"


def time_said(seconds: Fraction) -> str:
    """Return a time: ``1:35:00``, ``12:40``, ``4:07.5``, ``7.3 s``."""
    if half_up(seconds * 10) < _MINUTE * 10:
        return f"{decimal(seconds, 1)} s"
    tenths = seconds < _TEN_MINUTES
    rounded = Fraction(half_up(seconds * 10), 10) if tenths else Fraction(half_up(seconds))
    minutes, over = divmod(rounded, _MINUTE)
    told = f"{decimal(over, 1):0>4}" if tenths else f"{decimal(over, 0):0>2}"
    if rounded < _HOUR:
        return f"{minutes}:{told}"
    return f"{minutes // _MINUTE}:{minutes % _MINUTE:02}:{told}"


def span_said(seconds: Fraction) -> str:
    """Return how long something lasts, in words: ``5 min 9 s``, ``40 s``, ``1.5 s``."""
    if seconds < _FEW:
        return f"{decimal(seconds, 1)} s"
    minutes, over = divmod(half_up(seconds), _MINUTE)
    if not minutes:
        return f"{over} s"
    return f"{minutes} min {over} s" if over else f"{minutes} min"


def figure_said(yardstick: Yardstick, at: Speed) -> str:
    """Return what a document should say at a speed, in its own unit."""
    figure = yardstick.at(at)
    if yardstick.measure is Measure.TIME:
        return time_said(figure)
    unit, places = _UNITS[yardstick.measure]
    return f"{plain(figure, places)} {unit}"


def fits(implied: Implied, at: Speed) -> bool:
    """Say whether what is implied, within what it states, allows a speed."""
    low, high = implied.lowest, implied.highest
    return (low is None or low <= at.fps) and (high is None or at.fps <= high)


def cells_of(implied: Implied, candidates: Iterable[Speed]) -> tuple[Cell, ...]:
    """Return what an item should have said at every candidate."""
    return tuple(
        Cell(text=figure_said(implied.yardstick, one), fits=fits(implied, one))
        for one in candidates
    )


def lengths_said(evidence: Evidence, frames: Quantity) -> str:
    """Return a length with its uncertainty in metres, and in feet: ``24 ± 6 m (79 ± 20 ft)``."""
    footage = evidence.footage or Footage.NOMINAL
    metres = frames.times(1 / frames_per_metre(evidence.gauge, footage))
    feet = frames.times(1 / frames_per_foot(evidence.gauge, footage))
    places = 0 if metres.uncertainty >= 1 else 1
    return f"{doubt_said(metres, places)} m ({doubt_said(feet, places)} ft)"


def length_frames_said(evidence: Evidence, frames: Fraction) -> str:
    """Return a length in metres and feet, to a decimal."""
    footage = evidence.footage or Footage.NOMINAL
    metres = frames / frames_per_metre(evidence.gauge, footage)
    feet = frames / frames_per_foot(evidence.gauge, footage)
    return f"{grouped(metres, 1)} m, {grouped(feet, 1)} ft"
