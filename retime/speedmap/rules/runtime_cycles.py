"""A version that takes its runtime from a deliverable is not where that one's comes from."""

from __future__ import annotations

from typing import TYPE_CHECKING

from retime.speedmap.rules.case import Case, error
from retime.yamldoc.quoting import quoted

if TYPE_CHECKING:
    from collections.abc import Iterator

    from retime.findings import Finding
    from retime.speedmap.model import SpeedMap, Version

__all__ = ["check"]


def check(case: Case) -> Iterator[Finding]:
    """Find versions that take their runtime from themselves, by whatever way round."""
    for version in case.map.versions.values():
        if version.name in _sources(case.map, version):
            text = f"the version {quoted(version.name)} takes its runtime from itself"
            hint = "name a deliverable of another version"
            yield error("runtime-cycles", version.where.of("runtime of"), text, hint)


def _sources(speed_map: SpeedMap, version: Version) -> list[str]:
    """Return the names of the versions that a version's runtime comes from, nearest first."""
    found: list[str] = []
    here: Version | None = version
    while here is not None and here.runtime_of is not None:
        deliverable = speed_map.deliverables.get(here.runtime_of)
        here = speed_map.versions.get(deliverable.version) if deliverable else None
        if here is None or here.name in found:
            break
        found.append(here.name)
    return found
