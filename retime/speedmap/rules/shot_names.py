"""A shot's name belongs to one shot of its reel, since versions name shots by it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from retime.speedmap.rules.case import Case, error
from retime.yamldoc.quoting import quoted

if TYPE_CHECKING:
    from collections.abc import Iterator

    from retime.findings import Finding

__all__ = ["check"]


def check(case: Case) -> Iterator[Finding]:
    """Find shots that have the name of an earlier one of the same reel."""
    for position, shot in enumerate(case.map.shots):
        first = case.positions[shot.key]
        if first != position:
            line = case.map.shots[first].where.of("shot").line
            text = f"a shot {quoted(str(shot.key))} stands already on line {line}"
            hint = "give each shot of a reel its own name"
            yield error("shot-names", shot.where.of("shot"), text, hint)
