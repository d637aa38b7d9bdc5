"""Blends: output frames that are means of the film over a window of time.

Each output frame belongs to one shot, that which its centre lies in, and its window ends where
the shot does. This visits frames: a blend costs its frames, as a ramp does.
"""

from __future__ import annotations

from collections import Counter
from fractions import Fraction
from itertools import groupby
from math import lcm
from typing import TYPE_CHECKING, NamedTuple

from retime.plan.look import Look, Part
from retime.speedmap.model import Phase

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from retime.plan.layout import Piece
    from retime.plan.sampling import Grid
    from retime.plan.timeline import Timeline, Unit
    from retime.speedmap.assembly import Plate

__all__ = ["blended"]

_HALF = Fraction(1, 2)


class _Slot(NamedTuple):
    """What is shown up to ``stop``, in seconds of the shot's own time."""

    stop: Fraction
    frame: int | None
    plate: Plate | None


class _Owned(NamedTuple):
    """``pulses`` in a row that belong to shot number ``unit``; ``alone`` if it has no others."""

    unit: int
    pulses: range
    alone: bool


def blended(
    timeline: Timeline, pieces: Sequence[Piece], grid: Grid, phase: Phase, window: Fraction
) -> Iterator[tuple[int, Look]]:
    """Yield the looks of all pulses in order, neighbours that are alike put together.

    ``pieces`` say which shot each pulse belongs to; ``window`` is in pulses.
    """
    each = (
        look
        for owned in _owners(timeline, pieces)
        for look in _Shot(timeline, owned.unit, grid, phase, window).looks(owned)
    )
    for look, alike in groupby(each):
        yield sum(1 for _ in alike), look


def _owners(timeline: Timeline, pieces: Sequence[Piece]) -> list[_Owned]:
    """Return which pulses belong to which shot, in the order of time."""
    runs: list[tuple[int, range]] = []
    totals: Counter[int] = Counter()
    for piece in pieces:
        unit = timeline.stretches[piece.stretch].unit
        totals[unit] += piece.count
        pulses = range(piece.pulse_first, piece.pulse_stop)
        if runs and runs[-1][0] == unit:
            runs[-1] = (unit, range(runs[-1][1].start, pulses.stop))
        else:
            runs.append((unit, pulses))
    return [_Owned(unit, pulses, totals[unit] == 1) for unit, pulses in runs]


class _Shot:
    """One shot's film frames on a clock of its own, and the windows that look at them."""

    def __init__(
        self, timeline: Timeline, unit: int, grid: Grid, phase: Phase, window: Fraction
    ) -> None:
        shot = timeline.units[unit]
        slots = list(_slots(timeline, shot))
        continuous = phase is Phase.CONTINUOUS
        begin = shot.start if continuous else grid.bound(shot.start) / grid.pulses
        half = window / grid.pulses / 2
        # Times are whole numbers of 1/bottom seconds from here on: a feature has many frames.
        self._bottom = lcm(
            *(slot.stop.denominator for slot in slots),
            begin.denominator,
            half.denominator,
            (2 * grid.pulses).numerator,
        )
        self._unit, self._reel = unit, shot.reel
        self._shown = [(slot.frame, slot.plate) for slot in slots]
        self._edges = [0, *(int(slot.stop * self._bottom) for slot in slots)]
        self._half = int(half * self._bottom)
        self._pulses = grid.pulses
        self._begin = begin

    def looks(self, owned: _Owned) -> Iterator[Look]:
        """Yield what each pulse shows."""
        at = 0
        for pulse in owned.pulses:
            low, high = self._window(pulse, alone=owned.alone)
            while self._edges[at + 1] <= low:
                at += 1
            yield self._look(at, low, high)

    def _window(self, pulse: int, *, alone: bool) -> tuple[int, int]:
        """Return a pulse's window, which ends where the shot does."""
        centre = int(((pulse + _HALF) / self._pulses - self._begin) * self._bottom)
        end = self._edges[-1]
        low, high = max(centre - self._half, 0), min(centre + self._half, end)
        if low < high:
            return low, high
        # Past the shot's own end its last frame is shown, and the middle of one that would vanish.
        low = end // 2 if alone else end - 1
        return low, low + 1

    def _look(self, at: int, low: int, high: int) -> Look:
        """Return the frames from slot ``at`` on that a window sees, each with its part of it."""
        inside: dict[tuple[int | None, Plate | None], int] = {}
        while at < len(self._shown) and self._edges[at] < high:
            overlap = min(high, self._edges[at + 1]) - max(low, self._edges[at])
            shown = self._shown[at]
            inside[shown] = inside.get(shown, 0) + overlap
            at += 1
        return tuple(
            Part(self._reel, frame, self._unit, Fraction(overlap, high - low), plate)
            for (frame, plate), overlap in inside.items()
        )


def _slots(timeline: Timeline, unit: Unit) -> Iterator[_Slot]:
    """Yield a shot's slots on a clock of its own."""
    for stretch in timeline.stretches[unit.stretches[0] : unit.stretches[1]]:
        for slot in range(stretch.count):
            stop = stretch.offset + stretch.pace.elapsed(slot + 1)
            yield _Slot(stop, stretch.frame(slot), stretch.plate)
