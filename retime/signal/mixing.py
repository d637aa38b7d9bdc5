"""Which mixtures there may be in a transfer, and how much speaks for each of them where.

A residue says little by itself: it is small wherever little moves. So each is held against what it
would be if pictures so far apart differed as they do on the mean nearby, and that against the
middle of what several other mixtures leave at the same picture. Sums do not reach over cuts: there
is nothing to be mixed.
"""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING

import numpy as np
from msgspec.structs import replace

from retime.signal.changes import FURTHEST
from retime.signal.mixtures import Mixture, Rule, all_mixtures, ratios_for, residues
from retime.signal.sliding import sliding_mean
from retime.signal.trellis import Gained

if TYPE_CHECKING:
    from collections.abc import Iterator

    from numpy.typing import NDArray

    from retime.signal.changes import Changes, Flags, Measures

    Values = NDArray[np.float64]

__all__ = ["gained", "likely_mixtures", "settled"]

_BLOCK, _EVERY = 480, 1920
_FEW = 8192
"""Longer transfers are searched in blocks, a quarter of all."""
_SAME, _KNOWN = 0.1, 0.8
_BIAS, _WORST, _MOST, _MOST_KNOWN = 0.8, -1.0, 3.0, 6.0
_PER_SUM = 4.0
_SUPPORT = {Rule.BETWEEN: 26.0, Rule.WINDOW: 52.0}
_OF_BEST = 0.3
_CLEARLY = -1.0
_NEARBY = 24
_YARDSTICKS = tuple(
    Fraction(*pair) for pair in ((1, 2), (3, 5), (2, 3), (3, 4), (4, 5), (5, 6), (11, 12))
)
_SLOWEST_WINDOW = Fraction(11, 20)
"""Pictures of slower film that are means over their time are mostly repeats."""


def likely_mixtures(
    changes: Changes, cuts: Flags, rate: Fraction | None, *, governed: Flags
) -> list[tuple[Fraction, Rule]]:
    """Return the ratios and rules by which some stretch of pictures seems to be mixed.

    ``rate`` is what the file says, if it does; ``governed`` are pictures whose cadence is known
    already. The rules BETWEEN and NEARLY differ too little to be told apart here.
    """
    best: dict[tuple[Fraction, Rule], float] = {}
    for first, stop in _blocks(len(changes)):
        known = governed[first:stop].mean() > _KNOWN
        if known or changes.upper_same[first:stop].mean() > _SAME:
            continue
        seen, usual = _within_shots(changes.apart[first:stop], cuts[first:stop])
        middle = _middle(seen, usual)
        for ratio in ratios_for(rate):
            for rule in _rules(ratio):
                gains = _gains(_relative(seen, usual, ratio, rule) - middle, ratio)
                if len(gains):
                    most = _most_in_a_row(_by_phase(gains, ratio))
                    best[ratio, rule] = max(best.get((ratio, rule), 0.0), most)
    likely: dict[Fraction, tuple[float, Rule]] = {}
    for (ratio, rule), most in best.items():
        over = most / _SUPPORT[rule]
        if over > max(1.0, likely.get(ratio, (0.0, rule))[0]):
            likely[ratio] = over, rule
    enough = _OF_BEST * max((over for over, _ in likely.values()), default=0.0)
    return [(ratio, rule) for ratio, (over, rule) in likely.items() if over > enough]


def gained(changes: Changes, cuts: Flags, families: list[tuple[Fraction, Rule]]) -> list[Gained]:
    """Return every mixture of these families with what speaks for it at every picture."""
    found: list[Gained] = []
    seen, usual = _within_shots(changes.apart, cuts)
    middle = _middle(seen, usual)
    for ratio, searched in families:
        rows = np.empty((0, 0))
        best = searched
        for rule in (searched, Rule.NEARLY) if searched is Rule.BETWEEN else (searched,):
            left = _relative(seen, usual, ratio, rule) - middle
            told = _gains(left, ratio, _MOST_KNOWN) * _telling(seen, usual, left, ratio, rule)
            told = _by_phase(told, ratio)
            if not rows.size or np.maximum(told, 0).sum() > np.maximum(rows, 0).sum():
                rows, best = told, rule
        found += [
            Gained(mixture, row)
            for mixture, row in zip(all_mixtures(ratio, best), rows, strict=True)
        ]
    return found


def _blocks(count: int) -> Iterator[tuple[int, int]]:
    every = _BLOCK if count < _FEW else _EVERY
    for first in range(0, count, every):
        yield first, min(count, first + _BLOCK)


def _within_shots(apart: Measures, cuts: Flags) -> tuple[Values, Values]:
    """Return the differences between pictures of one shot, and their means nearby, else NaN."""
    seen = apart.astype(np.float64)
    shots = np.cumsum(cuts)
    usual = np.full_like(seen, np.nan)
    usual[:, 0] = 0
    for back in range(1, seen.shape[1]):
        seen[:back, back] = np.nan
        seen[back:, back][shots[back:] != shots[:-back]] = np.nan
        told = ~np.isnan(seen[:, back])
        totals = sliding_mean(np.where(told, seen[:, back], 0), _NEARBY)
        counts = sliding_mean(told.astype(np.float64), _NEARBY)
        usual[told, back] = (totals / np.maximum(counts, 1e-9))[told]
    return seen, usual


def _rules(ratio: Fraction) -> tuple[Rule, ...]:
    return (Rule.BETWEEN, Rule.WINDOW) if ratio > _SLOWEST_WINDOW else (Rule.BETWEEN,)


def _relative(seen: Values, usual: Values, ratio: Fraction, rule: Rule) -> Values:
    """Return the logarithms of residues over what they usually would be, by phase."""
    told = residues(seen, ratio, rule)
    return np.log(told / residues(usual, ratio, rule)) if len(told) else told


def _middle(seen: Values, usual: Values) -> Values:
    """Return the middle of what mixtures leave at each picture; NaN where there is nothing."""
    rows = np.concatenate([_relative(seen, usual, one, Rule.BETWEEN) for one in _YARDSTICKS])
    middle = np.full(rows.shape[1], np.nan)
    told = ~np.isnan(rows).all(axis=0)
    middle[told] = np.nanmedian(rows[:, told], axis=0)
    return middle


def _gains(left: Values, ratio: Fraction, most: float = _MOST) -> Values:
    """Return what speaks for each phase at each picture, in nats; 0 where there is no sum."""
    gains = np.clip(-left - _BIAS, _WORST, most)
    # A cycle of q pictures has q - p sums that say something of their own, each met several times.
    met = max(1, int((~np.isnan(left)).any(axis=1).sum()))
    weight = min(1.0, _PER_SUM * (ratio.denominator - ratio.numerator) / met)
    weighed: Values = np.nan_to_num(gains) * weight
    return weighed


def _telling(seen: Values, usual: Values, left: Values, ratio: Fraction, rule: Rule) -> Values:
    """Return where movement is more than noise, 0 to 1; noise is what fitting sums leave."""
    residue = residues(seen, ratio, rule)
    told = np.flatnonzero(~np.isnan(left).all(axis=0))
    best = np.nanargmin(left[:, told], axis=0)
    fits = left[best, told] < _CLEARLY
    if not fits.any():
        return np.ones_like(residue)
    noise = np.quantile(residue[best[fits], told[fits]], 0.75)
    above = np.log(residues(usual, ratio, rule) / noise)
    telling: Values = np.nan_to_num(np.clip(above - 0.7, 0, 1))
    return telling


def _by_phase(rows: Values, ratio: Fraction) -> Values:
    """Return rows that follow a mixture through its phases, by its phase at picture 0."""
    pictures = np.arange(rows.shape[1])
    phases = np.arange(ratio.denominator)[:, None] + pictures * ratio.numerator
    return np.take_along_axis(rows, phases % ratio.denominator, axis=0)


def _most_in_a_row(rows: Values) -> float:
    """Return the greatest sum of successive values in any row."""
    sums = np.cumsum(rows, axis=1)
    lowest = np.minimum.accumulate(np.minimum(sums, 0), axis=1)
    return float((sums - lowest).max())


def settled(
    changes: Changes, cuts: Flags, mixture: Mixture, first: int, last: int
) -> tuple[Mixture, float, float]:
    """Return a mixture by the rule that fits pictures best, and how well it fits, twice.

    The two numbers are the logarithms of what is left in codes and in linear light, over what
    pictures so far apart leave on the mean: the lower, the better.
    """
    # Pictures before the first are seen too, as far as sums reach back.
    begin = max(0, first - FURTHEST)
    within = slice(begin, last + 1)
    phase = (mixture.phase + begin * mixture.film) % mixture.outputs
    fits: dict[Rule, float] = {}
    for rule in Rule if mixture.rule is Rule.WINDOW else (Rule.BETWEEN, Rule.NEARLY):
        one = replace(mixture, phase=phase, rule=rule)
        if all_mixtures(Fraction(one.film, one.outputs), rule):
            fits[rule] = _fit(changes.apart[within], cuts[within], one, first - begin)
    best = min(fits, key=lambda rule: fits[rule])
    one = replace(mixture, phase=phase, rule=best)
    light = _fit(changes.apart_in_light[within], cuts[within], one, first - begin)
    return replace(mixture, rule=best), fits[best], light


def _fit(apart: Measures, cuts: Flags, mixture: Mixture, first: int) -> float:
    """Return the middle of a mixture's residues over what they usually would be, a logarithm.

    Those of pictures from ``first`` on count.
    """
    seen, usual = _within_shots(apart, cuts)
    ratio = Fraction(mixture.film, mixture.outputs)
    left = _by_phase(_relative(seen, usual, ratio, mixture.rule), ratio)[mixture.phase, first:]
    return float(np.nanmedian(left)) if not np.isnan(left).all() else 0.0
