"""Fingerprints kept for later, and what was made held against one."""

from __future__ import annotations

from typing import TYPE_CHECKING

from msgspec.structs import replace

from retime.check.difference import differences, version_differences
from retime.check.fingerprint import Recorded, fingerprint_text, read_fingerprint
from retime.check.place import FilePlace
from retime.check.record import versions
from retime.findings import Finding

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

    from retime.check.fingerprint import Record
    from retime.check.result import Checked
    from retime.edition.edition import Edition

__all__ = ["held_against", "recorded_text"]


def recorded_text(edition: Edition, records: Sequence[Record]) -> str:
    """Return the fingerprint of what was checked, as it is written."""
    return fingerprint_text(
        Recorded(
            film=edition.speed_map.film,
            map_sha256=edition.speed_map.sha256,
            versions=versions(),
            records=tuple(records),
        )
    )


def held_against(
    path: Path, edition: Edition, checked: Sequence[Checked], records: Sequence[Record]
) -> tuple[list[Checked], tuple[Finding, ...]]:
    """Return what was checked with what differs from a fingerprint, and warnings about all of it.

    Raises DocumentError where the file is no fingerprint.
    """
    kept = read_fingerprint(path)
    known = {one.name: one for one in kept.records}
    now = {one.name: one for one in records}
    told = [_told(one, known.get(one.name), now.get(one.name), path) for one in checked]
    notes = list(version_differences(kept, versions(), path))
    if kept.film != edition.speed_map.film:
        text = f"the fingerprint is of {kept.film}, not of {edition.speed_map.film}"
        place = FilePlace(path=path, deliverable="")
        told = [_with(one, Finding(place=place, rule="another film", text=text)) for one in told]
    return told, tuple(notes)


def _told(checked: Checked, kept: Record | None, now: Record | None, path: Path) -> Checked:
    if kept is None:
        place = FilePlace(path=path, deliverable=checked.name)
        text = f"the fingerprint has nothing of {checked.name}"
        hint = "record it, or name the deliverables that it has"
        return _with(checked, Finding(place=place, rule="fingerprint", text=text, hint=hint))
    if now is None:  # the file is away or damaged, which is told already
        return checked
    return _with(checked, *differences(kept, now, checked.path))


def _with(checked: Checked, *findings: Finding) -> Checked:
    return replace(checked, findings=(*checked.findings, *findings))
