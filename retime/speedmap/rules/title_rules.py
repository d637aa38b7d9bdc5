"""A rule for titles is for titles that the map's shots have."""

from __future__ import annotations

from typing import TYPE_CHECKING

from retime.speedmap.model import ShotKind
from retime.speedmap.rules.case import Case, warning

if TYPE_CHECKING:
    from collections.abc import Iterator

    from retime.findings import Finding

__all__ = ["check"]


def check(case: Case) -> Iterator[Finding]:
    """Find rules for titles in a map that has none."""
    if any(shot.kind is ShotKind.TITLE for shot in case.map.shots):
        return
    for version in case.map.versions.values():
        if version.titles is not None:
            text = "the rule for titles changes nothing: no shot is a title"
            hint = "give the shots that are titles the kind title"
            yield warning("title-rules", version.titles.where.of(key=True), text, hint)
