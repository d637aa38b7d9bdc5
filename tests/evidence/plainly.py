"""What items support, once more from the words of the rule: in plain numbers, one speed at a time.

An item to be trusted says the logarithm of the speed with a normal error; one that is not says any
speed from 12 to 30 alike in the logarithm. A limit is the normal distribution's share. Several
speeds of an item go in as a geometric mean, and so do the items of a group, each weighed by its
trust. Over a link a speed is supported by the mean over all factors alike.
"""

from __future__ import annotations

from itertools import pairwise
from math import erfc, exp, inf, log, pi, sqrt
from typing import TYPE_CHECKING

from retime.evidence.model import Sense

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from retime.evidence.model import Implied, Item, Link, Question

__all__ = ["integral", "log_support"]


def log_support(
    items: Sequence[Item], links: Sequence[Link], question: Question, fps: float, steps: int = 800
) -> float:
    """Return the logarithm of what items and links support a speed with."""
    total = _pooled([item for item in items if item.question is question], fps)
    for link in links:
        rest = [other for other in links if other is not link]
        low, high = float(link.low), float(link.high)
        if link.question is question:  # the question's speed is r times the other's
            there, turned = link.of, False
        elif link.of is question:
            there, turned = link.question, True
        else:
            continue
        factors = [low + (high - low) * i / steps for i in range(steps + 1)]
        heard = [
            log_support(items, rest, there, fps * r if turned else fps / r, steps) for r in factors
        ]
        total += _log_mean(heard)
    return total


def _pooled(items: Sequence[Item], fps: float) -> float:
    alone = [item for item in items if item.group is None]
    total = sum(_item(item, fps) for item in alone)
    for group in sorted({item.group for item in items if item.group is not None}):
        members = [item for item in items if item.group == group]
        trusts = sum(float(item.trust) for item in members)
        if trusts:
            total += sum(float(item.trust) * _item(item, fps) for item in members) / trusts
    return total


def _item(item: Item, fps: float) -> float:
    told = [_implied(implied, float(item.trust), fps) for implied in item.implied]
    return sum(told) / len(told)


def _implied(implied: Implied, trust: float, fps: float) -> float:
    stated, doubt = float(implied.speed.value), sqrt(implied.speed.variance)
    u = doubt / stated
    z = (log(fps) - log(stated)) / u
    if implied.sense is Sense.NEAR:
        peak = log(30 / 12) / (u * sqrt(2 * pi))
        if trust == 1:  # far away the number itself would be too small
            return log(peak) - z * z / 2
        return log(trust * peak * exp(-z * z / 2) + 1 - trust)
    share = erfc((-z if implied.sense is Sense.AT_LEAST else z) / sqrt(2)) / 2
    return log(share) if trust == 1 else log(trust * share + 1 - trust)


def _log_mean(logs: Sequence[float]) -> float:
    """Return the logarithm of the mean over evenly spaced places, by Simpson's rule."""
    weights = [1] + [4 if i % 2 else 2 for i in range(1, len(logs) - 1)] + [1]
    top = max(logs)
    summed = sum(weight * exp(at - top) for weight, at in zip(weights, logs, strict=True))
    return top + log(summed / sum(weights)) if top > -inf else top


def integral(f: Callable[[float], float], breaks: Sequence[float], tolerance: float) -> float:
    """Return the integral of ``f`` from the first break to the last, by adaptive Simpson's rule.

    Between two breaks nothing of ``f`` is so narrow that three points would miss it.
    """
    total = 0.0
    for a, b in pairwise(breaks):
        middle = (a + b) / 2
        total += _simpson(f, (a, middle, b), (f(a), f(middle), f(b)), tolerance, 30)
    return total


def _simpson(
    f: Callable[[float], float],
    at: tuple[float, float, float],
    told: tuple[float, float, float],
    tolerance: float,
    depth: int,
) -> float:
    (a, m, b), (fa, fm, fb) = at, told
    left, right = (a + m) / 2, (m + b) / 2
    fl, fr = f(left), f(right)
    whole = (b - a) / 6 * (fa + 4 * fm + fb)
    halves = (b - a) / 12 * (fa + 4 * fl + 2 * fm + 4 * fr + fb)
    if depth == 0 or abs(halves - whole) <= 15 * tolerance:
        return halves + (halves - whole) / 15
    return _simpson(f, (a, left, m), (fa, fl, fm), tolerance / 2, depth - 1) + _simpson(
        f, (m, right, b), (fm, fr, fb), tolerance / 2, depth - 1
    )
