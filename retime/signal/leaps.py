"""Movement that leaps: a film frame between two pictures seems to be missing.

Where movement is even, a step over a film frame that was left out is as wide as two steps are
elsewhere. Film that was made to run in fewer pictures leaps once in so many, always so many, and
that is good evidence; one leap by itself may be the camera's, and is little.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from msgspec import Struct
from numpy.lib.stride_tricks import sliding_window_view

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from retime.signal.changes import Changes, Flags

    Series = NDArray[np.float64]

__all__ = ["Leaps", "leaps_in"]

_FEWEST = 48
_REACH = 3
_LONGEST, _MANY = 30, 12
_CLEAR, _HEIGHT, _MOSTLY = 5.0, 0.4, 0.75
_EVEN, _ALONE = 0.1, 6.0
_AS_TWO, _AS_MUCH = 0.25, 0.6  # of a logarithm
_LEAST = 0.02
_SINGLE_CONFIDENCE = 0.2


class Leaps(Struct, frozen=True, kw_only=True):
    """Pictures before which a film frame seems to be missing, every so many or not regular."""

    places: tuple[int, ...]
    every: int | None
    confidence: float


def leaps_in(changes: Changes, cuts: Flags, first: int, last: int) -> Leaps | None:
    """Return the leaps in pictures that all differ, None where there are none to be told."""
    if last - first + 1 < _FEWEST:
        return None
    within = slice(first, last + 1)
    steps = np.log((changes.upper[within] + changes.lower[within]) / 2 + _LEAST).astype(np.float64)
    twice = np.log(changes.apart[within, 2] + _LEAST).astype(np.float64)
    usable = ~cuts[within]
    usable[:2] = False
    above = steps - _middle_of_neighbours(steps)
    found = _regular(above, usable)
    if found is not None and _as_wide_as_two(found[0], steps, twice, above, usable):
        places, every, confidence = found
    else:
        places, every, confidence = _single(steps, twice, above, usable), None, _SINGLE_CONFIDENCE
    if not len(places):
        return None
    told = tuple(int(place) + first for place in places)
    return Leaps(places=told, every=every, confidence=confidence)


def _middle_of_neighbours(series: Series) -> Series:
    padded = np.pad(series, _REACH, mode="edge")
    windows = sliding_window_view(padded, 2 * _REACH + 1)
    others = np.delete(windows, _REACH, axis=1)
    middle: Series = np.median(others, axis=1)
    return middle


def _regular(above: Series, usable: Flags) -> tuple[NDArray[np.intp], int, float] | None:
    """Return the pictures of the clearest cycle of leaps, its length, and how sure it is."""
    best: tuple[float, NDArray[np.intp], int] | None = None
    bounded = np.clip(above, -1, 1)
    for every in range(2, min(_LONGEST, len(above) // _MANY) + 1):
        for phase in range(every):
            places = np.arange(phase, len(above), every)
            places = places[usable[places]]
            rest = usable.copy()
            rest[places] = False
            if len(places) < _MANY or not rest.any():
                continue
            leaping, others = bounded[places], bounded[rest]
            spread = np.sqrt(leaping.var() / len(places) + others.var() / len(others)) + 0.05
            height = leaping.mean() - others.mean()
            mostly = (leaping > _HEIGHT / 2).mean()
            clear = height / spread
            if height > _HEIGHT and mostly > _MOSTLY and (best is None or clear > best[0]):
                best = clear, places, every
    if best is None or best[0] < _CLEAR:
        return None
    clear, places, every = best
    return places, every, round(float(min(0.9, 1 - _CLEAR / (2 * clear))), 3)


def _as_wide_as_two(
    places: NDArray[np.intp], steps: Series, twice: Series, above: Series, usable: Flags
) -> bool:
    """Tell whether leaps are as much wider than steps as two steps are than one elsewhere."""
    rest = usable.copy()
    for away in (0, 1):  # two steps that span a leap are three
        rest[np.minimum(places + away, len(rest) - 1)] = False
    wider = np.median((twice - steps)[rest])
    return bool(abs(np.median(above[places]) - wider) < _AS_MUCH)


def _single(steps: Series, twice: Series, above: Series, usable: Flags) -> NDArray[np.intp]:
    """Return single leaps: as wide as two steps are nearby, where movement is very even."""
    found = []
    for place in np.flatnonzero(usable & (above > 2 * _HEIGHT)).tolist():
        near = np.arange(max(1, place - 8), min(len(steps), place + 9))
        near = near[usable[near] & (np.abs(near - place) > 1)]
        if len(near) < 2 * _REACH:
            continue
        spread = np.median(np.abs(steps[near] - np.median(steps[near])))
        even = spread < _EVEN and above[place] > _ALONE * spread
        if even and abs(steps[place] - np.median(twice[near])) < _AS_TWO:
            found.append(place)
    return np.array(found, np.intp)
