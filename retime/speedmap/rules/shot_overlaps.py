"""A frame belongs to one shot at most."""

from __future__ import annotations

from typing import TYPE_CHECKING

from retime.speedmap.rules.case import Case, error

if TYPE_CHECKING:
    from collections.abc import Iterator

    from retime.findings import Finding
    from retime.speedmap.model import Shot

__all__ = ["check"]


def check(case: Case) -> Iterator[Finding]:
    """Find shots that begin inside another one of their reel."""
    for shots in case.shots.values():
        widest: Shot | None = None
        real = (shot for shot in shots if shot.first <= shot.last)
        for shot in sorted(real, key=lambda one: one.first):
            if widest is not None and shot.first <= widest.last:
                text = f"shot {shot.key} begins at frame {shot.first}, inside shot {widest.key}"
                hint = f"that one has frames {widest.first} to {widest.last}"
                yield error("shot-overlaps", shot.where.of("first"), text, hint)
            if widest is None or shot.last > widest.last:
                widest = shot
