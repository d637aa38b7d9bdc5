"""Where shots are listed, frames in no shot are most likely forgotten."""

from __future__ import annotations

from typing import TYPE_CHECKING

from retime.speedmap.rules.case import Case, warning

if TYPE_CHECKING:
    from collections.abc import Iterator

    from retime.findings import Finding
    from retime.speedmap.model import Reel, Shot
    from retime.speedmap.place import Where

__all__ = ["check"]


def check(case: Case) -> Iterator[Finding]:
    """Find frames of a reel's picture that lie in no shot."""
    if not case.map.shots:
        return
    for reel in case.reels.values():
        shots = case.shots[reel.name]
        if any(shot.last < shot.first for shot in shots):  # where it lies is not known
            continue
        for first, last, where in _gaps(reel, shots, case.stop(reel)):
            frames = f"frame {first} is" if first == last else f"frames {first} to {last} are"
            text = f"{frames} in no shot of reel {reel.name}"
            hint = "they take the reel's speed" if first < last else "it takes the reel's speed"
            yield warning("unnamed-frames", where.of(), text, hint)


def _gaps(reel: Reel, shots: list[Shot], stop: int | None) -> Iterator[tuple[int, int, Where]]:
    """Return first and last frame of each gap, and where the shot after it (or the reel) stands."""
    here = reel.first
    for shot in sorted(shots, key=lambda one: one.first):
        if here < shot.first:
            yield here, shot.first - 1, shot.where
        here = max(here, shot.last + 1)
    if stop is not None and here < stop:
        yield here, stop - 1, reel.where
