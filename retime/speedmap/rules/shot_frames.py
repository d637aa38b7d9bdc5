"""A shot lies within its reel's picture, and begins before it ends."""

from __future__ import annotations

from typing import TYPE_CHECKING

from retime.speedmap.rules.case import Case, error

if TYPE_CHECKING:
    from collections.abc import Iterator

    from retime.findings import Finding
    from retime.speedmap.model import Reel, Shot

__all__ = ["check"]

_RULE = "shot-frames"


def check(case: Case) -> Iterator[Finding]:
    """Find shots that end before they begin, or reach outside their reel's picture."""
    for shot in case.map.shots:
        reel = case.reels.get(shot.reel)
        if shot.last < shot.first:
            text = f"the last frame of shot {shot.key}, {shot.last}, comes before its first"
            hint = f"its first is {shot.first}"
            yield error(_RULE, shot.where.of("last"), text, hint)
        elif reel is not None:
            yield from _outside(shot, reel, case.stop(reel))


def _outside(shot: Shot, reel: Reel, stop: int | None) -> Iterator[Finding]:
    if stop is not None and stop <= reel.first:  # the reel's own bounds are wrong, and told so
        return
    for name, frame in (("first", shot.first), ("last", shot.last)):
        if frame < reel.first or (stop is not None and frame >= stop):
            picture = f"from frame {reel.first}" if stop is None else f"{reel.first} to {stop - 1}"
            text = f"frame {frame} of shot {shot.key} is outside reel {reel.name}"
            yield error(_RULE, shot.where.of(name), text, f"the reel's picture is {picture}")
            return
