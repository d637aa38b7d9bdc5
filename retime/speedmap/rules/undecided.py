"""A map without versions decides no speed yet."""

from __future__ import annotations

from typing import TYPE_CHECKING

from retime.speedmap.rules.case import Case, warning

if TYPE_CHECKING:
    from collections.abc import Iterator

    from retime.findings import Finding

__all__ = ["check"]


def check(case: Case) -> Iterator[Finding]:
    """Find a map that has no versions."""
    if not case.map.versions:
        text = "no speed is decided yet: the map has no versions"
        hint = "write versions: with a speed for the film, such as restrained: {speed: 18 fps}"
        yield warning("undecided", case.map.where.of(), text, hint)
