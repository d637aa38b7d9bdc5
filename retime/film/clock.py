"""Times as a clock tells them."""

from __future__ import annotations

from typing import TYPE_CHECKING

from retime.film.rounding import half_up

if TYPE_CHECKING:
    from fractions import Fraction

__all__ = ["clock"]


def clock(seconds: Fraction) -> str:
    """Return ``h:mm:ss.mmm``, to the nearest millisecond, half up; ``seconds`` may be negative."""
    thousandths = half_up(seconds * 1000)
    sign = "-" if thousandths < 0 else ""
    whole, ms = divmod(abs(thousandths), 1000)
    minutes, second = divmod(whole, 60)
    hours, minute = divmod(minutes, 60)
    return f"{sign}{hours}:{minute:02}:{second:02}.{ms:03}"
