"""Reads speeds, rates and times as people write them."""

from __future__ import annotations

import re
from enum import StrEnum
from fractions import Fraction

from msgspec import Struct

from retime.errors import NotationError
from retime.film.speed import Ramp, Rate, Speed

__all__ = [
    "SpeedUnit",
    "SpokenRamp",
    "SpokenSpeed",
    "parse_number",
    "parse_pace",
    "parse_rate",
    "parse_speed",
    "parse_time",
    "shown",
]

_NUMBER = re.compile(r"\d{1,9}(?:\.\d{1,6})?|\d{1,9}/\d{1,9}", re.ASCII)
_TOO_LONG = re.compile(r"\d+(?:\.\d+)?|\d+/\d+", re.ASCII)
_CLOCK = re.compile(r"(?:(\d{1,4}):(?=\d\d:))?(\d{1,4}):(\d{2}(?:\.\d{1,6})?)", re.ASCII)
_SHORT_HINT = "write at most 6 decimals, or a fraction of numbers of at most 9 digits"
_SPEED_HINT = "write 18 fps, 75 ft/min, 22.86 m/min or 13:20 /1000ft"
_TIME_HINT = "write h:mm:ss, m:ss, 4 s or 90 min"
_SIXTY = 60
_THOUSAND_FEET = 1000
_SHOWN = 60


class SpeedUnit(StrEnum):
    """What a spoken speed counts."""

    FPS = "fps"
    FEET_PER_MINUTE = "ft/min"
    METRES_PER_MINUTE = "m/min"
    TIME_PER_1000_FEET = "/1000ft"


class SpokenSpeed(Struct, frozen=True, kw_only=True):
    """A speed as it was said; ``amount`` in ``unit`` (seconds for a time per 1,000 feet)."""

    amount: Fraction
    unit: SpeedUnit
    text: str

    @property
    def needs_length(self) -> bool:
        """Whether the speed is told by a length of film, and so by its gauge."""
        return self.unit is not SpeedUnit.FPS

    def on(self, frames_per_foot: Fraction | None, frames_per_metre: Fraction | None) -> Speed:
        """Return the speed in frames, on film of so many frames to the foot or metre.

        Raises NotationError where the unit needs the one that is None.
        """
        match self.unit:
            case SpeedUnit.FPS:
                return Speed(self.amount)
            case SpeedUnit.METRES_PER_MINUTE:
                return Speed(self.amount * self._known(frames_per_metre, "metre") / _SIXTY)
            case SpeedUnit.FEET_PER_MINUTE:
                return Speed(self.amount * self._known(frames_per_foot, "foot") / _SIXTY)
            case SpeedUnit.TIME_PER_1000_FEET:
                frames = _THOUSAND_FEET * self._known(frames_per_foot, "foot")
                return Speed(frames / self.amount)

    def _known(self, frames: Fraction | None, measure: str) -> Fraction:
        if frames is None:
            raise NotationError(
                f"{shown(self.text)} needs to know how many frames a {measure} holds",
                "state footage: nominal or footage: pitch",
            )
        return frames

    def __str__(self) -> str:
        """Return what was written."""
        return self.text


class SpokenRamp(Struct, frozen=True, kw_only=True):
    """A ramp as it was said."""

    first: SpokenSpeed
    last: SpokenSpeed

    def on(self, frames_per_foot: Fraction | None, frames_per_metre: Fraction | None) -> Ramp:
        """Return the ramp in frames; see SpokenSpeed.on."""
        return Ramp(
            self.first.on(frames_per_foot, frames_per_metre),
            self.last.on(frames_per_foot, frames_per_metre),
        )

    def __str__(self) -> str:
        """Return what was written."""
        return f"{self.first} -> {self.last}"


def shown(text: str) -> str:
    """Return ``text`` as a message shows it: quoted, on one line, cut to 60 characters."""
    return repr(text if len(text) <= _SHOWN else text[:_SHOWN] + "...")


def parse_number(number: str, *, said: str, noun: str, hint: str) -> Fraction:
    """Read a number above 0: at most 6 decimals, or a fraction of terms of at most 9 digits.

    ``said`` is the whole figure that the number is part of, ``noun`` what that figure is meant
    to be: they and ``hint`` make the message of the NotationError.
    """
    if not _NUMBER.fullmatch(number):
        too_long = _TOO_LONG.fullmatch(number)
        raise NotationError(f"{shown(said)} is no {noun}", _SHORT_HINT if too_long else hint)
    above, _, below = number.partition("/")
    if below and not int(below):
        raise NotationError(f"{shown(said)} divides by 0", hint)
    whole, _, decimals = above.partition(".")  # Fraction reads decimals too, five times slower
    value = int(whole + decimals)
    if value == 0:
        raise NotationError(f"{shown(said)} is not above 0", hint)
    return Fraction(value, int(below or 1) * 10 ** len(decimals))


_ENDINGS = tuple((unit.value, unit) for unit in SpeedUnit)


def parse_speed(text: str) -> SpokenSpeed:
    """Read a speed: ``20``, ``20 fps``, ``240/11``, ``75 ft/min``, ``13:20 /1000ft``..."""
    written = text.strip()
    ends = (pair for pair in _ENDINGS if written.endswith(pair[0]))
    ending, unit = next(ends, ("", SpeedUnit.FPS))
    amount = written.removesuffix(ending).rstrip()
    if unit is SpeedUnit.TIME_PER_1000_FEET:
        return SpokenSpeed(amount=parse_time(amount), unit=unit, text=written)
    if amount.startswith("-"):
        raise NotationError(f"a speed is above 0, not {shown(text)}", _SPEED_HINT)
    fps = parse_number(amount, said=text, noun="speed", hint=_SPEED_HINT)
    return SpokenSpeed(amount=fps, unit=unit, text=written)


def parse_pace(text: str) -> SpokenSpeed | SpokenRamp:
    """Read a speed, or a ramp of two: ``18 fps -> 22 fps``."""
    first, arrow, last = text.partition("->")
    if not arrow:
        return parse_speed(text)
    if "->" in last:
        raise NotationError(f"{shown(text)} has more than two speeds", "write 18 fps -> 22 fps")
    return SpokenRamp(first=parse_speed(first), last=parse_speed(last))


# Rates that are spoken in decimals and mean N x 1000/1001: those of Rec. ITU-R BT.709, the
# shorter 23.98 by common practice, and twice 23.976.
_DECIMAL_RATES = {
    Fraction("23.976"): Fraction(24000, 1001),
    Fraction("23.98"): Fraction(24000, 1001),
    Fraction("29.97"): Fraction(30000, 1001),
    Fraction("47.952"): Fraction(48000, 1001),
    Fraction("59.94"): Fraction(60000, 1001),
}


def parse_rate(text: str) -> Rate:
    """Read a rate; ``23.976``, ``29.97`` and ``59.94`` mean N x 1000/1001."""
    written = text.strip().removesuffix("fps").strip()
    hint = "write 24, 25, 30, 23.976, 24000/1001 or the like"
    number = parse_number(written, said=text, noun="rate", hint=hint)
    return Rate(number if "/" in written else _DECIMAL_RATES.get(number, number))


def parse_time(text: str) -> Fraction:
    """Read a time above 0 in seconds: ``1:37:12.5``, ``12:40`` (m:ss), ``4 s``, ``90 min``."""
    written = text.strip()
    clock = _CLOCK.fullmatch(written)
    if clock:
        hours, minutes, seconds = clock.groups()
        late = Fraction(seconds) >= _SIXTY or (hours is not None and int(minutes) >= _SIXTY)
        if late:
            raise NotationError(f"{shown(text)} has a field of 60 or more", _TIME_HINT)
        value = (int(hours or 0) * _SIXTY + int(minutes)) * _SIXTY + Fraction(seconds)
        if value <= 0:
            raise NotationError(f"{shown(text)} is not above 0", _TIME_HINT)
        return value
    for unit, seconds_each in (("min", _SIXTY), ("s", 1)):
        if written.endswith(unit):
            amount = written.removesuffix(unit).rstrip()
            return parse_number(amount, said=text, noun="time", hint=_TIME_HINT) * seconds_each
    raise NotationError(f"{shown(text)} is no time", _TIME_HINT)
