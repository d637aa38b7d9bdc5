"""What items support: the likelihood of every speed, in closed form.

An item that says a speed c (relative standard uncertainty u, trust t) supports the speed v by

    L(v) = t * W / (u sqrt(2 pi)) * exp(-(ln v - ln c)^2 / (2 u^2)) + (1 - t),    W = ln(30 / 12):

if it is to be trusted, its error is normal in the logarithm of the speed, so that a document's
minutes and a camera's turns are treated alike; if it is not, it may say any speed from 12 to 30
alike. A limit supports v by t * F((ln v - ln c) / u) + (1 - t), F being the normal distribution,
or by the same with the sign turned. Trust 0 makes either 1 for every speed.

Several speeds of one item count once, as the geometric mean of their supports. So do the items of
a group, each weighed by its trust, so that copies of one document weigh as one. Items and groups
are independent: their supports multiply. Everything here is the logarithm of a support.
"""

from __future__ import annotations

from math import ceil, log, pi, sqrt
from typing import TYPE_CHECKING, TypeAlias

import numpy as np
from numpy.typing import NDArray

from retime.evidence.model import Sense
from retime.evidence.normal import log_distribution

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Sequence

    from retime.evidence.model import Implied, Item, Link, Question

__all__ = ["FASTEST", "SLOWEST", "Floats", "Support", "item_support", "pooled", "question_support"]

SLOWEST, FASTEST = 12.0, 30.0
"""The span of the flat prior, in frames per second: 12 to 26 by year and studio in reference works,
up to 30 by the end of the 1920s (Bordwell and Mazzanti 2015)."""

Floats: TypeAlias = NDArray[np.float64]
Support: TypeAlias = "Callable[[Floats], Floats]"
"""From speeds above 0 to the logarithm of their support."""

_SPAN = log(FASTEST / SLOWEST)
_STEP = 1e-4
"""Of the integral over a link, in the logarithm: finer than the narrowest figure accepted."""


def item_support(item: Item, speeds: Floats) -> Floats:
    """Return what an item supports: the mean over all that it implies."""
    trust = float(item.trust)
    told = [_implied_support(one, trust, speeds) for one in item.implied]
    return np.asarray(sum(told[1:], start=told[0]) / len(told))


def _implied_support(implied: Implied, trust: float, speeds: Floats) -> Floats:
    doubt = implied.speed.relative
    far = (np.log(speeds) - log(implied.speed.value)) / doubt
    if implied.sense is Sense.NEAR:
        right = log(_SPAN / (doubt * sqrt(2 * pi))) - far**2 / 2
    else:
        right = log_distribution(far if implied.sense is Sense.AT_LEAST else -far)
    if trust == 1:  # what is far away is supported by less than a number can be
        return np.asarray(right)
    return np.asarray(np.log(trust * np.exp(right) + (1 - trust)))


def pooled(items: Iterable[Item], speeds: Floats) -> Floats:
    """Return what items support together, the members of a group counted once."""
    total = np.zeros_like(speeds)
    groups: dict[str, list[Item]] = {}
    for item in items:
        if not item.trust:
            continue
        if item.group is None:
            total += item_support(item, speeds)
        else:
            groups.setdefault(item.group, []).append(item)
    for members in groups.values():
        trusts = [float(member.trust) for member in members]
        supports = [item_support(member, speeds) for member in members]
        weighed = zip(trusts, supports, strict=True)
        total += sum(trust * support for trust, support in weighed) / sum(trusts)
    return total


def question_support(
    items: Sequence[Item], links: Sequence[Link], question: Question
) -> tuple[Support, frozenset[str]]:
    """Return what all items support for a question, and the ids of those that speak to it.

    Items about another question speak through the links: over a link from r1 to r2 a speed v is
    supported by the mean support of v / r (or v * r, in the other direction) over all r alike.
    """
    own = [item for item in items if item.question is question and item.trust]
    ids = frozenset(item.id for item in own)
    messages: list[Support] = []
    for link in links:
        if question not in {link.question, link.of}:
            continue
        forth = link.question is question
        other = link.of if forth else link.question
        rest = [one for one in links if one is not link]
        beyond, spoken = question_support(items, rest, other)
        if spoken:
            messages.append(_carried(beyond, float(link.low), float(link.high), forth=forth))
            ids |= spoken

    def support(speeds: Floats) -> Floats:
        return sum((message(speeds) for message in messages), start=pooled(own, speeds))

    return support, ids


def _carried(beyond: Support, low: float, high: float, *, forth: bool) -> Support:
    """Return the support that reaches over a link, of factors ``low`` to ``high``."""
    width = log(high / low)
    if width < _STEP:
        factor = sqrt(low * high)
        return lambda speeds: beyond(speeds / factor if forth else speeds * factor)
    cells = ceil(width / _STEP)
    step = width / cells

    def support(speeds: Floats) -> Floats:
        # The mean over r of f(v / r) is v / (high - low) times the integral of f(w) / w over ln w
        # from v / high to v / low, that of f(v r) 1 / (v (high - low)) times that of f(w) w from
        # v low to v high.
        turn = -1 if forth else 1
        starts = np.log(speeds) + (-log(high) if forth else log(low))
        slowest = starts.min()
        count = ceil((starts.max() - slowest) / step) + cells + 1
        middles = slowest + step * (np.arange(count) + 0.5)
        sums = _sums_of(cells, beyond(np.exp(middles)) + turn * middles)
        told = np.interp((starts - slowest) / step, np.arange(len(sums)), sums)
        return np.asarray(told + log(step / (high - low)) - turn * np.log(speeds))

    return support


def _sums_of(count: int, logs: Floats) -> Floats:
    """Return the logarithms of the sums of every ``count`` neighbours, given those of the terms.

    Each sum is that of the end of one block of ``count`` and of the beginning of the next: a
    difference of running sums would be nothing but rounding far below the highest term.
    """
    blocks = np.append(logs, np.full(-len(logs) % count, -np.inf)).reshape(-1, count)
    to_the_end = np.logaddexp.accumulate(blocks[:, ::-1], axis=1)[:, ::-1].ravel()
    from_the_start = np.logaddexp.accumulate(blocks, axis=1).ravel()
    firsts = np.arange(len(logs) - count + 1)
    both = np.logaddexp(to_the_end[firsts], from_the_start[firsts + count - 1])
    return np.where(firsts % count == 0, to_the_end[firsts], both)
