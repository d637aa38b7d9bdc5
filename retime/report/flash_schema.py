"""The shape of ``retime-flashes/1``, and its JSON Schema."""

from __future__ import annotations

from typing import Any, Literal, NotRequired

from pydantic import TypeAdapter
from pydantic.json_schema import GenerateJsonSchema
from typing_extensions import TypedDict

__all__ = ["FlashesTold", "flash_schema"]


class TimeTold(TypedDict):
    """Seconds as a fraction, and as a clock tells them."""

    seconds: str
    exact: NotRequired[bool]
    text: str


class RunTold(TypedDict):
    """A second, or a run of seconds, with the most flashes in one and the share of the area.

    ``start`` is the time of the first transition that is counted, ``stop`` that of the last.
    ``timecode`` and ``where`` are null where no map tells.
    """

    start: TimeTold
    stop: TimeTold
    flashes: float
    area: float
    timecode: str | None
    where: str | None


class AnswerTold(TypedDict):
    """One kind of flash by one standard; ``worst`` is null where nothing flashes on enough area.

    ``per_second`` has, for each second of the film, the most flashes in any second ending in it.
    """

    kind: Literal["general", "red"]
    standard: Literal["WCAG 2.2", "Rec. ITU-R BT.1702-3"]
    transfer: Literal["srgb", "bt1886"]
    area_of: Literal["field", "picture"]
    passes: bool
    worst: RunTold | None
    failing: list[RunTold]
    per_second: list[float]


class CheckedTold(TypedDict):
    """A movie, or a deliverable of a map at its own speed; ``version`` is null for a movie.

    ``rate`` is null where there is no one rate. ``edges_apart`` is from how many seconds between
    their leading edges on flashes are always allowed.
    """

    name: str
    version: str | None
    rate: str | None
    runtime: TimeTold
    pictures: int
    edges_apart: str
    passes: bool
    answers: list[AnswerTold]


class FlashesTold(TypedDict):
    """All that was checked; ``film`` and ``map_sha256`` are null for a movie by itself."""

    format: Literal["retime-flashes/1"]
    film: str | None
    map_sha256: str | None
    passes: bool
    reckoned_with: list[str]
    cautions: list[str]
    checked: list[CheckedTold]


def flash_schema() -> dict[str, Any]:
    """Return the JSON Schema (draft 2020-12) of what the flash check tells."""
    schema = TypeAdapter(FlashesTold).json_schema()
    return schema | {"$schema": GenerateJsonSchema.schema_dialect, "title": "retime-flashes/1"}
