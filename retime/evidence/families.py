"""What figures measure: how a value of each family is read, and what it comes to."""

from __future__ import annotations

import re
from fractions import Fraction
from typing import TYPE_CHECKING, Generic, TypeVar

from msgspec import Struct

from retime.errors import NotationError
from retime.evidence.figures import Share, bounds_of, parse_figure, parse_tolerance
from retime.evidence.quantity import exactly
from retime.film.length import LengthUnit, SpokenLength, parse_length
from retime.film.notation import SpeedUnit, SpokenSpeed, parse_number, parse_speed, parse_time
from retime.yamldoc.quoting import quoted

if TYPE_CHECKING:
    from collections.abc import Callable

    from retime.evidence.figures import Figure
    from retime.evidence.measures import Measures
    from retime.evidence.quantity import Quantity

__all__ = [
    "DISTANCE",
    "FREQUENCY",
    "LENGTH",
    "NUMBER",
    "READING",
    "SHARE",
    "SPEED",
    "TIME",
    "Family",
    "by_metres",
    "parse_steady",
]

_T = TypeVar("_T")

_FOOT = Fraction(3048, 10_000)
_SIXTY = 60
_THOUSAND = 1000
_READING_HINT = "write seconds a word, such as 0.33..0.375 s/word"
_DISTANCE_HINT = "write 1.2 m, or 4 ft"
_FREQUENCY_HINT = "write 1.8 /s, or 109 /min"
_DISTANCE = re.compile(r"(.*[^ ]) *(m|ft)")
_FREQUENCY = re.compile(r"(.*[^ ]) */ *(s|min)")


class Family(Struct, Generic[_T], frozen=True, kw_only=True):
    """A family of figures.

    ``read`` reads one value, ``comes_to`` says what a figure is in the family's unit, and
    ``bounds`` shows how its tolerance may be written.
    """

    read: Callable[[str], _T]
    comes_to: Callable[[Figure[_T], Measures], Quantity]
    bounds: str

    def figure(self, text: str) -> Figure[_T]:
        """Return the figure that a text tells."""
        return parse_figure(text, self.read)

    def tolerance(self, text: str) -> _T | Share:
        """Return the tolerance that a text tells."""
        return parse_tolerance(text, self.read)


def parse_steady(text: str) -> SpokenSpeed:
    """Read a speed, and refuse a ramp."""
    if "->" in text:
        raise NotationError(f"{quoted(text)} is a ramp", "one speed is weighed, such as 18 fps")
    return parse_speed(text)


def by_metres(figure: Figure[_T]) -> bool:
    """Say whether a figure is told in metres of film."""
    metric = {LengthUnit.METRES, SpeedUnit.METRES_PER_MINUTE}
    return any(getattr(part, "unit", None) in metric for part in figure.parts())


def _number(text: str) -> Fraction:
    hint = "write a number, such as 12 or 12.5"
    return parse_number(text.strip(), said=text, noun="number", hint=hint)


def _distance(text: str) -> Fraction:
    """Read a distance in metres."""
    said = _DISTANCE.fullmatch(text.strip())
    if not said:
        raise NotationError(f"{quoted(text)} is no distance", _DISTANCE_HINT)
    amount = parse_number(said[1], said=text, noun="distance", hint=_DISTANCE_HINT)
    return amount * (_FOOT if said[2] == "ft" else 1)


def _frequency(text: str) -> Fraction:
    """Read how often a second something comes."""
    said = _FREQUENCY.fullmatch(text.strip())
    if not said:
        raise NotationError(f"{quoted(text)} does not say how often", _FREQUENCY_HINT)
    amount = parse_number(said[1], said=text, noun="frequency", hint=_FREQUENCY_HINT)
    return amount / (_SIXTY if said[2] == "min" else 1)


def _reading(text: str) -> Fraction:
    """Read how many seconds a word takes."""
    amount, slash, per = (part.strip() for part in text.partition("/"))
    if not slash or per != "word" or not amount.endswith("s"):
        raise NotationError(f"{quoted(text)} is no rule of reading", _READING_HINT)
    number = amount.removesuffix("s").rstrip()
    return parse_number(number, said=text, noun="rule of reading", hint=_READING_HINT)


def _plain(figure: Figure[Fraction], measures: Measures) -> Quantity:  # noqa: ARG001 - none needed
    return bounds_of(figure, lambda value: value)


def _frames(figure: Figure[SpokenLength], measures: Measures) -> Quantity:
    return bounds_of(figure, measures.frames)


def _fps(figure: Figure[SpokenSpeed], measures: Measures) -> Quantity:
    """Return a speed; one that is told by the time of 1,000 feet is within what that time is."""
    timed = [part.unit is SpeedUnit.TIME_PER_1000_FEET for part in figure.parts()]
    if all(timed):
        seconds = bounds_of(figure, lambda speed: speed.amount)
        return exactly(_THOUSAND * measures.per_foot) / seconds
    if any(timed):
        what = f"{quoted(figure.text)} is a speed on one side and a time on the other"
        raise NotationError(what, "tell both alike")
    return bounds_of(figure, measures.fps)


TIME: Family[Fraction] = Family(
    read=parse_time,
    comes_to=_plain,
    bounds="within: 5 min, within: 2 %, or a range such as 90..100 min",
)
"""In seconds."""

LENGTH: Family[SpokenLength] = Family(
    read=parse_length,
    comes_to=_frames,
    bounds="within: 20 ft, within: 2 %, or a range such as 980..1000 ft",
)
"""In film frames."""

SPEED: Family[SpokenSpeed] = Family(
    read=parse_steady,
    comes_to=_fps,
    bounds="within: 1 fps, within: 5 %, or a range such as 18..22 fps",
)
"""In film frames per second."""

NUMBER: Family[Fraction] = Family(
    read=_number, comes_to=_plain, bounds="within: 0.5, within: 2 %, or a range such as 11..12"
)
"""A number of no unit."""

SHARE: Family[Fraction] = Family(
    read=_number, comes_to=_plain, bounds="within: 0.1, within: 10 %, or a range such as 0.5..0.7"
)
"""A part of 1."""

FREQUENCY: Family[Fraction] = Family(
    read=_frequency,
    comes_to=_plain,
    bounds="within: 0.1 /s, within: 5 %, or a range such as 1.7..1.9 /s",
)
"""A second."""

DISTANCE: Family[Fraction] = Family(
    read=_distance,
    comes_to=_plain,
    bounds="within: 0.1 m, within: 2 %, or a range such as 4.8..5 m",
)
"""In metres of the scene, not of film."""

READING: Family[Fraction] = Family(
    read=_reading,
    comes_to=_plain,
    bounds="within: 0.05 s/word, within: 10 %, or a range such as 0.33..0.375 s/word",
)
"""Seconds a word."""
