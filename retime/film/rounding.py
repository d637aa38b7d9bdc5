"""The one place where an exact number becomes a whole one, by named rules."""

from __future__ import annotations

from fractions import Fraction
from math import ceil, floor

__all__ = ["ceiling_of", "floor_of", "half_up"]

_HALF = Fraction(1, 2)


def half_up(x: Fraction) -> int:
    """Return the nearest whole number, the upper one of two: floor(x + 1/2)."""
    return floor(x + _HALF)


def floor_of(x: Fraction) -> int:
    """Return the largest whole number not above ``x``."""
    return floor(x)


def ceiling_of(x: Fraction) -> int:
    """Return the smallest whole number not below ``x``."""
    return ceil(x)
