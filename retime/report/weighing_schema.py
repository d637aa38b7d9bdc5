"""The shape of ``retime-weighing/1``, and its JSON Schema."""

from __future__ import annotations

from typing import Any, Literal, NotRequired

from pydantic import TypeAdapter
from pydantic.json_schema import GenerateJsonSchema
from typing_extensions import TypedDict

__all__ = ["WeighingTold", "weighing_schema"]


class Figure(TypedDict):
    """A figure known within something: fractions as texts, and its standard uncertainty."""

    value: str
    low: str
    high: str
    exact: NotRequired[bool]
    uncertainty: float


class LinkTold(TypedDict):
    """One question's speed is ``low`` to ``high`` times that of another."""

    question: str
    low: str
    high: str
    of: str


class VerdictTold(TypedDict):
    """How a question stands, and which speeds are worth presenting, the most supported first."""

    standing: Literal["leading", "undecided", "none of the candidates"]
    presentable: list[str]


Ranges = TypedDict("Ranges", {"50": list[tuple[float, float]], "90": list[tuple[float, float]]})
Ranges.__doc__ = (
    "The shortest ranges that hold 50 and 90 % of the support, each of a piece or more."
)


class CandidateTold(TypedDict):
    """A candidate, and its support over that of ``best``, the most supported speed of all.

    That need be no candidate, so the first candidate's may be less than 1; how many times as much
    one candidate is supported as another stands in ``pairs``.
    """

    speed: str
    support: float
    log_support: float


class PairTold(TypedDict):
    """Two candidates, the first supported ``factor`` times as much, and the published words."""

    first: str
    second: str
    factor: float
    words: str


class WithoutTold(TypedDict):
    """What is left without an item; ``best`` and ``verdict`` are null where nothing is.

    ``shift`` is the logarithm of the factor by which the item speaks for the leader over the next.
    """

    item: str
    best: float | None
    verdict: VerdictTold | None
    turns: bool
    shift: float


class SettlingTold(TypedDict):
    """A document that would tell the two leading candidates apart by a factor of 20.

    It may be wrong by ``within`` to either side, in the unit of ``measure`` (``s``, ``fps``, ``%``
    of a length), or ``count`` people would have to be measured; the other is null.
    """

    kind: str
    measure: str
    within: float | None
    count: int | None
    text: str


class Point(TypedDict):
    """A point of a curve: a speed, and the density of the support there; its integral is 1."""

    speed: float
    density: float


class AnswerTold(VerdictTold):
    """A question answered.

    ``best`` is the most supported speed, candidate or not. ``factor`` is the first candidate's
    support over the second's; it and ``words`` are null where there is one candidate.
    """

    question: Literal["taking", "showing", "looking"]
    text: str
    factor: float | None
    words: str | None
    best: float
    ranges: Ranges
    candidates: list[CandidateTold]
    pairs: list[PairTold]
    items: list[str]
    without: list[WithoutTold]
    carrier: str | None
    settling: list[SettlingTold]
    curve: list[Point]


class ConflictTold(TypedDict):
    """Items at odds: one allows no speed above ``below``, the other none under ``above``."""

    slower: str
    faster: str
    question: str
    below: str
    above: str
    exact: NotRequired[bool]
    text: str


class ShouldSay(TypedDict):
    """What an item should have said at a candidate's speed, in the unit of its measure."""

    speed: str
    figure: str
    exact: NotRequired[bool]
    text: str
    fits: bool


class SaysTold(TypedDict):
    """One thing that an item says, and the speed that it implies."""

    part: str | None
    text: str
    sense: Literal["near", "at least", "at most"]
    speed: Figure
    measure: str
    should_say: list[ShouldSay]


class SectionTold(TypedDict):
    """A section of a score; ``apart`` is how many frames are missing or added, null if it fits."""

    name: str
    frames: Figure
    seconds: Figure
    speed: Figure
    standing: Literal["fits", "missing", "added"]
    apart: Figure | None


class RunTold(TypedDict):
    """A run of sections with a speed of its own, by its first section."""

    first: str
    speed: Figure


class ScoreTold(TypedDict):
    """How the sections of a score fit together; ``runs`` is null where one speed fits."""

    speed: Figure
    scatter: float
    sections: list[SectionTold]
    runs: list[RunTold] | None


class ItemTold(TypedDict):
    """One item of evidence."""

    id: str
    kind: str
    question: str
    trust: str
    group: str | None
    source: str
    note: str
    says: list[SaysTold]
    score: ScoreTold | None


class WeighingTold(TypedDict):
    """The whole weighing; ``text`` is null where fewer than two questions are answered."""

    format: Literal["retime-weighing/1"]
    film: str
    gauge: str
    footage: str | None
    evidence_sha256: str
    length: Figure
    candidates: list[str]
    links: list[LinkTold]
    text: str | None
    answers: list[AnswerTold]
    conflicts: list[ConflictTold]
    suspect: str | None
    items: list[ItemTold]


def weighing_schema() -> dict[str, Any]:
    """Return the JSON Schema (draft 2020-12) of a weighing."""
    schema = TypeAdapter(WeighingTold).json_schema()
    return schema | {"$schema": GenerateJsonSchema.schema_dialect, "title": "retime-weighing/1"}
