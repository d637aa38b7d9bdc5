"""Sound held against what it should be, a window of two seconds after another.

What is compared is how the loudness moves: the logarithm of the power of the samples' differences,
smoothed over 2 ms, its slow part taken off. Shifted by every bin up to half a second, what is heard
fits what is expected by the coefficient of correlation; the shift where it fits best is by how much
the sound is late. Where the loudness does not move, in silence and in steady tones, nothing is
told; nor is it where two shifts fit alike.
"""

from __future__ import annotations

from enum import StrEnum
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
from msgspec import Struct

if TYPE_CHECKING:
    from numpy.typing import NDArray

__all__ = [
    "HOP",
    "MARGIN",
    "REACH",
    "WINDOW",
    "Fit",
    "Hearing",
    "best_shift",
    "fit_window",
    "likenesses",
    "moving",
]

WINDOW, HOP, REACH = 4000, 1000, 1000
"""Bins: a window, from one to the next, and how far sound is looked for to each side."""
MARGIN = 400
"""Bins around a window by which its slow part is known."""
_FINE, _SLOW = 4.0, 120.0
_SILENT, _HEARD = 1e-8, 1e-6
"""Mean squares of differences below which there is silence, and above which there is sound."""
_NOTHING = 1e-5
_DEPTH, _PEAK_DEPTH = 10**-3.5, 1e-4
"""How far sound is followed: 35 dB below what is loud in a window, 40 below the loudest."""
_LOUD_SHARE = 0.9
_MOST = 2.0
"""Where sound begins and ends its loudness moves by much more than this (natural logarithm), and
would outweigh all that is between."""
_STILL = 0.05
_FITS, _FOREIGN = 0.4, 0.15
"""What fits no better, even coded or stretched, fits by chance; and what does not even fit so well
where it should is another sound."""
_ALIKE = 0.03
_SMALL = 1e-12


class Hearing(StrEnum):
    """What a window of sound says."""

    RIGHT = "right"
    SHIFTED = "shifted"
    FOREIGN = "foreign"
    """It fits nowhere near."""
    MISSING = "missing"
    """There is silence where there should be sound."""
    STRAY = "stray"
    """There is sound where there should be silence."""
    CANNOT_TELL = "cannot tell"
    SILENT = "silent"


class Fit(Struct, frozen=True):
    """What a window says.

    ``shift`` is by how many bins it is late where it fits best, ``likeness`` how well it fits
    there: 1 at best, and up to a half by chance.
    """

    hearing: Hearing
    shift: float = 0.0
    likeness: float = 0.0


class Best(NamedTuple):
    """The shift that fits best, the nearest of those that fit alike, and how well it does.

    ``near`` is how well the best fits of those that are none.
    """

    shift: float
    likeness: float
    near: float


def floor_of(power: NDArray[np.float64]) -> float:
    """Return the power below which nothing moves, in what should be heard."""
    loud = float(np.quantile(power, _LOUD_SHARE))
    return max(loud * _DEPTH, float(power.max()) * _PEAK_DEPTH, _SILENT * _DEPTH)


def moving(
    power: NDArray[np.float64], floor: float, *, fine: float = _FINE, slow: float = _SLOW
) -> NDArray[np.float64]:
    """Return how the loudness of bins moves: its logarithm, smooth, without what is slow.

    ``fine`` and ``slow`` are the deviations of the bell curves that smooth it, in bins; below
    ``floor`` nothing moves.
    """
    loud = np.log(np.maximum(_smooth(power, fine), 0) + floor)
    return np.clip(loud - _smooth(loud, slow), -_MOST, _MOST)


def fit_window(heard: NDArray[np.float64], expected: NDArray[np.float64], near: float) -> Fit:
    """Return what a window says of its middle.

    ``expected`` are the bins of a window with MARGIN more to each side; ``heard`` has REACH more
    still. Shifts up to ``near`` bins are none.
    """
    inner = slice(MARGIN, -MARGIN)
    around = heard[REACH:-REACH]
    quarter = (len(expected) - 2 * MARGIN) // 4
    middle = slice(MARGIN + quarter, -MARGIN - quarter)
    loud, found = float(expected[middle].mean()), float(around[middle].mean())
    if loud < _SILENT:
        return Fit(Hearing.STRAY if found > _HEARD else Hearing.SILENT)
    if loud > _HEARD and found < loud * _NOTHING:
        return Fit(Hearing.MISSING)
    floor = floor_of(expected[inner])
    wanted = moving(expected, floor)[inner]
    if wanted.std() < _STILL:
        return Fit(Hearing.CANNOT_TELL)
    best = best_shift(moving(heard, floor)[inner], wanted, near)
    if best.likeness < _FITS:
        hearing = Hearing.FOREIGN if best.near < _FOREIGN else Hearing.CANNOT_TELL
    else:
        hearing = Hearing.SHIFTED if abs(best.shift) > near else Hearing.RIGHT
    return Fit(hearing, best.shift, best.likeness)


def best_shift(heard: NDArray[np.float64], wanted: NDArray[np.float64], near: float) -> Best:
    """Return where ``wanted`` fits best in ``heard``, which is longer by as much on both sides.

    Shifts up to ``near`` bins are none. Of places that fit alike, as with a clock's ticks, it is
    the one that moves least.
    """
    likeness = likenesses(heard, wanted)
    reach = (len(likeness) - 1) // 2
    inside = likeness[1:-1]
    tops = np.flatnonzero((inside >= likeness[:-2]) & (inside >= likeness[2:])) + 1
    tops = np.union1d(tops, [int(np.argmax(likeness))])
    alike = tops[likeness[tops] >= likeness.max() - _ALIKE]
    at = int(alike[np.argmin(np.abs(alike - reach))])
    close = likeness[np.abs(np.arange(-reach, reach + 1)) <= near]
    return Best(at - reach + _between(likeness, at), float(likeness[at]), float(close.max()))


def likenesses(
    heard: NDArray[np.float64], wanted: NDArray[np.float64], least: float = 0.0
) -> NDArray[np.float64]:
    """Return the coefficient of correlation for each place at which ``wanted`` may stand.

    Places where what is heard moves less than ``least`` of what it moves elsewhere count less.
    """
    count, places = len(wanted), len(heard) - len(wanted) + 1
    size = 1 << (len(heard) - 1).bit_length()
    plain = wanted - wanted.mean()
    spectrum = np.fft.rfft(heard, size) * np.conj(np.fft.rfft(plain, size))
    both = np.fft.irfft(spectrum, size)[:places]
    mean, square = (_means(values, count) for values in (heard, heard**2))
    power = square - mean**2
    power = np.maximum(power, max(_SMALL, least * float(power.max())))
    scale = np.sqrt(power * (plain**2).mean()) * count
    return np.asarray(both / scale)


def _means(values: NDArray[np.float64], count: int) -> NDArray[np.float64]:
    summed = np.concatenate(([0.0], np.cumsum(values)))
    return np.asarray((summed[count:] - summed[:-count]) / count)


def _between(likeness: NDArray[np.float64], at: int) -> float:
    """Return by how much the top of a parabola through three points is off the middle one."""
    if not 0 < at < len(likeness) - 1:
        return 0.0
    before, top, after = likeness[at - 1 : at + 2]
    bend = before - 2 * top + after
    return float((before - after) / (2 * bend)) if bend < 0 else 0.0


def _smooth(values: NDArray[np.float64], width: float) -> NDArray[np.float64]:
    """Return values smoothed by a bell curve of so many bins' deviation, the ends held."""
    reach = int(3 * width)
    bell = np.exp(-((np.arange(-reach, reach + 1) / width) ** 2) / 2)
    held = np.pad(values, reach, mode="edge")
    size = 1 << (len(held) + len(bell) - 2).bit_length()
    spectrum = np.fft.rfft(held, size) * np.fft.rfft(bell / bell.sum(), size)
    return np.asarray(np.fft.irfft(spectrum, size)[2 * reach : 2 * reach + len(values)])
