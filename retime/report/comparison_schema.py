"""The shape of ``retime-comparison/1``, and its JSON Schema."""

from __future__ import annotations

from typing import Any, Literal, NotRequired

from pydantic import TypeAdapter
from pydantic.json_schema import GenerateJsonSchema
from typing_extensions import TypedDict

__all__ = ["ComparisonTold", "comparison_schema"]

FORMAT = "retime-comparison/1"


class MapTold(TypedDict):
    """A map that is compared."""

    map: str
    film: str
    map_sha256: str


class DifferenceTold(TypedDict):
    """What either side says of one thing; ``what`` is ``there`` where one side lacks it.

    Where ``what`` has several things, ``item`` is the one that differs and ``key`` in what: null
    where one side lacks it. ``key`` is ``order`` where only that of all of them differs.
    """

    of: str
    what: str
    left: str | None
    right: str | None
    item: str | None
    key: str | None


class TimeTold(TypedDict):
    """A time: exact seconds, false beside them where they had to be rounded, and as a clock."""

    seconds: str
    exact: NotRequired[Literal[False]]
    text: str


class TimesTold(TypedDict):
    """A time on either side."""

    left: TimeTold
    right: TimeTold


class SpotTold(TypedDict):
    """What is shown where versions part; ``frame`` is null for what is no film frame.

    ``shows`` is ``still`` for a film frame that stands in a hole of its scan, and ``plate`` for a
    picture from a file of its own, ``picture``; ``name`` is that of what was put in.
    """

    reel: str
    shot: str | None
    frame: int | None
    shows: Literal["film", "still", "black", "plate"]
    picture: str | None
    name: str | None


class PartingTold(TypedDict):
    """The place up to which two versions are alike; a side is null for one that ends there."""

    at: TimeTold
    left: SpotTold | None
    right: SpotTold | None


RampTold = TypedDict("RampTold", {"from": str, "to": str})
"""The speeds of a run's first and last frame."""


class StretchTold(TypedDict):
    """Frames of the film that do not run alike; a side is null where they do not play.

    What was put in from a scan is told in ``assembly``.
    """

    reel: str
    first: int
    last: int
    left: str | RampTold | None
    right: str | RampTold | None


class CardTold(TypedDict):
    """A title that stands longer on one side."""

    shot: str
    left: TimeTold
    right: TimeTold


class VersionsTold(TypedDict):
    """Two versions that differ; a side is null where there is none of that name."""

    left: str | None
    right: str | None
    runtime: TimesTold | None
    parts: PartingTold | None
    speeds: list[StretchTold]
    assembly: list[DifferenceTold]
    titles: list[DifferenceTold]
    cards: list[CardTold]


class ComparisonTold(TypedDict):
    """The whole answer; every list holds what differs, and nothing else."""

    format: Literal["retime-comparison/1"]
    left: MapTold
    right: MapTold
    alike: bool
    film: list[DifferenceTold]
    reels: list[DifferenceTold]
    shots: list[DifferenceTold]
    versions: list[VersionsTold]
    deliverables: list[DifferenceTold]


def comparison_schema() -> dict[str, Any]:
    """Return the JSON Schema (draft 2020-12) of what ``retime compare`` tells programs."""
    schema = TypeAdapter(ComparisonTold).json_schema()
    return schema | {"$schema": GenerateJsonSchema.schema_dialect, "title": FORMAT}
