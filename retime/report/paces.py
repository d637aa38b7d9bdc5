"""The paces of one reel, each with the film frames that run at it."""

from __future__ import annotations

from fractions import Fraction
from functools import cached_property
from typing import TYPE_CHECKING

from msgspec import Struct

from retime.plan.timeline import Eased

if TYPE_CHECKING:
    from collections.abc import Iterable

    from retime.film.speed import Ramp
    from retime.plan.timeline import Stretch, Timeline

__all__ = ["ReelPaces", "paces_by_reel"]


class _Use(Struct):
    """How many film frames run at a pace, and the first stretch that does."""

    frames: int
    stretch: Stretch


class ReelPaces:
    """What a reel runs at; holds and holes have no pace of their own."""

    def __init__(self, inside: Iterable[Stretch]) -> None:
        """Gather the paces of a reel's stretches."""
        # Keyed by the terms of a frame's duration: hashing a Fraction costs far more.
        self._steady: dict[tuple[int, int], _Use] = {}
        self._ramps: dict[Ramp, _Use] = {}
        for stretch in inside:
            pace = stretch.pace
            if isinstance(pace, Eased):
                self._ramps.setdefault(pace.ramp, _Use(0, stretch)).frames += stretch.count
            elif not stretch.held:
                key = (pace.duration.numerator, pace.duration.denominator)
                self._steady.setdefault(key, _Use(0, stretch)).frames += stretch.count

    @cached_property
    def speeds(self) -> list[Fraction]:
        """The film frames per second that occur, ends of ramps included, rising."""
        ends = {end.fps for ramp in self._ramps for end in (ramp.first, ramp.last)}
        terms = {(bottom, top) for top, bottom in self._steady}
        terms |= {(end.numerator, end.denominator) for end in ends}
        return [Fraction(*both) for both in sorted(terms, key=lambda both: both[0] / both[1])]

    def longest(self, most: int) -> tuple[list[Stretch], int]:
        """Return a stretch of each of the most used paces, and how many paces are left out."""
        uses = [*self._steady.values(), *self._ramps.values()]
        uses.sort(key=lambda use: -use.frames)
        return [use.stretch for use in uses[:most]], max(0, len(uses) - most)


def paces_by_reel(timeline: Timeline) -> list[ReelPaces]:
    """Return each reel's paces, which are the same for every deliverable of a version."""
    return [
        ReelPaces(
            stretch
            for unit in timeline.units[reel.units[0] : reel.units[1]]
            for stretch in timeline.stretches[unit.stretches[0] : unit.stretches[1]]
        )
        for reel in timeline.reels
    ]
