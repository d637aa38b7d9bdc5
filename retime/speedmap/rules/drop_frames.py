"""Drop-frame timecode is asked for only at rates that have it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from retime.film.timecode import drops
from retime.speedmap.rules.case import Case, error

if TYPE_CHECKING:
    from collections.abc import Iterator

    from retime.findings import Finding

__all__ = ["check"]


def check(case: Case) -> Iterator[Finding]:
    """Find deliverables that ask for drop-frame at a rate that has none."""
    for deliverable in case.map.deliverables.values():
        rate = deliverable.rate
        if deliverable.drop_frame and rate is not None and not drops(rate):
            text = f"there is no drop-frame timecode at {rate}"
            hint = "it belongs to 30000/1001 and 60000/1001"
            yield error("drop-frames", deliverable.where.of("drop-frame"), text, hint)
