"""A reel's picture lies within its scan, and begins before it ends."""

from __future__ import annotations

from typing import TYPE_CHECKING

from retime.speedmap.rules.case import Case, error

if TYPE_CHECKING:
    from collections.abc import Iterator

    from retime.findings import Finding
    from retime.speedmap.model import Reel

__all__ = ["check"]

_RULE = "reel-frames"


def check(case: Case) -> Iterator[Finding]:
    """Find stated counts that are wrong, and first and last frames that the scan cannot have."""
    for reel in case.map.reels:
        counted = case.counts.get(reel.name)
        if counted == 0:
            yield error(_RULE, reel.where.of("scan"), "the scan holds no frames")
        elif counted is not None and reel.frames not in {None, counted}:
            text = f"the scan holds {counted} frames, not {reel.frames}"
            yield error(_RULE, reel.where.of("frames"), text, f"write frames: {counted}")
        else:
            yield from _bounds(reel, counted if reel.frames is None else reel.frames)


def _bounds(reel: Reel, holds: int | None) -> Iterator[Finding]:
    if reel.last is not None and reel.last < reel.first:
        text = f"the last frame, {reel.last}, comes before the first, {reel.first}"
        yield error(_RULE, reel.where.of("last"), text)
        return
    for name, frame in (("first", reel.first), ("last", reel.last)):
        if holds is not None and frame is not None and frame >= holds:
            text = f"frame {frame} is outside the scan, which holds {holds} frames"
            hint = f"frames count from 0, so its last is {holds - 1}"
            yield error(_RULE, reel.where.of(name), text, hint)
