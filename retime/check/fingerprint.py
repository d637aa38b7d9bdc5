"""A reference clip's fingerprint: what it was made of, and what its pictures are known again by.

It is a small YAML document, ``retime-fingerprint/1``, that a CI job keeps beside its map and holds
tomorrow's render against. Lossless pictures are told by the digests of their samples; others by
small pictures, within a tolerance that coding them anew by another version keeps to.
"""

from __future__ import annotations

from enum import StrEnum
from typing import TYPE_CHECKING, Any, Literal

import yaml
from msgspec import Struct
from pydantic import Field

from retime.check.identity import MOST_PICTURES, exact_lines, packed, unpacked
from retime.errors import DocumentError
from retime.findings import Finding
from retime.yamldoc.binding import Section, validate
from retime.yamldoc.reading import load

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from pathlib import Path

    from retime.check.identity import Exact, Tolerant
    from retime.yamldoc.tree import Tree

__all__ = ["FORMAT", "Kept", "Record", "Recorded", "fingerprint_text", "read_fingerprint"]

FORMAT = "retime-fingerprint/1"


class Kept(StrEnum):
    """What pictures are told by."""

    SAMPLES = "samples"
    LIKENESS = "likeness"


class Record(Struct, frozen=True, eq=False, kw_only=True):
    """One deliverable's fingerprint.

    ``plan`` is the digest of the list of its output frames, ``facts`` what its file says, ``sound``
    the digests of its streams.
    """

    name: str
    plan: str
    kept: Kept
    pictures: Exact | Tolerant
    facts: Mapping[str, str]
    sound: tuple[str, ...]


class Recorded(Struct, frozen=True, eq=False, kw_only=True):
    """A fingerprint that was kept: by what map and versions of libraries it was made."""

    film: str
    map_sha256: str
    versions: Mapping[str, str]
    records: tuple[Record, ...]


class _RecordSection(Section):
    name: str
    plan: str
    kept: Kept
    facts: dict[str, str]
    sound: list[str] = Field(default=[])
    pictures: str


class _Document(Section):
    format: Literal["retime-fingerprint/1"]
    film: str
    map_sha256: str
    versions: dict[str, str]
    deliverables: list[_RecordSection]


def fingerprint_text(recorded: Recorded) -> str:
    """Return a fingerprint as it is written."""
    document: dict[str, Any] = {
        "format": FORMAT,
        "film": recorded.film,
        "map_sha256": recorded.map_sha256,
        "versions": dict(recorded.versions),
        "deliverables": [
            {
                "name": one.name,
                "plan": one.plan,
                "kept": str(one.kept),
                "facts": dict(one.facts),
                **({"sound": list(one.sound)} if one.sound else {}),
                "pictures": "\n".join(_lines(one.pictures)) + "\n",
            }
            for one in recorded.records
        ],
    }
    heading = "# The fingerprint of reference clips, written by retime check --record.\n"
    return heading + yaml.dump(
        document, Dumper=_Dumper, sort_keys=False, allow_unicode=True, width=1000
    )


class _Dumper(yaml.SafeDumper):
    """Writes texts of several lines as blocks."""


def _block(dumper: yaml.SafeDumper, text: str) -> yaml.ScalarNode:
    style = "|" if "\n" in text else None
    return dumper.represent_scalar("tag:yaml.org,2002:str", text, style=style)


_Dumper.add_representer(str, _block)


def _lines(pictures: Exact | Tolerant) -> Sequence[str]:
    return list(exact_lines(pictures) if isinstance(pictures, list) else packed(pictures))


def read_fingerprint(path: Path) -> Recorded:
    """Return the fingerprint in a file.

    Raises:
        DocumentError: it cannot be read, or is none.
    """
    tree = load(path)
    document = validate(_Document, tree)
    return Recorded(
        film=document.film,
        map_sha256=document.map_sha256,
        versions=document.versions,
        records=tuple(
            _record(section, tree, number) for number, section in enumerate(document.deliverables)
        ),
    )


def _record(section: _RecordSection, tree: Tree, number: int) -> Record:
    try:
        pictures = _pictures(section)
    except ValueError as error:
        place = tree.place(("deliverables", number, "pictures"))
        text = f"these are no pictures: {error}"
        hint = "record the fingerprint again"
        found = Finding(place=place, rule="fingerprint", text=text, hint=hint)
        raise DocumentError([found]) from error
    return Record(
        name=section.name,
        plan=section.plan,
        kept=section.kept,
        pictures=pictures,
        facts=section.facts,
        sound=tuple(section.sound),
    )


def _pictures(section: _RecordSection) -> Exact | Tolerant:
    lines = section.pictures.split("\n")
    if section.kept is Kept.LIKENESS:
        return unpacked(line.strip() for line in lines)
    found: Exact = []
    for line in lines:
        if line.strip():
            times, digest = line.split()
            if not 0 < int(times) <= MOST_PICTURES - len(found):
                raise ValueError(f"there are none, or more than {MOST_PICTURES:,}")
            found += [digest] * int(times)
    return found
