"""One track of a deliverable beside its recording: every window of it, and what all of them say."""

from __future__ import annotations

from fractions import Fraction
from statistics import median
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
from msgspec import Struct

from retime.check.sound_windows import (
    HOP,
    MARGIN,
    REACH,
    WINDOW,
    Fit,
    Hearing,
    fit_window,
    floor_of,
    likenesses,
    moving,
)

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from retime.check.envelope import Envelope
    from retime.check.expected_sound import ExpectedSound

__all__ = ["Heard", "HeldTrack", "held_track", "wide_shift"]

_LEAST_WINDOW = 400
_COMPARED, _RARELY, _BY_CHANCE = 3, 0.2, 0.5
_COARSE = 20  # bins put together where sound is looked for far away
_FAR, _LONGEST = 60 * 2000, 120 * 2000  # bins: how far, and how much of it at most
_FLOOR = 1e-5
_FAR_FITS, _FAR_ALONE, _BESIDE = 0.3, 0.1, 10
_HALF = 0.5
_POWER, _EDGE = 0, 1
_LOUD = 1e-7


class Heard(NamedTuple):
    """A window that stands where it should: what it has and should have, mean over its middle.

    Both have the shape (2, channels), power and edge. ``ratio`` is how fast the recording runs,
    ``alike`` how like each channel expected (first index) is to each that is heard.
    """

    heard: NDArray[np.float64]
    expected: NDArray[np.float64]
    ratio: float
    alike: NDArray[np.float64]


class HeldTrack(Struct, frozen=True, kw_only=True):
    """All windows of a track; ``places`` are where each begins, in bins of ``bin`` seconds.

    ``start`` is when the first bin is heard on the deliverable's clock, ``window`` how long a
    window is, in bins.
    """

    fits: tuple[Fit, ...]
    places: tuple[int, ...]
    heard: tuple[Heard, ...]
    start: Fraction
    bin: Fraction
    window: int

    def begin(self, number: int) -> Fraction:
        """Return when what a window speaks of begins: its middle half, in seconds."""
        if not number:
            return max(Fraction(0), self.start)
        return self.start + (self.places[number] + self.window // 4) * self.bin

    def end(self, number: int) -> Fraction:
        """Return when what a window speaks of ends, in seconds."""
        last = self.window if number == len(self.places) - 1 else self.window * 3 // 4
        return self.start + (self.places[number] + last) * self.bin

    @property
    def told(self) -> float | None:
        """The share of what should be heard that could be told; None where nothing should be."""
        fits = [fit.hearing for fit in self.fits if fit.hearing is not Hearing.SILENT]
        untold = sum(hearing is Hearing.CANNOT_TELL for hearing in fits)
        return 1 - untold / len(fits) if fits else None

    @property
    def foreign(self) -> bool:
        """Whether hardly any of it fits, here or nearby: then no window's shift means anything."""
        compared = [fit for fit in self.fits if fit.likeness]
        right = sum(fit.hearing is Hearing.RIGHT for fit in compared)
        if len(compared) < _COMPARED or right > _RARELY * len(compared):
            return False
        return median(fit.likeness for fit in compared) < _BY_CHANCE


def held_track(
    heard: Envelope,
    expected: ExpectedSound,
    start: Fraction,
    runtime: Fraction,
    near: float,
) -> HeldTrack:
    """Hold a track against what it should be, up to ``runtime``.

    ``start`` is when its first sample is heard, in seconds of the deliverable's clock. Shifts up
    to ``near`` bins are none.
    """
    bins = int((runtime - start) / heard.bin)
    window = min(WINDOW, bins)
    places = _places(bins, window)
    fits, right = [], []
    for place in places:
        wanted = expected.part(start + (place - MARGIN) * heard.bin, heard.bin, window + 2 * MARGIN)
        around = MARGIN + REACH
        found = heard.part(place - around, place + window + around)
        fit = fit_window(found[:, _EDGE].sum(axis=1), wanted[:, _EDGE].sum(axis=1), near)
        fits.append(fit)
        if fit.hearing in {Hearing.RIGHT, Hearing.SHIFTED}:
            shift = REACH + round(fit.shift)
            moved = found[shift : shift + len(wanted)]
            ratio = expected.ratio_at(start + (place + window // 2) * heard.bin)
            right.append(_heard(moved[MARGIN:-MARGIN], wanted[MARGIN:-MARGIN], ratio))
    return HeldTrack(
        fits=tuple(fits),
        places=places,
        heard=tuple(right),
        start=start,
        bin=heard.bin,
        window=window,
    )


def _places(bins: int, window: int) -> tuple[int, ...]:
    """Return where windows begin: one each HOP, the last at the very end."""
    if window < _LEAST_WINDOW:
        return ()
    last = bins - window
    return (*range(0, last, HOP), last)


def _heard(found: NDArray[np.float64], wanted: NDArray[np.float64], ratio: float) -> Heard:
    quarter = len(found) // 4
    middle = slice(quarter, -quarter)
    alike = _channels(found[:, _POWER], wanted[:, _POWER])
    return Heard(found[middle].mean(axis=0), wanted[middle].mean(axis=0), ratio, alike)


def _channels(found: NDArray[np.float64], wanted: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return how like each channel expected is to each heard, in what tells channels apart."""
    both = []
    for power in (wanted, found):
        loud = np.log(power + max(float(power.max()) * _FLOOR, _FLOOR**2))
        own = loud - loud.mean(axis=1, keepdims=True)
        own -= own.mean(axis=0)
        both.append(own)
    scale = np.sqrt(np.outer((both[0] ** 2).sum(axis=0), (both[1] ** 2).sum(axis=0)))
    tells = scale > len(found) * 0.01
    return np.asarray(np.divide(both[0].T @ both[1], scale, out=np.zeros_like(scale), where=tells))


def wide_shift(
    heard: Envelope, expected: ExpectedSound, held: HeldTrack, first: int, last: int
) -> float | None:
    """Return by how many seconds windows ``first`` to ``last`` are late, looked for far around.

    It is right to a hundredth of a second, and of the middle of them where they are many. None
    where they fit nowhere within a minute.
    """
    begin, end = held.places[first], held.places[last] + held.window
    count = min(end - begin, _LONGEST) // _COARSE * _COARSE
    begin += (end - begin - count) // 2
    reach = min(_FAR, max(heard.count, count)) // _COARSE * _COARSE
    wanted = expected.part(held.start + begin * held.bin, held.bin, count)[:, _EDGE].sum(axis=1)
    found = heard.part(begin - reach, begin + count + reach)[:, _EDGE].sum(axis=1)
    if wanted.max(initial=0) < _LOUD or found.max(initial=0) < _LOUD:
        return None
    there, here = (
        moving(values.reshape(-1, _COARSE).mean(axis=1), floor_of(wanted), fine=1.0, slow=60.0)
        for values in (found, wanted)
    )
    likeness = likenesses(there, here, least=_HALF)
    at = int(likeness.argmax())
    apart = np.abs(np.arange(len(likeness)) - at) > _BESIDE
    rest = float(likeness[apart].max(initial=0))
    if likeness[at] < _FAR_FITS or likeness[at] - rest < _FAR_ALONE:
        return None
    return (at * _COARSE - reach) * float(held.bin)
