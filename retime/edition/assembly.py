"""What an edition's assembly needs of its files, and what is odd about it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from retime.findings import Finding, Severity
from retime.speedmap.assembly import Excerpt, Still
from retime.yamldoc.quoting import listed

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    from retime.findings import Place
    from retime.speedmap.decisions import Segment
    from retime.speedmap.model import SpeedMap, Version

__all__ = ["excerpt_findings", "forgotten_findings", "stills_of"]


def stills_of(version: Version) -> Iterator[tuple[str, Place]]:
    """Yield the address of every still of a version's assembly, and where it is written."""
    if version.assembly is None:
        return
    for inset in version.assembly.insert:
        if isinstance(inset.shows, Still):
            yield inset.shows.plate.address, inset.where.of("still")
    for found in version.assembly.replace.values():
        yield found.plate.address, found.where.of()


def excerpt_findings(speed_map: SpeedMap, counts: Mapping[str, int]) -> Iterator[Finding]:
    """Yield excerpts of other scans that run past their ends."""
    told: list[Finding] = []
    for version in speed_map.versions.values():
        for inset in version.assembly.insert if version.assembly else ():
            shows = inset.shows
            if not isinstance(shows, Excerpt) or shows.last < counts[shows.reel]:
                continue
            text = f"the scan's last frame is {counts[shows.reel] - 1}"
            found = Finding(place=inset.where.of("last"), rule="assembly", text=text)
            if found not in told:
                told.append(found)
    yield from told


def forgotten_findings(version: Version, forgotten: Sequence[Segment]) -> Iterator[Finding]:
    """Yield a warning about what an order has forgotten."""
    if forgotten and version.assembly is not None and version.assembly.order:
        names = listed(_said(one) for one in forgotten)
        place = version.assembly.order[0].where.of()
        text = f"in the order of version {version.name} is lost: {names}"
        hint = "add it to order, or to omit if that is meant"
        severity = Severity.WARNING
        yield Finding(place=place, rule="assembly", text=text, hint=hint, severity=severity)


def _said(segment: Segment) -> str:
    if segment.shot is not None:
        return f"shot {segment.shot.key}"
    return f"reel {segment.reel}, frames {segment.first} to {segment.last}"
