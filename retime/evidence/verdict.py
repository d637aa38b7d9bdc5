"""What may be said of the candidates: one leads, or several are worth presenting, or none is."""

from __future__ import annotations

from enum import StrEnum
from math import inf
from typing import TYPE_CHECKING

from msgspec import Struct

if TYPE_CHECKING:
    from collections.abc import Sequence

    from retime.evidence.curve import Curve
    from retime.film.speed import Speed

__all__ = ["STRONG", "Ranked", "Standing", "Verdict", "ranked", "strength", "verdict_on"]

_WORDINGS = (
    (3.0, "not worth more than a bare mention"),
    (20.0, "positive"),
    (150.0, "strong"),
    (inf, "very strong"),
)
"""R. E. Kass, A. E. Raftery, Bayes Factors, J. Am. Stat. Assoc. 90 (1995), 773-795; from memory."""

MENTION, STRONG = 3.0, 20.0


class Standing(StrEnum):
    """How a question stands."""

    LEADING = "leading"
    """One candidate is supported more than 3 times as much as every other."""
    UNDECIDED = "undecided"
    """Candidates within a factor of 3 of the best cannot be told apart."""
    NONE = "none of the candidates"
    """Some other speed is supported more than 20 times as much as every candidate."""


class Ranked(Struct, frozen=True, kw_only=True):
    """A candidate with the logarithm of its support over that of the most supported speed."""

    speed: Speed
    log_support: float


class Verdict(Struct, frozen=True, kw_only=True):
    """What is said of a question.

    ``presentable`` are the speeds worth presenting, the most supported first. ``factor`` is the
    leader's support over that of the candidate after it, None where there is only one; ``words``
    are the published ones for it.
    """

    standing: Standing
    presentable: tuple[Speed, ...]
    factor: float | None
    words: str


def strength(factor: float) -> str:
    """Return the published wording for a Bayes factor of 1 or more."""
    return next(words for bound, words in _WORDINGS if factor <= bound)


def ranked(curve: Curve, candidates: Sequence[Speed]) -> tuple[Ranked, ...]:
    """Return the candidates, the most supported first; the slower of two alike goes first."""
    found = [Ranked(speed=speed, log_support=curve.log_at(speed)) for speed in candidates]
    return tuple(sorted(found, key=lambda one: (-one.log_support, one.speed)))


def verdict_on(curve: Curve, candidates: Sequence[Speed]) -> Verdict:
    """Return what is to be said of at least one candidate."""
    order = ranked(curve, candidates)
    leader = order[0].speed
    factor = curve.factor(leader, order[1].speed) if len(order) > 1 else None
    words = "" if factor is None else strength(factor)
    near = tuple(one.speed for one in order if curve.factor(leader, one.speed) <= MENTION)
    if order[0].log_support < 0 and curve.factor_of_best(leader) > STRONG:
        return Verdict(standing=Standing.NONE, presentable=(), factor=factor, words=words)
    standing = Standing.UNDECIDED if len(near) > 1 else Standing.LEADING
    return Verdict(standing=standing, presentable=near, factor=factor, words=words)
