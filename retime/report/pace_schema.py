"""The shape of ``retime-pace/1``, and its JSON Schema."""

from __future__ import annotations

from typing import Any, Literal

from pydantic import TypeAdapter
from pydantic.json_schema import GenerateJsonSchema
from typing_extensions import TypedDict

__all__ = ["PaceTold", "pace_schema"]


class Bounds(TypedDict):
    """A figure a second: its value, its bounds, and its standard uncertainty."""

    value: float
    low: float
    high: float
    uncertainty: float


class OtherTold(TypedDict):
    """A period that may be meant instead, and the speed that it would imply."""

    frames: float
    strength: float
    words: str
    speed: Bounds | None


class MotionTold(TypedDict):
    """What moves: its frequency is that of what is counted."""

    law: Literal["natural", "pendulum", "fall"]
    said: str
    counted: str
    frequency: Bounds
    source: str


class PaceTold(TypedDict):
    """The whole answer.

    Where frames were marked by hand, ``marks`` are they, as they were written, and ``first``,
    ``last``, the boxes and ``confidence`` are null; boxes are left, top, width and height.
    ``refused`` says why no period can be told; then ``frames`` and what follows from it are null.
    ``motion``, ``speed`` and ``item`` are null where it was not said what moves. ``within`` is
    the uncertainty times the root of 3, the bound of a rectangle.
    """

    format: Literal["retime-pace/1"]
    scan: str
    first: int | None
    last: int | None
    box: list[int] | None
    box_to: list[int] | None
    marks: list[str]
    motion: MotionTold | None
    refused: str | None
    frames: float | None
    uncertainty: float | None
    within: float | None
    confidence: float | None
    seen: float | None
    others: list[OtherTold]
    notes: list[str]
    speed: Bounds | None
    item: str | None


def pace_schema() -> dict[str, Any]:
    """Return the JSON Schema (draft 2020-12) of what ``retime pace`` tells programs."""
    schema = TypeAdapter(PaceTold).json_schema()
    return schema | {"$schema": GenerateJsonSchema.schema_dialect, "title": "retime-pace/1"}
