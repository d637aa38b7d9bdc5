"""The shape of ``retime-check/1``, and its JSON Schema."""

from __future__ import annotations

from typing import Any, Literal, NotRequired

from pydantic import TypeAdapter
from pydantic.json_schema import GenerateJsonSchema
from typing_extensions import TypedDict

__all__ = ["CheckTold", "check_schema"]


class FoundTold(TypedDict):
    """One finding; ``output`` is the output frame, from 0, null for what concerns all of a file."""

    rule: str
    severity: Literal["error", "warning"]
    text: str
    hint: str
    place: str
    output: NotRequired[int | None]
    timecode: NotRequired[str]
    film: NotRequired[str]


class OutputsTold(TypedDict):
    """Output frames in a row, counted from 0, both included."""

    first: int
    last: int
    timecode: NotRequired[str]


class DamagedTold(TypedDict):
    """A damaged film frame, as ``retime-damage/1`` lists it, and what is shown instead.

    ``held`` is a frame of the scan, and is there where ``shows`` is so.
    """

    reel: str
    frame: int
    scan: str
    scan_frame: int
    wrong: str
    shows: Literal["held", "black"]
    held: NotRequired[int]
    outputs: list[OutputsTold]


class DeliverableTold(TypedDict):
    """A deliverable that was checked; counts are of output frames, or of fields by ``unit``.

    ``exact`` of those that are ``right`` have every sample of the film frame. ``moving`` are those
    whose neighbours look otherwise. ``sound_told`` is the share of the sound that could be held
    against its recordings, null where there is none. ``damaged`` are frames that something else is
    shown for, as the list beside the file says.
    """

    name: str
    file: str
    unit: Literal["frame", "field"]
    planned: int
    seen: int
    right: int
    exact: int
    wrong: int
    cannot_tell: int
    moving: int
    moving_cannot_tell: int
    sound_told: float | None
    damaged: list[DamagedTold]
    findings: list[FoundTold]


class CheckTold(TypedDict):
    """All that was checked."""

    format: Literal["retime-check/1"]
    film: str
    map_sha256: str
    deliverables: list[DeliverableTold]


def check_schema() -> dict[str, Any]:
    """Return the JSON Schema (draft 2020-12) of what ``retime check --format json`` prints."""
    schema = TypeAdapter(CheckTold).json_schema()
    return schema | {
        "$schema": GenerateJsonSchema.schema_dialect,
        "title": "retime-check/1",
        "description": "What was made, held against its plan by a second reader.",
    }
