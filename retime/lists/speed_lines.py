"""M2, the speed line of an EDL, and how much of its source an event with one uses.

M2 says a reel, a speed and the label at which it holds. The speed counts source frames per second
of record time, at the record's own frame rate, with one decimal; below 0 the source runs
backwards, and 0 freezes it (SMPTE ST 258:2004, Transfer of Edit Decision Lists, and the CMX 3600
form, both from memory).

**What an event uses.** One record frame lasts 1/r seconds, r being the rate. An event of d record
frames lasts d/r seconds. In a second pass s source frames. So the event uses d s/r source frames:
180 record frames at 18 in 24 use 135. (Dividing d by the scalar s/r instead, as at least one
public writer does, gives 240, which would be the record frames that 180 source frames fill.)

**Rounding.** d s/r is seldom whole and a label names whole frames. Source out is exclusive, as
every out of an EDL is: source in plus d s/r, rounded half up, and at least one frame, for what is
shown is one at least. Where the film's own cut says how many frames there are, they stand: d came
from rounding the cuts to whole record frames, so they differ from d s/r by less than one frame of
the source, or by less than what passes in one frame of the record. The s of this rule is the speed
itself; the line has room for its tenths alone, and may be half a tenth a second off.
"""

from __future__ import annotations

import re
from fractions import Fraction

from retime.errors import NotationError
from retime.film.notation import shown
from retime.film.rounding import floor_of, half_up

__all__ = [
    "FASTEST",
    "error_over",
    "fits",
    "frames_said",
    "parse_m2_speed",
    "said_as",
    "source_length",
    "source_used",
    "spoken",
    "tenths_said",
    "written_speed",
]

FASTEST = Fraction(9999, 10)
"""Three digits stand before the decimal point."""

_SPEED = re.compile(r"([+-]?)(\d{1,6})(?:\.(\d{0,6}))?", re.ASCII)
_SHORT = 12
_PLACES = 4


def said_as(ratio: Fraction, nominal: int) -> Fraction:
    """Return the speed that M2 can say: tenths, half up, away from 0 when running backwards.

    ``ratio`` is source frames to one record frame, ``nominal`` how many of these labels count
    to a second.
    """
    tenths = half_up(abs(ratio) * nominal * 10)
    speed = min(Fraction(tenths, 10), FASTEST)
    return -speed if ratio < 0 else speed


def source_used(speed: Fraction, record: int, nominal: int) -> Fraction:
    """Return d s/r: how many source frames ``record`` frames use, as an exact number."""
    return abs(speed) * record / nominal


def source_length(speed: Fraction, record: int, nominal: int) -> int:
    """Return how many whole source frames an event names: d s/r half up, and at least one."""
    return max(1, half_up(source_used(speed, record, nominal)))


def fits(source: int, speed: Fraction, record: int, nominal: int) -> bool:
    """Tell whether a length of source goes with a speed line, which has tenths alone."""
    apart = abs(source - source_used(speed, record, nominal))
    ends = max(Fraction(1), abs(speed) / nominal)
    tenths = Fraction(record, 20 * nominal) if speed else 0
    return apart < ends + tenths or source == source_length(speed, record, nominal)


def error_over(ratio: Fraction, speed: Fraction, record: int, nominal: int) -> Fraction:
    """Return how many source frames M2 is ahead at the end of an event, behind below 0."""
    return (abs(speed) / nominal - abs(ratio)) * record


def parse_m2_speed(text: str) -> Fraction:
    """Read the speed of a speed line: ``024.0``, ``-012.5``, ``18``, ``0``."""
    found = _SPEED.fullmatch(text.strip())
    if not found:
        hint = "write source frames a second, such as 018.0, -024.0 or 000.0"
        raise NotationError(f"{shown(text)} is no speed of an M2 line", hint)
    speed = Fraction(f"{found[2]}.{found[3] or 0}")
    return -speed if found[1] == "-" else speed


def written_speed(speed: Fraction) -> str:
    """Return a speed as M2 writes it: three digits, a point, one decimal, - for backwards."""
    tenths = half_up(abs(speed) * 10)
    return f"{'-' if speed < 0 else ''}{tenths // 10:03}.{tenths % 10}"


def tenths_said(speed: Fraction) -> str:
    """Return a speed that M2 can say as people write it: ``17.8``."""
    tenths = half_up(abs(speed) * 10)
    return f"{'-' if speed < 0 else ''}{tenths // 10}.{tenths % 10}"


def frames_said(x: Fraction) -> str:
    """Return a number of frames to two decimals, ``6.2``; under 0.01 it is told to be so."""
    hundredths = half_up(abs(x) * 100)
    if x and not hundredths:
        return "less than 0.01"
    whole, rest = divmod(hundredths, 100)
    decimals = f".{rest:02}".rstrip("0").rstrip(".")
    return f"{'-' if x < 0 else ''}{whole}{decimals}"


def spoken(x: Fraction) -> str:
    """Return a number for a remark: exact if that is short, else to four decimals."""
    if x.denominator.bit_length() + x.numerator.bit_length() < _SHORT * 3:
        exact = str(x)
        if len(exact) <= _SHORT:
            return exact
    scaled = half_up(abs(x) * 10**_PLACES)
    whole = floor_of(Fraction(scaled, 10**_PLACES))
    return f"{'-' if x < 0 else ''}{whole}.{scaled % 10**_PLACES:0{_PLACES}}"
