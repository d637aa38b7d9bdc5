"""No two deliverables are written to one file, on any disk: letter case aside."""

from __future__ import annotations

import unicodedata
from pathlib import PurePath
from typing import TYPE_CHECKING

from retime.speedmap.rules.case import Case, error
from retime.yamldoc.quoting import quoted

if TYPE_CHECKING:
    from collections.abc import Iterator

    from retime.findings import Finding
    from retime.speedmap.model import Deliverable, SpeedMap

__all__ = ["check"]


def check(case: Case) -> Iterator[Finding]:
    """Find deliverables whose file names clash, endings that a profile gives left aside."""
    taken: dict[str, Deliverable] = {}
    for deliverable in case.map.deliverables.values():
        name = _stem(case.map, deliverable)
        other = taken.setdefault(unicodedata.normalize("NFC", name.casefold()), deliverable)
        if other is not deliverable and not _told_apart(deliverable, other):
            text = f"{quoted(deliverable.name)} and {quoted(other.name)} have one file name"
            place = deliverable.where.of("file", key=True)
            yield error("output-names", place, text, f"both are {quoted(name)}")


def _stem(speed_map: SpeedMap, deliverable: Deliverable) -> str:
    if deliverable.file is not None:
        return PurePath(deliverable.file).stem
    return f"{speed_map.film}-{deliverable.name}"


def _told_apart(one: Deliverable, other: Deliverable) -> bool:
    """Say whether both files are named in full, with endings that differ."""
    if one.file is None or other.file is None:
        return False
    return PurePath(one.file).suffix.casefold() != PurePath(other.file).suffix.casefold()
