"""What an encoder that knows nothing of repeat flags is told, so that seconds of screen time fit.

The encoder reckons with one duration for every picture; shown for two fields or three, its
pictures come to other moments. Average and peak are scaled to the count of pictures that there
really are, and the buffer that the encoder may use is made smaller by what a real decoder's
buffer can at most be behind the encoder's own reckoning.
"""

from __future__ import annotations

from fractions import Fraction
from math import ceil
from typing import TYPE_CHECKING

import numpy as np
from msgspec import Struct

from retime.errors import OutputError

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from pathlib import Path

    from retime.film.speed import Rate

__all__ = ["ToldRates", "screen_rates", "told_rates"]

_STEPS = 32  # the mean duration that is reckoned with is a multiple of a field's 32nd
_LEAST, _MOST = 2, 3  # fields that a picture is shown for
_SHARE = 8  # the buffer gives up at most one part in so many


class ToldRates(Struct, frozen=True, kw_only=True):
    """Bits a second, and a decoder's buffer in bits: on average, at most."""

    average: int
    peak: int
    buffer: int

    @property
    def options(self) -> dict[str, str]:
        """The encoder's options that say so."""
        return {
            "b": str(self.average),
            "maxrate": str(self.peak),
            "bufsize": str(self.buffer),
        }


def screen_rates(options: Mapping[str, str], path: Path) -> ToldRates:
    """Return what options ask for; raises OutputError, about ``path``, where they do not."""
    found = {name: options.get(name, "") for name in ("b", "maxrate", "bufsize")}
    for name, text in found.items():
        if not (text.isascii() and text.isdecimal() and int(text)):
            hint = f"write {name} as a whole number of bits in the profile's options"
            raise OutputError(path, f"is encoded to no stated {name}", hint)
    average, peak, buffer = (int(text) for text in found.values())
    return ToldRates(average=average, peak=peak, buffer=buffer)


def told_rates(asked: ToldRates, runs: Sequence[int], rate: Rate) -> ToldRates:
    """Return what makes an encoder keep to ``asked``, which counts seconds of screen time.

    ``runs`` are the fields that each picture is shown for, 2 or 3; ``rate`` is what the encoder
    takes for the rate of its pictures, the deliverable's.
    """
    ends = np.cumsum(np.frombuffer(bytes(runs), np.uint8), dtype=np.int64)
    per_field = asked.peak / (2 * rate.fps)
    reckoned, behind = Fraction(_LEAST), 0
    for steps in range(_STEPS * _MOST, _STEPS * _LEAST, -1):
        late = ceil(Fraction(_behind(ends, steps), _STEPS) * per_field)
        if late * _SHARE <= asked.buffer:
            reckoned, behind = Fraction(steps, _STEPS), late
            break
    peak = int(asked.peak * reckoned / 2)
    average = int(asked.average * Fraction(int(ends[-1]), 2 * len(ends)))
    return ToldRates(average=min(average, peak), peak=peak, buffer=asked.buffer - behind)


def _behind(ends: np.ndarray[tuple[int], np.dtype[np.int64]], steps: int) -> int:
    """Return by how many steps at most a run of pictures is shorter than it is reckoned.

    The two ways of reckoning part by the difference of each picture's duration; what they part by
    within any run of pictures is what one buffer can have received less than the other.
    """
    parted = np.arange(len(ends) + 1) * steps
    parted[1:] -= ends * _STEPS
    return int(np.max(parted - np.minimum.accumulate(parted)))
