"""A weighing as plain values: ``retime-weighing/1``.

Speeds are frames per second, times seconds, lengths film frames. What was read is told as exact
fractions, what was weighed (support, factors, most supported speeds) as floating-point numbers.
"""

from __future__ import annotations

from math import exp
from typing import TYPE_CHECKING, Any

from retime.evidence.curve import GRID
from retime.evidence.support import FASTEST, SLOWEST
from retime.evidence.verdict import strength
from retime.report.numbers import exact, said
from retime.report.weighing_doubts import conflict_said, settling_said
from retime.report.weighing_measures import figure_said, fits
from retime.report.weighing_words import overall_said, verdict_said

if TYPE_CHECKING:
    from collections.abc import Sequence

    from retime.evidence.conflicts import Conflict
    from retime.evidence.curve import Curve
    from retime.evidence.model import Evidence, Implied, Item
    from retime.evidence.quantity import Quantity
    from retime.evidence.score import ScoreFit
    from retime.evidence.settling import Settling
    from retime.evidence.verdict import Verdict
    from retime.evidence.weighing import Answer, Weighing, Without
    from retime.film.speed import Speed

__all__ = ["FORMAT", "weighing_values"]

FORMAT = "retime-weighing/1"
_POINTS = 10
"""So many points of a curve are told for every frame per second."""

_STEP = round((len(GRID) - 1) / ((FASTEST - SLOWEST) * _POINTS))
_PLACES = 6


def weighing_values(evidence: Evidence, weighing: Weighing) -> dict[str, Any]:
    """Return all that the evidence supports, ready for JSON."""
    return {
        "format": FORMAT,
        "film": evidence.film,
        "gauge": evidence.gauge.name,
        "footage": None if evidence.footage is None else str(evidence.footage),
        "evidence_sha256": evidence.tree.sha256,
        "length": _quantity(evidence.length),
        "candidates": [exact(one.fps) for one in evidence.candidates],
        "links": [
            {
                "question": str(link.question),
                "low": exact(link.low),
                "high": exact(link.high),
                "of": str(link.of),
            }
            for link in evidence.links
        ],
        "text": overall_said(weighing) or None,
        "answers": [_answer(answer) for answer in weighing.answers],
        "conflicts": [_conflict(one, evidence.items) for one in weighing.conflicts],
        "suspect": weighing.suspect,
        "items": [_item(one, evidence.candidates) for one in evidence.items],
    }


def _quantity(figure: Quantity) -> dict[str, Any]:
    return {
        **said(value=figure.value, low=figure.low, high=figure.high),
        "uncertainty": figure.uncertainty,
    }


def _answer(answer: Answer) -> dict[str, Any]:
    curve, verdict = answer.curve, answer.verdict
    return {
        "question": str(answer.question),
        "text": verdict_said(answer),
        **_verdict(verdict),
        "factor": verdict.factor,
        "words": verdict.words or None,
        "best": round(curve.best, _PLACES),
        "ranges": {"50": _range(curve, 0.5), "90": _range(curve, 0.9)},
        "candidates": [
            {
                "speed": exact(one.speed.fps),
                "support": exp(min(0.0, one.log_support)),
                "log_support": one.log_support,
            }
            for one in answer.ranked
        ],
        "pairs": [
            {
                "first": exact(pair.first.fps),
                "second": exact(pair.second.fps),
                "factor": pair.factor,
                "words": strength(pair.factor),
            }
            for pair in answer.pairs
        ],
        "items": [one.item for one in answer.without],
        "without": [_without(one) for one in answer.without],
        "carrier": answer.carrier,
        "settling": [_settling(one, words) for one, words in settling_said(answer)],
        "curve": [
            {"speed": round(float(speed), _PLACES), "density": float(density)}
            for speed, density in zip(GRID[::_STEP], curve.density[::_STEP], strict=True)
        ],
    }


def _verdict(verdict: Verdict) -> dict[str, Any]:
    return {
        "standing": str(verdict.standing),
        "presentable": [exact(one.fps) for one in verdict.presentable],
    }


def _range(curve: Curve, share: float) -> list[list[float]]:
    return [[round(low, _PLACES), round(high, _PLACES)] for low, high in curve.range(share)]


def _without(one: Without) -> dict[str, Any]:
    return {
        "item": one.item,
        "best": None if one.best is None else round(one.best, _PLACES),
        "verdict": None if one.verdict is None else _verdict(one.verdict),
        "turns": one.turns,
        "shift": one.shift,
    }


def _settling(one: Settling, words: str) -> dict[str, Any]:
    return {
        "kind": str(one.kind),
        "measure": one.measure,
        "within": None if one.within is None else float(one.within),
        "count": one.count,
        "text": words,
    }


def _conflict(one: Conflict, items: Sequence[Item]) -> dict[str, Any]:
    return {
        "slower": one.slower,
        "faster": one.faster,
        "question": str(one.question),
        **said(below=one.below, above=one.above),
        "text": conflict_said(one, items),
    }


def _item(item: Item, candidates: Sequence[Speed]) -> dict[str, Any]:
    return {
        "id": item.id,
        "kind": str(item.kind),
        "question": str(item.question),
        "trust": exact(item.trust),
        "group": item.group,
        "source": item.source,
        "note": item.note,
        "says": [_implied(one, candidates) for one in item.implied],
        "score": None if item.score is None else _score(item.score),
    }


def _implied(one: Implied, candidates: Sequence[Speed]) -> dict[str, Any]:
    return {
        "part": one.part or None,
        "text": one.said,
        "sense": str(one.sense),
        "speed": _quantity(one.speed),
        "measure": str(one.yardstick.measure),
        "should_say": [
            {
                "speed": exact(candidate.fps),
                **said(figure=one.yardstick.at(candidate)),
                "text": figure_said(one.yardstick, candidate),
                "fits": fits(one, candidate),
            }
            for candidate in candidates
        ],
    }


def _score(fit: ScoreFit) -> dict[str, Any]:
    return {
        "speed": _quantity(fit.speed),
        "scatter": fit.scatter,
        "sections": [
            {
                "name": one.section.name,
                "frames": _quantity(one.section.frames),
                "seconds": _quantity(one.section.seconds),
                "speed": _quantity(one.section.speed),
                "standing": str(one.standing),
                "apart": None if one.frames is None else _quantity(one.frames),
            }
            for one in fit.sections
        ],
        "runs": None
        if fit.one_speed
        else [
            {"first": fit.sections[first].section.name, "speed": _quantity(speed)}
            for first, speed in fit.runs
        ],
    }
