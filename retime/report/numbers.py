"""Exact numbers as texts for a report."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from retime.film.rounding import half_up

if TYPE_CHECKING:
    from fractions import Fraction

__all__ = ["LONGEST", "decimal", "exact", "is_short", "measured", "milliseconds", "said", "signed"]

LONGEST = 100
"""An exact fraction is written out up to so many digits."""

_DIGIT_BITS = 3.3219280948873626
_PLACES = 12


def is_short(x: Fraction) -> bool:
    """Tell whether a fraction has at most 100 digits."""
    bits = x.numerator.bit_length() + x.denominator.bit_length()
    return (
        bits <= (LONGEST + 2) * _DIGIT_BITS and len(str(x).lstrip("-").replace("/", "")) <= LONGEST
    )


def decimal(x: Fraction, places: int) -> str:
    """Return a fraction to so many decimals, half up."""
    scaled = half_up(abs(x) * 10**places)
    whole, rest = divmod(scaled, 10**places)
    sign = "-" if x < 0 and scaled else ""
    return f"{sign}{whole}.{rest:0{places}}" if places else f"{sign}{whole}"


def exact(x: Fraction) -> str:
    """Return a fraction as an exact text, or to 12 decimals where that is over 100 digits."""
    return str(x) if is_short(x) else decimal(x, _PLACES)


def measured(x: Fraction) -> str:
    """Return a measure as an exact decimal where it has one, else as ``exact`` does."""
    rest, twos, fives = x.denominator, 0, 0
    while rest % 2 == 0:
        rest, twos = rest // 2, twos + 1
    while rest % 5 == 0:
        rest, fives = rest // 5, fives + 1
    places = max(twos, fives)
    return decimal(x, places) if rest == 1 and places <= _PLACES else exact(x)


def said(**numbers: Fraction) -> dict[str, Any]:
    """Return named fractions as texts, with ``exact`` false beside them if one is not."""
    told: dict[str, Any] = {name: exact(x) for name, x in numbers.items()}
    if not all(map(is_short, numbers.values())):
        told["exact"] = False
    return told


def milliseconds(seconds: Fraction) -> float:
    """Return a time in milliseconds, to a thousandth, as a float for JSON."""
    return half_up(seconds * 1_000_000) / 1000


def signed(number: float, places: int) -> str:
    """Return a number to so many places with its sign, the minus as wide as the plus."""
    told = f"{number:+.{places}f}"
    return told.replace("-", "\N{MINUS SIGN}") if float(told) else told[1:]
