"""``retime-damage/1``: the list of what stands in for damaged frames, written and read.

It is JSON, and is read as the documents are that people write: JSON is YAML, and what is wrong in
it is found at its place.
"""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Annotated, Any, Literal

from pydantic import Field

from retime.edition.damage import DamageList, OutputRun, StandIn
from retime.errors import DocumentError
from retime.findings import Finding
from retime.yamldoc.binding import Section, validate
from retime.yamldoc.reading import load
from retime.yamldoc.schema import document_schema

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from retime.yamldoc.tree import Tree

__all__ = ["damage_schema", "damage_text", "read_damage", "stand_in_values"]

_FORMAT = "retime-damage/1"
_Count = Annotated[int, Field(ge=0, le=1_000_000_000)]


class OutputsSection(Section):
    """Output frames in a row, as they are written."""

    first: _Count
    last: _Count
    timecode: str | None = None


class StandInSection(Section):
    """One damaged frame, as it is written."""

    reel: str
    frame: _Count
    scan: str
    scan_frame: _Count
    wrong: str
    shows: Literal["held", "black"]
    held: _Count | None = None
    outputs: Annotated[list[OutputsSection], Field(min_length=1)]


class DamageDocument(Section):
    """The list, as it is written."""

    format: Literal["retime-damage/1"]
    film: str
    version: str
    deliverable: str
    file: str
    map_sha256: str
    damaged: Annotated[list[StandInSection], Field(min_length=1)]


def damage_schema() -> dict[str, Any]:
    """Return the JSON Schema (draft 2020-12) of the list beside a deliverable."""
    description = "Frames of scans that do not decode, and what a deliverable shows instead."
    return document_schema(DamageDocument, _FORMAT, description)


def damage_text(told: DamageList) -> str:
    """Return the list as it is written."""
    values = {
        "format": _FORMAT,
        "film": told.film,
        "version": told.version,
        "deliverable": told.deliverable,
        "file": _readable(told.file),
        "map_sha256": told.map_sha256,
        "damaged": [stand_in_values(one) for one in told.damaged],
    }
    return json.dumps(values, indent=1, ensure_ascii=False) + "\n"


def stand_in_values(one: StandIn) -> dict[str, Any]:
    """Return one damaged frame as it is written."""
    shows = {"shows": "black"} if one.held is None else {"shows": "held", "held": one.held}
    return {
        "reel": one.reel,
        "frame": one.frame,
        "scan": _readable(one.scan),
        "scan_frame": one.scan_frame,
        "wrong": _readable(one.wrong),
        **shows,
        "outputs": [_run_values(run) for run in one.outputs],
    }


def _run_values(run: OutputRun) -> dict[str, Any]:
    labelled = {"timecode": run.timecode} if run.timecode else {}
    return {"first": run.first, "last": run.last, **labelled}


def _readable(text: str) -> str:
    """Return a path, or a library's words, with what cannot be printed escaped."""
    return "".join(c if c.isprintable() else repr(c)[1:-1] for c in text)


def read_damage(path: Path) -> DamageList:
    """Read a list; raises DocumentError with all that is wrong in it, each at its place."""
    tree = load(path)
    document = validate(DamageDocument, tree)
    findings = list(_contradictions(document, tree))
    if findings:
        raise DocumentError(findings)
    return DamageList(
        film=document.film,
        version=document.version,
        deliverable=document.deliverable,
        file=document.file,
        map_sha256=document.map_sha256,
        damaged=tuple(_stand_in(one) for one in document.damaged),
    )


def _contradictions(document: DamageDocument, tree: Tree) -> Iterator[Finding]:
    """Yield what does not fit together in a list."""
    damaged = {(one.reel, one.scan_frame) for one in document.damaged}
    for number, one in enumerate(document.damaged):
        text = None
        if (one.shows == "held") is not (one.held is not None):
            text = "what is held is told where something is held, and only there"
        elif (one.reel, one.held) in damaged:
            text = f"frame {one.held} is held, and is damaged too"
        elif any(run.last < run.first for run in one.outputs):
            text = "output frames end before they begin"
        if text is not None:
            place = tree.place(("damaged", number))
            yield Finding(place=place, rule="damage-list", text=text)


def _stand_in(one: StandInSection) -> StandIn:
    return StandIn(
        reel=one.reel,
        frame=one.frame,
        scan=_readable(one.scan),
        scan_frame=one.scan_frame,
        wrong=_readable(one.wrong),
        held=one.held,
        outputs=tuple(
            OutputRun(run.first, run.last, _readable(run.timecode or "")) for run in one.outputs
        ),
    )
