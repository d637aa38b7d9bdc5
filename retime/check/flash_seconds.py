"""Transitions counted in every second of a film, place by place.

Each block has a count of its own, for changes that differ from place to place, such as fast cuts,
flash only where areas do; a level is what more than a quarter of the area reaches within the same
second, adjoining or not and in whatever phase: the more cautious reading of "occurring
concurrently". Counts change with transitions alone, so all that matters are the seconds that end
with one.
"""

from __future__ import annotations

from collections import deque
from fractions import Fraction
from typing import TYPE_CHECKING

import numpy as np
from msgspec import Struct

from retime.check.flash_blocks import COLUMNS, ROWS
from retime.check.flash_limits import BEYOND, FEWEST

if TYPE_CHECKING:
    from retime.check.flash_area import Area
    from retime.check.flash_swings import Changes, Coloured

__all__ = ["Run", "Seconds"]

_SECOND = 1
_NEAR = 1e-9


class Run(Struct, frozen=True, kw_only=True):
    """A second, or a run of such seconds, with its most flashes and their area.

    ``start`` is the time of the first transition that is counted in it, ``stop`` that of the last,
    in seconds. ``flashes`` are half the transitions, ``area`` the share of the picture, or of the
    visual field, that had as many. ``where`` says in words what stands there, and ``timecode`` is
    the label of ``start``, both where a map tells.
    """

    start: Fraction
    stop: Fraction
    flashes: Fraction
    area: Fraction
    where: str = ""
    timecode: str | None = None

    @property
    def weight(self) -> tuple[Fraction, Fraction]:
        """What makes one run worse than another."""
        return self.flashes, self.area

    def with_next(self, other: Run) -> Run:
        """Return this run and a later one in one."""
        worse = max(self, other, key=lambda run: run.weight)
        return Run(start=self.start, stop=other.stop, flashes=worse.flashes, area=worse.area)


class Seconds:
    """The counts of one question, for as long as the film runs.

    ``worst`` is the first of the worst seconds, ``failing`` the runs of seconds that have too many
    flashes, ``series`` the most flashes in any second that ends in each second of the film.
    """

    def __init__(self, area: Area, apart: Fraction) -> None:
        """Take the area, and how far apart leading edges are always allowed."""
        self._area, self._apart = area, float(apart) - _NEAR
        self._recent: deque[tuple[Fraction, Changes]] = deque()
        self._counts = np.zeros((ROWS, COLUMNS), np.int16)
        self._level = 0
        self.worst: Run | None = None
        self.failing: list[Run] = []
        self.series: list[Fraction] = []

    def see(self, changes: Changes, time: Fraction) -> None:
        """Take what has changed with the picture that comes at a time; times rise."""
        self._forget(time)
        if not changes.any():
            return
        self._recent.append((time, changes))
        self._counts += changes != 0
        counts = self._counts
        self._level = self._area.level(counts, self._level)
        if self._level == FEWEST + 1:
            counts = np.where(self._allowed(), np.int16(FEWEST), counts)
            self._level = self._area.level(counts, self._level)
        if self._level:
            self._keep(time, counts >= self._level)

    def close(self, runtime: Fraction) -> None:
        """Fill the series up to the film's end."""
        self._lengthen(max(0, -(-runtime // 1)))

    def _forget(self, time: Fraction) -> None:
        """Let go of what is a second ago: that begins the second before."""
        while self._recent and self._recent[0][0] <= time - _SECOND:
            self._counts -= self._recent.popleft()[1] != 0

    def _keep(self, time: Fraction, mask: Coloured) -> None:
        """Keep what the second that ends at a time is remembered for."""
        start = next(at for at, changes in self._recent if (changes != 0)[mask].any())
        flashes = Fraction(self._level, 2)
        second = Run(start=start, stop=time, flashes=flashes, area=self._area.share(mask))
        if self.worst is None or second.weight > self.worst.weight:
            self.worst = second
        self._lengthen(time // 1 + 1)
        self.series[-1] = max(self.series[-1], flashes)
        if flashes <= BEYOND:
            return
        if self.failing and start <= self.failing[-1].stop:
            second = self.failing.pop().with_next(second)
        self.failing.append(second)

    def _lengthen(self, seconds: int) -> None:
        self.series += [Fraction(0)] * (seconds - len(self.series))

    def _allowed(self) -> Coloured:
        """Return where seven transitions are flashes whose leading edges are far enough apart.

        More than seven never are, for four leading edges in a second are too near.
        """
        seven: Coloured = self._counts == FEWEST + 1
        return seven & (self._far_apart(1) | self._far_apart(-1))

    def _far_apart(self, way: int) -> Coloured:
        """Return where no two recent transitions of one way are too near to each other."""
        last = np.full(self._counts.shape, -np.inf)
        apart = np.ones(self._counts.shape, np.bool_)
        for time, changes in self._recent:
            here = changes == way
            apart &= ~here | (float(time) - last >= self._apart)
            last[here] = float(time)
        return apart
