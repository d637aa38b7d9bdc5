"""TTML's time expressions, after "Timed Text Markup Language 1", sections 6.2 and 10.3.1."""

from __future__ import annotations

import re
from fractions import Fraction
from typing import TYPE_CHECKING

from msgspec import Struct

from retime.errors import NotationError
from retime.follow.subtitle_times import ClockStyle, CountStyle
from retime.yamldoc.quoting import quoted

if TYPE_CHECKING:
    from collections.abc import Mapping
    from typing import Self

    from retime.follow.subtitle_times import TimeStyle

__all__ = ["TtmlClock"]

_CLOCK = re.compile(
    r"([0-9]{2,4}):([0-5][0-9]):([0-5][0-9])"
    r"(?:\.(?P<decimals>[0-9]{1,9})|:(?P<frames>[0-9]{2,4})(?:\.(?P<parts>[0-9]{1,4}))?)?"
)
_OFFSET = re.compile(r"([0-9]{1,12})(?:\.([0-9]{1,9}))?(h|m|s|ms|f|t)")
_COUNT = re.compile(r"[1-9][0-9]{0,9}")
_MULTIPLIER = re.compile(r"([1-9][0-9]{0,5})[ :]([1-9][0-9]{0,5})")
_SECONDS = {"h": Fraction(3600), "m": Fraction(60), "s": Fraction(1), "ms": Fraction(1, 1000)}
_THOUSANDTHS = ClockStyle(hours=2, mark=".", places=3)
_EXAMPLE = "write it as 00:01:02.500 or 62.5s"


class TtmlClock(Struct, frozen=True, kw_only=True):
    """What a document says of its frames and ticks: how many make a second, None if it does not.

    ``parts`` is how many sub-frames make a frame.
    """

    frames: Fraction | None = None
    parts: int = 1
    ticks: int | None = None

    @classmethod
    def of(cls, parameters: Mapping[str, str]) -> Self:
        """Return the clock of a document with these parameters, by their local names.

        Raises:
            NotationError: one of them is not as it must be.
        """
        base = parameters.get("timeBase", "media")
        if base != "media":
            text = f"times are those of {quoted(base)}, and not of the film"
            raise NotationError(text, "write them as media time")
        rate, parts, ticks = (
            _count(parameters, name) for name in ("frameRate", "subFrameRate", "tickRate")
        )
        spoken = parameters.get("frameRateMultiplier", "1 1")
        multiplier = _MULTIPLIER.fullmatch(spoken)
        if multiplier is None:
            text = f"frameRateMultiplier is {quoted(spoken)}"
            raise NotationError(text, "write it as 1000 1001")
        factor = Fraction(int(multiplier[1]), int(multiplier[2]))
        if ticks is None:  # as the standard has it
            ticks = rate * (parts or 1) if rate else 1
        return cls(frames=rate * factor if rate else None, parts=parts or 1, ticks=ticks)

    def read(self, text: str) -> tuple[Fraction, TimeStyle]:
        """Return the seconds that an expression stands for, and how its kind is written.

        What counts frames, minutes or hours is written as clock time to the thousandth, as it can
        then say any time.

        Raises:
            NotationError: it is no time, or counts frames of no stated rate.
        """
        offset = _OFFSET.fullmatch(text)
        if offset is not None:
            return self._offset(offset[1], offset[2] or "", offset[3])
        clock = _CLOCK.fullmatch(text)
        if clock is None:
            raise NotationError(f"{quoted(text)} is no time", _EXAMPLE)
        hours, minutes, seconds = (int(clock[number]) for number in (1, 2, 3))
        whole = Fraction((hours * 60 + minutes) * 60 + seconds)
        if clock["frames"] is not None:
            return whole + self._frames(text, clock["frames"], clock["parts"]), _THOUSANDTHS
        decimals = clock["decimals"] or ""
        style = ClockStyle(hours=len(clock[1]), mark=".", places=max(3, len(decimals)))
        return whole + _decimals(decimals), style

    def _offset(self, count: str, decimals: str, metric: str) -> tuple[Fraction, TimeStyle]:
        amount = int(count) + _decimals(decimals)
        if metric == "f":
            return amount / self._rate(f"{count}{metric}"), _THOUSANDTHS
        if metric == "t":
            ticks = self.ticks or 1
            fine = ticks >= _THOUSANDTHS.per_second
            style = CountStyle(unit="t", whole=ticks, places=0) if fine else _THOUSANDTHS
            return amount / ticks, style
        seconds = amount * _SECONDS[metric]
        if metric == "s":
            return seconds, CountStyle(unit="s", whole=1, places=max(3, len(decimals)))
        if metric == "ms":
            return seconds, CountStyle(unit="ms", whole=1000, places=len(decimals))
        return seconds, _THOUSANDTHS

    def _frames(self, text: str, frames: str, parts: str | None) -> Fraction:
        rate = self._rate(text)
        count, part = int(frames), int(parts or 0)
        if count >= rate or part >= self.parts:
            raise NotationError(
                f"{quoted(text)} is no time: there are not so many frames", _EXAMPLE
            )
        return (count + Fraction(part, self.parts)) / rate

    def _rate(self, text: str) -> Fraction:
        if self.frames is None:
            what = f"{quoted(text)} counts frames, and the document states no ttp:frameRate"
            raise NotationError(what, _EXAMPLE)
        return self.frames


def _decimals(digits: str) -> Fraction:
    return Fraction(int(digits or 0), 10 ** len(digits))


def _count(parameters: Mapping[str, str], name: str) -> int | None:
    """Return a parameter that counts, None if it is not there."""
    text = parameters.get(name)
    if text is None:
        return None
    if _COUNT.fullmatch(text) is None:
        raise NotationError(f"{name} is {quoted(text)}", "write a whole number")
    return int(text)
