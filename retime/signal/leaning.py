"""Whether a field is new or repeats the one before, by how much it changes: an odds for each.

Changes have two levels: that of repeats is noise alone (of coding, mostly; nothing where coding
loses nothing), that of new pictures is grain and movement. Neither is known beforehand, and both
drift. A repeat is a dip between higher neighbours, and dips are told from the unevenness of
movement by the best split of a window in two.

Odds are in nats: positive for a new picture, negative for a repeat.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from numpy.lib.stride_tricks import sliding_window_view

from retime.signal.sliding import filled, peaks_around, sliding_mean

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from retime.signal.changes import Flags, Measures

    Series = NDArray[np.float64]

__all__ = ["MOST", "SURE", "cuts_in", "leaning", "logs", "upheavals_in"]

MOST = 2.0
"""A field's odds are never beyond this, for fields of a picture are wrong together."""
SURE = 5.0
"""But those of one that is the same to the bit are."""

_LEAST = 0.02  # codes squared: less is no difference
_CUT_REACH, _CUT_RISE = 6, 1.0
_USUAL_REACH, _UPHEAVAL, _NEW_AND_REPEATED = 12, 2.5, 0.85
_DIP = 3  # half of the longest dip
_WINDOW, _HOP = 30, 8
_DEEPEST = (4.0, 2.4)
_DEEP, _NEARLY_ALL = -2.3, 0.9
_GAIN, _DEPTH, _BRIM = 8.0, 0.9, -0.6
_NARROW = 0.2
_UNTOLD = 0.7  # leaning to new where nothing dips
_ODD = 0.1  # of new pictures change as little as you like
_ABOVE_NOISE = 0.5
_FEWEST = 3


def logs(change: Measures) -> Series:
    """Return the logarithms of mean squared changes, those of no change at all raised a little."""
    return np.log(change.astype(np.float64) + _LEAST)


def cuts_in(change: Measures) -> Flags:
    """Tell which pictures change far more than their neighbours do; the first counts as one."""
    series = logs(change)
    cuts: Flags = series > peaks_around(series, _CUT_REACH) + _CUT_RISE
    cuts[:1] = True
    return cuts


def upheavals_in(change: Measures) -> Flags:
    """Tell which pictures change far more than is usual nearby, whatever their neighbours do.

    Two cuts in a row, or the flashes of a leader, are no cuts by ``cuts_in``.
    """
    return _beyond(logs(change), 0.5)


def _beyond(series: Series, share: float) -> Flags:
    """Tell which values are far beyond the ``share`` of all that is nearby, counted from below."""
    padded = np.pad(series, _USUAL_REACH, mode="edge")
    usual = np.quantile(sliding_window_view(padded, 2 * _USUAL_REACH + 1), share, axis=1)
    beyond: Flags = series > usual + _UPHEAVAL
    return beyond


def leaning(change: Measures, same: Flags, cuts: Flags) -> Series:
    """Return the odds of each field, by dips alone."""
    series = logs(change)
    # Flashes are no brims either; that most pictures nearby repeat makes no flash of what is new.
    series = _without_cuts(series, cuts | _beyond(series, _NEW_AND_REPEATED))
    brims = filled(series, _DIP)
    dips = np.minimum(series - brims, 0)
    low, high, spread, told = _splits(dips)
    narrow = np.maximum(spread, 0.35)
    wide = np.maximum(spread, 0.7)
    new = (1 - _ODD) * _bell(dips, high, narrow) + _ODD * np.exp(dips)
    between = np.where(dips < high, 1 / (high - np.minimum(low, dips) + 0.5), 0.02)
    repeat = (_bell(dips, low, wide) + between) / 2
    odds = told * np.log(new / repeat) + (1 - told) * _UNTOLD
    repeats = np.flatnonzero((odds < -1) & ~same)
    if len(repeats) > 2 * _FEWEST:
        noise = sliding_mean(series[repeats], _FEWEST)
        pictures = np.arange(len(series))
        level = np.interp(pictures, repeats, noise)
        after = np.minimum(np.searchsorted(repeats, pictures), len(repeats) - 1)
        away = np.minimum(
            np.abs(repeats[after] - pictures), np.abs(repeats[np.maximum(after - 1, 0)] - pictures)
        )
        # Where even the brims are no higher than noise, nothing moves and nothing is told.
        raised = np.clip(brims - level - _ABOVE_NOISE, 0, 1)
        odds *= np.where(away < 2 * _WINDOW, raised, 1)
    return _certain(odds, same, cuts, _exact_nearby(dips, same))


def _exact_nearby(dips: Series, same: Flags) -> Flags:
    """Tell around which pictures repeats are the same to the bit, and so what is not is new."""
    alike = ~same & (dips < _DEEP)
    exact, near = (sliding_mean(kind.astype(np.float64), 2 * _WINDOW) for kind in (same, alike))
    some: Flags = exact > _FEWEST / (4 * _WINDOW + 1)
    return some & (exact > _NEARLY_ALL * (exact + near))


def _certain(odds: Series, same: Flags, cuts: Flags, exact: Flags) -> Series:
    bounded = np.clip(odds, -MOST, MOST)
    bounded[cuts] = MOST
    bounded[exact] = SURE
    bounded[same] = -SURE
    return bounded


def _without_cuts(series: Series, cuts: Flags) -> Series:
    """Return a series in which a cut changes no more than what stands beside it."""
    calm = series.copy()
    for place in np.flatnonzero(cuts).tolist():
        near = np.arange(max(1, place - _DIP), min(len(series), place + _DIP + 1))
        near = near[~cuts[near]]
        if len(near):
            calm[place] = series[near].max()
    return calm


def _bell(series: Series, middle: Series, spread: Series) -> Series:
    bell: Series = np.exp(-(((series - middle) / spread) ** 2) / 2) / (spread * 2.507)
    return bell


def _splits(dips: Series) -> tuple[Series, Series, Series, Series]:
    """Return, around each value, the levels below and above the best split, and their spread.

    The last array tells how likely it is that there are two levels at all, 0 to 1: dividing has to
    explain more than it does of a bell, and the dips have to be deep.
    """
    count = len(dips)
    middles = np.arange(0, count, _HOP)
    begins = np.clip(middles - _WINDOW, 0, max(0, count - 2 * _WINDOW - 1))
    places = np.minimum(begins[:, None] + np.arange(2 * _WINDOW + 1), count - 1)
    found = np.zeros((4, len(middles)))
    # Coders repeat some pictures nearly without change and others with much noise: where the
    # deepest dips alone are parted from all else, all dips are taken for as deep as most.
    for deepest in _DEEPEST:
        low, high, spread, gain = _best_split(np.sort(np.maximum(dips, -deepest)[places], axis=1))
        told = np.clip(gain / _GAIN, 0, 1) * ((high - low > _DEPTH) & (high > _BRIM))
        better = found[3] == 0
        found = np.where(better, np.stack([low, high, spread, told]), found)
    near = np.minimum((np.arange(count) + _HOP // 2) // _HOP, len(middles) - 1)
    low, high, spread, told = found[:, near]
    return low, high, spread, told


def _best_split(rows: Series) -> tuple[Series, Series, Series, Series]:
    """Return means, spread and gain of dividing each sorted row in two where it is most likely."""
    count = rows.shape[1]
    sums, squares = np.cumsum(rows, axis=1), np.cumsum(rows**2, axis=1)
    below = np.arange(1, count)
    above = count - below
    first, rest = sums[:, :-1], sums[:, -1:] - sums[:, :-1]
    within = (squares[:, -1:] - first**2 / below - rest**2 / above) / count
    whole = (squares[:, -1] - sums[:, -1] ** 2 / count) / count
    within = np.maximum(within, _NARROW**2)
    shares = below * np.log(below / count) + above * np.log(above / count)
    gains = count / 2 * np.log(np.maximum(whole, _NARROW**2)[:, None] / within) + shares
    best = gains.argmax(axis=1)
    row = np.arange(len(rows))
    return (
        first[row, best] / below[best],
        rest[row, best] / above[best],
        np.sqrt(within[row, best]),
        gains[row, best],
    )
