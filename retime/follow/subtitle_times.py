"""How subtitle files write times: read exactly, and written again in the way they were."""

from __future__ import annotations

import re
from fractions import Fraction
from typing import Protocol

from msgspec import Struct

from retime.errors import NotationError
from retime.yamldoc.quoting import quoted

__all__ = ["ClockStyle", "CountStyle", "TimeStyle", "clock_time"]

_CLOCK = re.compile(
    r"(?:(?P<hours>[0-9]{1,4}):)?(?P<minutes>[0-9]{2}):(?P<seconds>[0-9]{2})"
    r"(?P<mark>[.,])(?P<decimals>[0-9]{1,9})"
)
_SIXTY = 60


class TimeStyle(Protocol):
    """A way to write times, which are whole counts of ``1 / per_second``."""

    @property
    def per_second(self) -> int:
        """Return how many of the smallest steps make a second."""

    def text(self, units: int) -> str:
        """Write a time of so many steps, 0 or more."""


class ClockStyle(Struct, frozen=True, kw_only=True):
    """``h:mm:ss.d``: at least ``hours`` digits of hours, ``places`` decimals after ``mark``.

    Where ``hours`` is 0, times below one hour have none, and others two digits.
    """

    hours: int
    mark: str
    places: int

    @property
    def per_second(self) -> int:
        """Return how many of the smallest steps make a second."""
        return int(10**self.places)

    def text(self, units: int) -> str:
        """Write a time of so many steps, 0 or more."""
        seconds, decimals = divmod(units, self.per_second)
        minutes, second = divmod(seconds, _SIXTY)
        hours, minute = divmod(minutes, _SIXTY)
        head = f"{hours:0{self.hours or 2}}:" if self.hours or hours else ""
        return f"{head}{minute:02}:{second:02}{self.mark}{decimals:0{self.places}}"


class CountStyle(Struct, frozen=True, kw_only=True):
    """A count with a unit, as in TTML's ``12.500s``; ``whole`` units make a second."""

    unit: str
    whole: int
    places: int

    @property
    def per_second(self) -> int:
        """Return how many of the smallest steps make a second."""
        return self.whole * int(10**self.places)

    def text(self, units: int) -> str:
        """Write a time of so many steps, 0 or more."""
        if not self.places:
            return f"{units}{self.unit}"
        count, decimals = divmod(units, 10**self.places)
        return f"{count}.{decimals:0{self.places}}{self.unit}"


def clock_time(
    text: str, *, marks: str, places: int, hours: int, example: str
) -> tuple[Fraction, ClockStyle]:
    """Return the seconds that a time on the clock stands for, and how it was written.

    It has ``places`` decimals after one of ``marks``, and at least ``hours`` digits of hours, which
    can be left out where that is 0.

    Raises:
        NotationError: it is no such time; ``example`` is shown as one.
    """
    found = _CLOCK.fullmatch(text)
    if (
        found is None
        or found["mark"] not in marks
        or len(found["decimals"]) != places
        or (hours and found["hours"] is None)
        or (found["hours"] is not None and len(found["hours"]) < (hours or 2))
    ):
        raise NotationError(f"{quoted(text)} is no time", f"write it as {example}")
    minutes, seconds = int(found["minutes"]), int(found["seconds"])
    if minutes >= _SIXTY or seconds >= _SIXTY:
        text = f"{quoted(text)} is no time: minutes and seconds go to 59"
        raise NotationError(text, f"write it as {example}")
    whole = (int(found["hours"] or 0) * _SIXTY + minutes) * _SIXTY + seconds
    style = ClockStyle(hours=len(found["hours"] or ""), mark=found["mark"], places=places)
    return whole + Fraction(int(found["decimals"]), 10**places), style
