"""At what speeds a version shows a run of film frames."""

from __future__ import annotations

from typing import TYPE_CHECKING

from msgspec import Struct

from retime.film.speed import Speed
from retime.plan.timeline import Shows

if TYPE_CHECKING:
    from collections.abc import Iterator

    from retime.plan.timeline import Stretch, Timeline, Unit
    from retime.preview.excerpt import Excerpt

__all__ = ["Paces", "paces_of", "units_of"]


class Paces(Struct, frozen=True, kw_only=True):
    """The speeds of the first and the last film frame; they are the same but where it changes."""

    first: Speed
    last: Speed


def units_of(timeline: Timeline, excerpt: Excerpt) -> Iterator[int]:
    """Yield the numbers of what lies between two cuts and shows any frame of an excerpt."""
    for number, unit in enumerate(timeline.units):
        if timeline.reels[unit.reel].name == excerpt.reel and _meets(unit, excerpt):
            yield number


def _meets(unit: Unit, excerpt: Excerpt) -> bool:
    if unit.first is None or unit.last is None:
        return False
    return unit.first <= excerpt.last and unit.last >= excerpt.first


def paces_of(timeline: Timeline, excerpt: Excerpt) -> Paces | None:
    """Return an excerpt's speeds in a version, holds and loops left aside; None if it is not shown.

    Where a version shows it twice, the first time counts.
    """
    found: list[tuple[int, Speed]] = []
    for number in units_of(timeline, excerpt):
        for stretch in timeline.stretches[slice(*timeline.units[number].stretches)]:
            if stretch.shows is not Shows.FILM or stretch.hold or stretch.again:
                continue
            low = max(stretch.first, excerpt.first)
            high = min(stretch.last, excerpt.last)
            if low <= high:
                found += ((frame, _speed(stretch, frame)) for frame in (low, high))
    if not found:
        return None
    frames = [frame for frame, _ in found]
    first, last = frames.index(min(frames)), frames.index(max(frames))
    return Paces(first=found[first][1], last=found[last][1])


def _speed(stretch: Stretch, frame: int) -> Speed:
    slot = frame - stretch.first
    return Speed(1 / (stretch.pace.elapsed(slot + 1) - stretch.pace.elapsed(slot)))
