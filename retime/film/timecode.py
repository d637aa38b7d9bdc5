"""Timecode labels, non-drop and drop-frame.

Drop-frame skips the numbers 00 and 01 (at 60: 00 to 03) at the start of every minute that is
not a multiple of ten; no picture is dropped (SMPTE ST 12-1, as told in the encyclopaedia
article on SMPTE timecode).
"""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from retime.errors import NotationError
from retime.film.notation import shown

if TYPE_CHECKING:
    from retime.film.speed import Rate

__all__ = ["day_of", "drops", "frame_of", "label"]

_LABEL = re.compile(r"(\d{2}):(\d{2}):(\d{2})([:;])(\d{2,9})", re.ASCII)
_HINT = "write 01:00:00:00, or 01:00:00;00 for drop-frame"
_DAY_HOURS = 24
_SIXTY = 60
_DROPPING = {30: 2, 60: 4}


def drops(rate: Rate) -> bool:
    """Tell whether a rate has a drop-frame mode: 30000/1001 and 60000/1001."""
    return rate.is_fractional and rate.nominal.fps in _DROPPING


def label(frame: int, rate: Rate, *, drop: bool) -> str:
    """Return the label of output frame ``frame``, 0 or more; labels begin anew after 24 hours.

    Raises NotationError where the nominal rate is no whole number, or drop-frame is asked of
    a rate that has none.
    """
    nominal = _nominal(rate, drop=drop)
    skipped = _DROPPING[nominal] if drop else 0
    frame %= _day(nominal, skipped)
    if skipped:
        ten_minutes = nominal * 600 - 9 * skipped
        tens, inside = divmod(frame, ten_minutes)
        minutes = max(0, (inside - skipped) // (nominal * 60 - skipped))
        frame += skipped * (9 * tens + minutes)
    seconds, number = divmod(frame, nominal)
    minutes, second = divmod(seconds, 60)
    hour, minute = divmod(minutes, 60)
    mark = ";" if drop else ":"
    return f"{hour:02}:{minute:02}:{second:02}{mark}{number:0{_digits(nominal)}}"


def day_of(rate: Rate, *, drop: bool) -> int:
    """Return how many output frames 24 hours of labels have; raises as ``label``."""
    nominal = _nominal(rate, drop=drop)
    return _day(nominal, _DROPPING[nominal] if drop else 0)


def frame_of(text: str, rate: Rate) -> int:
    """Return the frame that a label names; ``;`` before the frames marks drop-frame.

    Raises NotationError for a label that does not exist at the rate.
    """
    found = _LABEL.fullmatch(text.strip())
    if not found:
        raise NotationError(f"{shown(text)} is no timecode", _HINT)
    drop = found[4] == ";"
    nominal = _nominal(rate, drop=drop)
    hour, minute, second, number = (int(found[place]) for place in (1, 2, 3, 5))
    if len(found[5]) != _digits(nominal):
        hint = f"frames are written in {_digits(nominal)} digits"
        raise NotationError(f"{shown(text)} is no timecode at {rate}", hint)
    if hour >= _DAY_HOURS or max(minute, second) >= _SIXTY or number >= nominal:
        hint = f"the last label of the day is 23:59:59{found[4]}{nominal - 1:0{_digits(nominal)}}"
        raise NotationError(f"{shown(text)} does not exist at {rate}", hint)
    skipped = _DROPPING[nominal] if drop else 0
    if skipped and second == 0 and minute % 10 and number < skipped:
        raise NotationError(
            f"{shown(text)} does not exist: drop-frame skips it",
            f"the first label of that minute is {found[1]}:{found[2]}:00;{skipped:02}",
        )
    minutes = hour * 60 + minute
    return (minutes * 60 + second) * nominal + number - skipped * (minutes - minutes // 10)


def _nominal(rate: Rate, *, drop: bool) -> int:
    nominal = rate.nominal.fps
    if nominal.denominator != 1:
        hint = "timecode counts whole frames a second: 24, 25, 30000/1001 or the like"
        raise NotationError(f"a rate of {rate} has no timecode", hint)
    if drop and not drops(rate):
        raise NotationError(
            f"a rate of {rate} has no drop-frame labels", "30000/1001 and 60000/1001 have"
        )
    return int(nominal)


def _digits(nominal: int) -> int:
    """Return in how many digits the frames of a label are written."""
    return max(2, len(str(nominal - 1)))


def _day(nominal: int, skipped: int) -> int:
    """Return how many frames 24 hours of labels have."""
    return _DAY_HOURS * (nominal * 3600 - skipped * 54)
