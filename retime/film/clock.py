"""Times as a clock tells them."""

from __future__ import annotations

from typing import TYPE_CHECKING

from retime.film.rounding import half_up

if TYPE_CHECKING:
    from fractions import Fraction

__all__ = ["clock"]


def clock(seconds: Fraction) -> str:
    """Return ``h:mm:ss.mmm``, to the nearest millisecond; ``seconds`` may be negative."""
    sign = "-" if seconds < 0 else ""
    whole, ms = divmod(half_up(abs(seconds) * 1000), 1000)
    minutes, second = divmod(whole, 60)
    hours, minute = divmod(minutes, 60)
    return f"{sign}{hours}:{minute:02}:{second:02}.{ms:03}"
