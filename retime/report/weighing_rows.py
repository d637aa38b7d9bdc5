"""What stands in the tables of a weighing, whether they are printed or drawn on a page."""

from __future__ import annotations

from math import exp
from typing import TYPE_CHECKING

from msgspec import Struct

from retime.report.weighing_doubts import spoken_for_said
from retime.report.weighing_measures import (
    bounds_said,
    cells_of,
    factor_said,
    fps,
    plain,
    speed,
)
from retime.report.weighing_words import presented_said

if TYPE_CHECKING:
    from collections.abc import Iterator

    from retime.evidence.model import Evidence, Item
    from retime.evidence.verdict import Ranked
    from retime.evidence.weighing import Answer
    from retime.report.weighing_measures import Cell

__all__ = [
    "CandidateRow",
    "ItemRow",
    "WithoutRow",
    "candidate_heads",
    "candidate_rows",
    "item_rows",
    "trust_said",
    "without_rows",
]

_LEAST = 0.001
_MOST = 700.0  # beyond that there are no floating-point numbers


class CandidateRow(Struct, frozen=True, kw_only=True):
    """A candidate: its speed, its support over the best's, and whether it is worth presenting.

    The best is the most supported speed of all, which need be no candidate. ``share`` is the
    support as a number from 0 to 1, ``times`` how many times as much the most supported candidate
    is supported, "" for itself.
    """

    speed: str
    share: float
    support: str
    times: str
    present: bool


class ItemRow(Struct, frozen=True, kw_only=True):
    """One thing that an item says; ``first`` is so for the first of an item's.

    ``cells`` are what it should have said, one for each candidate.
    """

    first: bool
    item: Item
    trust: str
    part: str
    said: str
    lowest: str
    centre: str
    highest: str
    cells: tuple[Cell, ...]


class WithoutRow(Struct, frozen=True, kw_only=True):
    """What is left without an item, and which of the two leading candidates it speaks for."""

    item: str
    best: str
    presented: str
    turns: bool
    speaks: str


def candidate_heads(answer: Answer) -> tuple[str, str]:
    """Return what the candidates' support is told by, and by what the factors; "" without any."""
    support = f"support (1 at {plain(answer.curve.best, 2)} fps)"
    alone = len(answer.ranked) == 1
    return support, "" if alone else f"{speed(answer.ranked[0].speed)} fps is supported"


def candidate_rows(answer: Answer) -> Iterator[CandidateRow]:
    """Yield the candidates, the most supported first."""
    leader = answer.ranked[0]
    for one in answer.ranked:
        share = exp(min(0.0, one.log_support))  # the best is told to the nearest 1/500 alone
        yield CandidateRow(
            speed=speed(one.speed),
            share=share,
            support=f"under {_LEAST}" if share < _LEAST else f"{share:.3f}",
            times="" if one is leader else f"{_factor(leader, one)} times as much",
            present=one.speed in answer.verdict.presentable,
        )


def _factor(leader: Ranked, one: Ranked) -> str:
    return factor_said(exp(min(_MOST, leader.log_support - one.log_support)))


def item_rows(evidence: Evidence) -> Iterator[ItemRow]:
    """Yield what every item says, in the order written."""
    for item in evidence.items:
        for place, implied in enumerate(item.implied):
            lowest, centre, highest = bounds_said(implied)
            yield ItemRow(
                first=place == 0,
                item=item,
                trust=trust_said(item),
                part=implied.part,
                said=implied.said,
                lowest=lowest,
                centre=centre,
                highest=highest,
                cells=cells_of(implied, evidence.candidates),
            )


def without_rows(answer: Answer) -> Iterator[WithoutRow]:
    """Yield a row an item that speaks to the question, in the order written."""
    for one in answer.without:
        yield WithoutRow(
            item=one.item,
            best="" if one.best is None else fps(one.best),
            presented=presented_said(one.verdict),
            turns=one.turns,
            speaks=spoken_for_said(answer, one),
        )


def trust_said(item: Item) -> str:
    """Return an item's trust as a decimal."""
    return plain(item.trust, 3)
