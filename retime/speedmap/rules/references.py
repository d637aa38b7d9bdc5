"""Every name that a map uses is one that it defines."""

from __future__ import annotations

from typing import TYPE_CHECKING

from retime.speedmap.rules.case import Case, error
from retime.yamldoc.quoting import quoted

if TYPE_CHECKING:
    from collections.abc import Collection, Iterator

    from retime.findings import Finding, TextPlace

__all__ = ["check"]


def check(case: Case) -> Iterator[Finding]:
    """Find versions, reels and deliverables that are named and not there."""
    for kind, name, place, known in _references(case):
        if name not in known:
            text = f"there is no {kind} {quoted(name)}"
            yield error("references", place, text, case.suggestion(name, known))


def _references(case: Case) -> Iterator[tuple[str, str, TextPlace, Collection[str]]]:
    """Return the kind of each name used, the name, its place, and the names of that kind."""
    for shot in case.map.shots:
        if shot.reel not in case.reels:
            yield "reel", shot.reel, shot.where.of("reel"), case.reels
    for version in case.map.versions.values():
        for name in version.reels:
            yield "reel", name, version.where.of("reels", name, key=True), case.reels
        if version.runtime_of is not None:
            place = version.where.of("runtime of")
            yield "deliverable", version.runtime_of, place, case.map.deliverables
    for deliverable in case.map.deliverables.values():
        place = deliverable.where.of("version")
        yield "version", deliverable.version, place, case.map.versions
