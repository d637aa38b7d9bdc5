"""Which mixtures there may be in a transfer, and how much speaks for each of them where.

First families are looked for, a ratio and a rule in all phases, in stretches of pictures; then
each phase of those that were found says at every picture what speaks for it.
"""

from __future__ import annotations

from fractions import Fraction
from itertools import pairwise
from math import log
from typing import TYPE_CHECKING

import numpy as np
from msgspec.structs import replace

from retime.signal.changes import FURTHEST
from retime.signal.mixtures import Mixture, Rule, all_mixtures, ratios_for
from retime.signal.remainders import by_phase, nearby, relative, remainders
from retime.signal.steps import step_gains
from retime.signal.trellis import Gained

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from numpy.typing import NDArray

    from retime.signal.changes import Changes, Flags, Measures
    from retime.signal.remainders import Nearby, Remainders

    Values = NDArray[np.float64]

__all__ = ["gained", "likely_mixtures", "settled"]

_BLOCK, _EVERY = 480, 1920
_FEW = 8192
"""Longer transfers are searched in blocks, a quarter of all."""
_SAME, _KNOWN = 0.1, 0.8
_MOST, _MOST_KNOWN, _CAREFUL = 1.0, 6.0, 0.75
"""What one picture may say: less where many families are looked for than of those found."""
_SUPPORT = {Rule.BETWEEN: 23.0, Rule.WINDOW: 40.0}
_ANOTHER = 5.0
_IN_COMMON = 1.5  # two views err together, half and half
_OF_BEST = 0.3
_SLOWEST_BY_STEPS = Fraction(3, 5)
"""Below, long and short steps may follow on one another by turns, as coders' pictures do."""
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
        if known or _repeated(changes.upper_same[first:stop]) > _SAME:
            continue
        views = _views(changes, cuts, slice(first, stop))
        for ratio in ratios_for(rate):
            for rule in _rules(ratio):
                told = [remainders(near, ratio, rule) for near in views]
                if len(told[0].residue):
                    careful = [one._replace(weight=min(one.weight, _CAREFUL)) for one in told]
                    rows = _together(careful, [one.noise() for one in told], _MOST)
                    rows += _by_steps(views, cuts[first:stop], ratio, rule)
                    most = _most_in_all(rows, cuts[first:stop])
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
    views = _views(changes, cuts, slice(None))
    told = [
        (ratio, {rule: [remainders(near, ratio, rule) for near in views] for rule in rules})
        for ratio, rules in ((ratio, _narrowed(rule)) for ratio, rule in families)
    ]
    # Noise is that of the coder, whatever is looked for: what fits worse than another fits less.
    noises = [
        min((one[view].noise() for _, some in told for one in some.values()), default=np.inf)
        for view in range(len(views))
    ]
    found: list[Gained] = []
    for ratio, some in told:
        rows = {
            rule: _together(one, noises, _MOST_KNOWN) + _by_steps(views, cuts, ratio, rule)
            for rule, one in some.items()
        }
        best = max(rows, key=lambda rule: float(np.maximum(rows[rule], 0).sum()))
        mixtures = all_mixtures(ratio, best)
        found += [Gained(one, row) for one, row in zip(mixtures, rows[best], strict=True)]
    return found


def _views(changes: Changes, cuts: Flags, within: slice) -> list[Nearby]:
    """Return pictures' differences as they are seen in the large and in detail.

    Coding takes detail away or blurs what moves in the large, and lamps flicker in the large alone.
    """
    return [nearby(one[within], cuts[within]) for one in (changes.apart, changes.details_apart)]


def _together(told: Sequence[Remainders], noises: Sequence[float], most: float) -> Values:
    """Return what all views of pictures together say for each phase at each picture.

    That is no more than one of them might.
    """
    rows = [one.gains(noise, most) for one, noise in zip(told, noises, strict=True)]
    together: Values = np.minimum(np.sum(rows, axis=0) / _IN_COMMON, most * told[0].weight)
    return together


def _by_steps(views: Sequence[Nearby], cuts: Flags, ratio: Fraction, rule: Rule) -> Values | float:
    """Return what steps in detail say for each phase at each picture."""
    if rule is Rule.WINDOW or ratio < _SLOWEST_BY_STEPS:
        return 0.0
    return step_gains(views[-1], cuts, ratio)


def _narrowed(rule: Rule) -> tuple[Rule, ...]:
    return (rule, Rule.NEARLY) if rule is Rule.BETWEEN else (rule,)


def _blocks(count: int) -> Iterator[tuple[int, int]]:
    every = _BLOCK if count < _FEW else _EVERY
    for first in range(0, count, every):
        yield first, min(count, first + _BLOCK)


def _repeated(same: Flags) -> float:
    """Return what part of pictures are the same as the one before, the midst of stills left out."""
    still = same[:-2] & same[1:-1] & same[2:]
    return float((same.sum() - still.sum()) / len(same))


def _rules(ratio: Fraction) -> tuple[Rule, ...]:
    return (Rule.BETWEEN, Rule.WINDOW) if ratio > _SLOWEST_WINDOW else (Rule.BETWEEN,)


def _most_in_all(rows: Values, cuts: Flags) -> float:
    """Return what speaks for a family: in one phase throughout, or in one of its own each shot."""
    begins = [0, *np.flatnonzero(cuts[1:]) + 1, rows.shape[1]]
    shots = [_most_in_a_row(rows[:, first:stop]) for first, stop in pairwise(begins)]
    another = _ANOTHER + log(len(rows))
    return max(_most_in_a_row(rows), sum(max(0.0, most - another) for most in shots))


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
    near = nearby(apart, cuts)
    ratio = Fraction(mixture.film, mixture.outputs)
    told = relative(near.seen, near.usual, ratio, mixture.rule)
    left = by_phase(told, ratio)[mixture.phase, first:]
    return float(np.nanmedian(left)) if not np.isnan(left).all() else 0.0
