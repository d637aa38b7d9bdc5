"""Everything weighed: a curve and a verdict for each question, and what they hang on."""

from __future__ import annotations

from typing import TYPE_CHECKING

from msgspec import Struct

from retime.evidence.conflicts import Conflict, conflicts, suspect
from retime.evidence.curve import Curve, curve_of
from retime.evidence.model import Question
from retime.evidence.settling import Settling, settling
from retime.evidence.verdict import Ranked, Verdict, ranked, verdict_on

if TYPE_CHECKING:
    from collections.abc import Sequence

    from retime.evidence.model import Evidence, Item
    from retime.film.speed import Speed

__all__ = ["Answer", "Pair", "Weighing", "Without", "weigh"]


class Pair(Struct, frozen=True, kw_only=True):
    """Two candidates compared: the first is supported ``factor`` times as much, 1 or more."""

    first: Speed
    second: Speed
    factor: float


class Without(Struct, frozen=True, kw_only=True):
    """What a question looks like without one item.

    ``best`` is the most supported speed then, None where nothing else speaks to the question.
    ``turns`` says whether other speeds are presented then, or the question stands otherwise;
    ``shift`` is by how much the two leading candidates' Bayes factor changes, as a logarithm: the
    item speaks for the leader where it is above 0.
    """

    item: str
    best: float | None
    verdict: Verdict | None
    turns: bool
    shift: float


class Answer(Struct, frozen=True, eq=False, kw_only=True):
    """One question answered.

    ``ranked`` are all candidates, the most supported first, ``pairs`` all two of them, ``without``
    one entry for each item that speaks to the question, in the order written, and ``carrier`` the
    item that the verdict hangs on most, None where there is only one.
    """

    question: Question
    curve: Curve
    ranked: tuple[Ranked, ...]
    pairs: tuple[Pair, ...]
    verdict: Verdict
    without: tuple[Without, ...]
    carrier: str | None
    settling: tuple[Settling, ...]


class Weighing(Struct, frozen=True, eq=False, kw_only=True):
    """All questions that something speaks to, and what is at odds."""

    answers: tuple[Answer, ...]
    conflicts: tuple[Conflict, ...]
    suspect: str | None


def weigh(evidence: Evidence) -> Weighing:
    """Return what the evidence says of every question that it speaks to."""
    found = conflicts(evidence.items, evidence.links)
    answers = [_answer(evidence, question) for question in Question]
    return Weighing(
        answers=tuple(answer for answer in answers if answer is not None),
        conflicts=found,
        suspect=suspect(found, evidence.items),
    )


def _answer(evidence: Evidence, question: Question) -> Answer | None:
    curve = curve_of(evidence.items, evidence.links, question)
    if curve is None:
        return None
    order = ranked(curve, evidence.candidates)
    verdict = verdict_on(curve, evidence.candidates)
    speaking = [item for item in evidence.items if item.id in curve.items]
    without = tuple(_without(evidence, curve, order, verdict, item) for item in speaking)
    return Answer(
        question=question,
        curve=curve,
        ranked=order,
        pairs=_pairs(order, curve),
        verdict=verdict,
        without=without,
        carrier=_carrier(without),
        settling=settling(evidence.length, order) if len(order) > 1 else (),
    )


def _pairs(order: Sequence[Ranked], curve: Curve) -> tuple[Pair, ...]:
    speeds = [one.speed for one in order]
    return tuple(
        Pair(first=first, second=second, factor=curve.factor(first, second))
        for place, first in enumerate(speeds)
        for second in speeds[place + 1 :]
    )


def _without(
    evidence: Evidence, curve: Curve, order: Sequence[Ranked], verdict: Verdict, item: Item
) -> Without:
    rest = [one for one in evidence.items if one is not item]
    other = curve_of(rest, evidence.links, curve.question)
    told = None if other is None else verdict_on(other, evidence.candidates)
    shift = 0.0
    if len(order) > 1:
        first, second = order[0].speed, order[1].speed
        left = 0.0 if other is None else other.log_factor(first, second)
        shift = curve.log_factor(first, second) - left
    same = told is not None and (
        told.standing is verdict.standing and set(told.presentable) == set(verdict.presentable)
    )
    return Without(
        item=item.id,
        best=None if other is None else other.best,
        verdict=told,
        turns=not same,
        shift=shift,
    )


def _carrier(without: Sequence[Without]) -> str | None:
    """Return the item whose going changes most, one that turns the verdict before others."""
    if len(without) < 2:  # noqa: PLR2004 - of one item there is nothing to compare
        return None
    return max(without, key=lambda one: (one.turns, abs(one.shift))).item
