"""The paces of one reel, each with the film frames that run at it."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from typing import TYPE_CHECKING

from retime.plan.timeline import Eased

if TYPE_CHECKING:
    from collections.abc import Iterable

    from retime.film.speed import Ramp
    from retime.report.stretches import Passage

__all__ = ["ReelPaces"]


@dataclass(slots=True)
class _Use:
    """How many film frames run at a pace, and the first passage that does."""

    frames: int
    passage: Passage


class ReelPaces:
    """What a reel runs at; holds and holes have no pace of their own."""

    def __init__(self, inside: Iterable[Passage]) -> None:
        """Gather the paces of a reel's passages."""
        # Keyed by the terms of a frame's duration: hashing a Fraction costs far more.
        self._steady: dict[tuple[int, int], _Use] = {}
        self._ramps: dict[Ramp, _Use] = {}
        for passage in inside:
            stretch = passage.stretch
            frames = passage.last - passage.first + 1
            if isinstance(stretch.pace, Eased):
                self._ramps.setdefault(stretch.pace.ramp, _Use(0, passage)).frames += frames
            elif not stretch.held:
                duration = stretch.pace.duration
                key = (duration.numerator, duration.denominator)
                self._steady.setdefault(key, _Use(0, passage)).frames += frames

    def speeds(self) -> list[Fraction]:
        """Return the film frames per second that occur, ends of ramps included, rising."""
        steady = {Fraction(bottom, top) for top, bottom in self._steady}
        ends = {end.fps for ramp in self._ramps for end in (ramp.first, ramp.last)}
        return sorted(steady | ends)

    def longest(self, most: int) -> tuple[list[Passage], int]:
        """Return a passage of each of the most used paces, and how many paces are left out."""
        uses = [*self._steady.values(), *self._ramps.values()]
        uses.sort(key=lambda use: -use.frames)
        return [use.passage for use in uses[:most]], max(0, len(uses) - most)
