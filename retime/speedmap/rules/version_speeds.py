"""A version has one speed of its own: told, or solved from a runtime, or from another's."""

from __future__ import annotations

from typing import TYPE_CHECKING

from retime.speedmap.rules.case import Case, error
from retime.yamldoc.quoting import quoted

if TYPE_CHECKING:
    from collections.abc import Iterator

    from retime.findings import Finding

__all__ = ["check"]

_RULE = "version-speeds"


def check(case: Case) -> Iterator[Finding]:
    """Find versions with none, or more than one, of speed, runtime and runtime of."""
    for version in case.map.versions.values():
        ways = {
            "speed": version.speed,
            "runtime": version.runtime,
            "runtime of": version.runtime_of,
            "meet": version.meet,
        }
        given = [name for name, value in ways.items() if value is not None]
        if not given and version.like is None:  # else it is told of the one that it is like
            text = f"the version {quoted(version.name)} has no speed"
            hint = 'give it "speed", "runtime", "runtime of" or "meet"'
            yield error(_RULE, version.where.of(key=True), text, hint)
        elif len(given) > 1:
            text = f"{quoted(given[1])} is at odds with {quoted(given[0])}"
            place = version.where.of(given[1], key=True)
            yield error(_RULE, place, text, "keep one of the two")
