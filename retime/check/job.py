"""Deliverables checked, one after the other; each scan is read once for all of them."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Protocol

import numpy as np
from msgspec.structs import replace

from retime.check.damage import damage_findings, listing_of
from retime.check.facts import fact_findings
from retime.check.film import Film
from retime.check.match import Verdict
from retime.check.picture_findings import picture_findings
from retime.check.pictures import look_at
from retime.check.place import FilePlace
from retime.check.record import record_of
from retime.check.result import Checked
from retime.check.sound import sound_findings
from retime.errors import ScanError
from retime.findings import Finding
from retime.second.facts import file_facts
from retime.second.pictures import Source

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence
    from pathlib import Path

    from retime.check.fingerprint import Record
    from retime.check.pictures import Looked
    from retime.edition.edition import Edition, Making
    from retime.second.facts import FileFacts

__all__ = ["Listener", "check_deliverables"]


class Listener(Protocol):
    """Whoever wants to know how far the checking is."""

    def advance(self, pictures: int) -> None:
        """Hear that so many pictures were read."""


def check_deliverables(
    edition: Edition,
    paths: Mapping[str, Path],
    listener: Listener,
    *,
    keep: list[Record] | None = None,
) -> Iterator[Checked]:
    """Yield what checking each of an edition's deliverables comes to; ``paths`` are by name.

    What each is known again by is put into ``keep``, where there is one. Raises ScanError where a
    scan cannot be read: without it nothing can be told.
    """

    def seen() -> None:
        listener.advance(1)

    film = Film(edition, seen)
    for making in edition.makings:
        path = paths[making.name]
        sources = _sources(path)
        if not sources:
            text = "there is no such file" if not path.is_dir() else "the folder holds no pictures"
            yield _unseen(making, path, text, "render it first, or name the folder that it is in")
            continue
        facts = _facts(path)
        listing = listing_of(edition, making, path)
        flagged = _is_flagged(facts)
        looked = look_at(making, sources, film, seen, flagged=flagged, instead=listing.instead)
        if keep is not None and looked.damage is None and facts is not None:
            keep.append(record_of(making, looked, facts, path))
        beside, share = _beside(edition, making, path, facts)
        beside = [*damage_findings(making, film, listing, path), *beside]
        yield replace(_checked(making, path, looked, beside, share), damaged=listing.stand_ins)


def _facts(path: Path) -> FileFacts | None:
    """Return what a file says of itself; None for what is damaged, which its pictures tell."""
    try:
        return file_facts(path)
    except ScanError:
        return None


def _is_flagged(facts: FileFacts | None) -> bool:
    """Tell whether a file's flags show some of its fields more than once."""
    video = None if facts is None else facts.video
    return video is not None and video.shown > video.packets


def _beside(
    edition: Edition, making: Making, path: Path, facts: FileFacts | None
) -> tuple[list[Finding], float | None]:
    """Return what is wrong with all that is no picture, and how much of the sound was told."""
    if facts is None or facts.video is None:
        return [], None
    found = fact_findings(making, edition, path, facts)
    try:
        held = sound_findings(making, edition, path, facts)
    except ScanError as error:
        place = FilePlace(path=path, deliverable=making.name)
        return [*found, Finding(place=place, rule="sound", text=str(error))], None
    return [*found, *held.findings], held.told


def _unseen(making: Making, path: Path, text: str, hint: str = "") -> Checked:
    place = FilePlace(path=path, deliverable=making.name)
    found = Finding(place=place, rule="absent", text=text, hint=hint)
    return Checked(name=making.name, path=path, findings=(found,), planned=making.plan.total)


def _checked(
    making: Making,
    path: Path,
    looked: Looked,
    beside: Sequence[Finding],
    sound_told: float | None,
) -> Checked:
    match = looked.match
    findings = picture_findings(looked.planned, match, path) if match.seen else []
    if looked.damage is not None:
        place = FilePlace(path=path, deliverable=making.name)
        text, detail = looked.damage.text, looked.damage.detail
        text = f"{text} ({detail})" if detail else text
        findings.insert(0, Finding(place=place, rule="damaged", text=text))
    counts = np.bincount(match.verdicts, minlength=len(Verdict))
    return Checked(
        name=making.name,
        path=path,
        findings=(*findings, *beside),
        seen=match.seen,
        planned=match.planned,
        right=int(counts[Verdict.RIGHT] + counts[Verdict.EXACT]),
        exact=int(counts[Verdict.EXACT]),
        wrong=int(counts[Verdict.WRONG] + counts[Verdict.STRANGE]),
        untold=int(counts[Verdict.CANNOT_TELL]),
        moving=match.moving,
        moving_untold=match.moving_untold,
        in_fields=looked.planned.interlaced,
        sound_told=sound_told,
    )


def _sources(path: Path) -> list[Source]:
    """Return the movie, or the runs of numbered files in a sequence's folder."""
    if path.is_file():
        return [Source(path=path)]
    if not path.is_dir():
        return []
    numbered = re.compile(rf"{re.escape(path.name)}\.(\d+)\.(\w+)")
    found = sorted(
        (int(told[1]), len(told[1]), told[2])
        for told in map(numbered.fullmatch, (one.name for one in path.iterdir()))
        if told
    )
    runs: list[Source] = []
    before = None
    for number, digits, ending in found:
        if before is None or number != before + 1:
            pattern = path / f"{path.name.replace('%', '%%')}.%0{digits}d.{ending}"
            runs.append(Source(path=pattern, first_number=number))
        before = number
    return runs
