"""Cuts all passes of a render into pieces, where any is long enough for that."""

from __future__ import annotations

from typing import TYPE_CHECKING

from retime.media.frame_times import can_be_entered
from retime.render.pieces import Cut, cut, cuts_of

if TYPE_CHECKING:
    from collections.abc import Collection, Sequence

    from retime.edition.scans import ReelScan
    from retime.render.sinks import Pass

__all__ = ["cuts_of_passes"]


def cuts_of_passes(
    scans: Sequence[ReelScan], passes: Sequence[Pass], length: int
) -> list[Cut] | None:
    """Return the pieces of every pass; None where none has more than one."""
    entered = {
        number
        for number, scan in enumerate(scans)
        if scan.facts is not None and can_be_entered(scan.facts)
    }
    cuts = [_cut(one, length, entered) for one in passes]
    if all(len(one.pieces) <= 1 for one in cuts):
        return None
    return [_all_of(*one) for one in zip(passes, cuts, strict=True)]


def _cut(made: Pass, length: int, entered: Collection[int]) -> Cut:
    """Return the pieces of a pass, none where it is short, or only copies."""
    if made.encoded:
        runs = made.runs()
        begins = cuts_of(made.encoded, runs, length, entered=entered)
        if begins:
            return cut(made.encoded, runs, begins)
    return Cut(pieces=(), plans={})


def _all_of(made: Pass, found: Cut) -> Cut:
    """Return a pass's pieces, one where it is not cut."""
    return found if found.pieces or not made.encoded else cut(made.encoded, made.runs(), [])
