"""A reel's name belongs to one reel, since shots and versions name reels by it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from retime.speedmap.rules.case import Case, error
from retime.yamldoc.quoting import quoted

if TYPE_CHECKING:
    from collections.abc import Iterator

    from retime.findings import Finding

__all__ = ["check"]


def check(case: Case) -> Iterator[Finding]:
    """Find reels that have the name of an earlier one."""
    for reel in case.map.reels:
        first = case.reels[reel.name]
        if first is not reel:
            line = first.where.of("reel").line
            text = f"a reel {quoted(reel.name)} stands already on line {line}"
            yield error("reel-names", reel.where.of("reel"), text, "give each reel its own name")
