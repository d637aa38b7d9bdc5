"""Cadence strips: which film frame stands on which output frame, or on which of its fields."""

from __future__ import annotations

from bisect import bisect_right
from fractions import Fraction
from itertools import repeat
from math import lcm
from typing import TYPE_CHECKING, NamedTuple

from retime.plan.blending import blended
from retime.plan.look import Part
from retime.plan.timeline import Even
from retime.report.numbers import decimal

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from retime.plan.carry import Carry
    from retime.plan.look import Look
    from retime.plan.plan import Plan
    from retime.report.stretches import Passage

__all__ = ["Cell", "Face", "Seen", "Strip", "strip_of"]

_MOST, _WITHOUT = 64, 16  # output frames drawn of a cycle, and where there is none
_WHOLE = Fraction(1)
_SIMPLE = 100  # a weight of a smaller denominator is told as a fraction


class Seen(NamedTuple):
    """A film frame, or what stands for one, with its weight as a text and as a part of 1."""

    name: str
    weight: str
    share: float


class Face(NamedTuple):
    """What an output frame or a field shows, and whether the one before shows just the same.

    ``skipped`` are the film frames before it that are not shown.
    """

    seen: tuple[Seen, ...]
    again: bool
    skipped: tuple[int, ...] = ()


class Cell(NamedTuple):
    """One output frame: one face, or two in the order of time where it is shown in fields."""

    output: int
    faces: tuple[Face, ...]


class Strip(NamedTuple):
    """The beginning of a passage, cell by cell; ``cycle`` is how many output frames one takes.

    ``whole`` tells whether the cells are one whole cycle.
    """

    cells: list[Cell]
    cycle: int | None
    whole: bool


def strip_of(
    plan: Plan, passage: Passage, pulses: int | None, told: Callable[[str, int], int]
) -> Strip | None:
    """Return a passage's strip, None where it shows nothing; ``pulses`` is what a cycle takes.

    ``pulses`` is None where there is no cycle, or none that is known; ``told`` gives the number by
    which a film frame of a reel is told.
    """
    if passage.output_first is None or passage.output_last is None:
        return None
    if pulses is None:
        pulses = _beat(plan, passage)
    cycle = None if pulses is None else _frames(plan.carry, pulses)
    first, last = passage.output_first, passage.output_last
    stop = min(last + 1, first + min(cycle or _WITHOUT, _MOST))
    head = plan.head_frames
    faces = _Faces(plan, told, first - head, stop - head)
    cells = [Cell(output, faces.of(output - head)) for output in range(first, stop)]
    return Strip(cells, cycle, len(cells) == cycle)


def _beat(plan: Plan, passage: Passage) -> int | None:
    """Return how many pulses a blend's cycle takes; repeats tell theirs as a cadence."""
    pace = passage.stretch.pace
    if plan.window is None or passage.stretch.held or not isinstance(pace, Even):
        return None
    return (pace.duration * plan.grid.pulses).numerator


def _frames(carry: Carry, pulses: int) -> int:
    """Return how many output frames a cycle of so many pulses takes, until all begins anew."""
    turn = len(carry.pattern)
    fields = lcm(pulses, turn) // turn * sum(carry.pattern)
    return fields // 2 if fields % 2 == 0 else fields


class _Faces:
    """The looks of some output frames of the film, and of the field before them."""

    def __init__(self, plan: Plan, told: Callable[[str, int], int], first: int, stop: int) -> None:
        self._timeline, self._carry, self._told_as = plan.timeline, plan.carry, told
        self._last = plan.pieces[-1].pulse_stop - 1
        self._from = max(0, self._pulse(2 * first) - 1)
        until = self._pulse(2 * stop - 1) + 1
        looks = _blended if plan.window is not None else _repeated
        self._looks = list(looks(plan, self._from, until))

    def _pulse(self, field: int) -> int:
        """Return the pulse that a field of the film carries."""
        turns, inside = divmod(field, sum(self._carry.pattern))
        pulse = turns * len(self._carry.pattern)
        for fields in self._carry.pattern:
            if inside < fields:
                break
            inside -= fields
            pulse += 1
        return min(pulse, self._last)

    def of(self, output: int) -> tuple[Face, ...]:
        """Return the faces of an output frame, by its number in the film."""
        if self._carry.in_fields:
            return tuple(self._face(field, field - 1) for field in (2 * output, 2 * output + 1))
        return (self._face(2 * output, 2 * output - 1),)

    def _face(self, field: int, before: int) -> Face:
        look = self._look(field)
        last = self._look(before) if before >= 0 else None
        return Face(
            seen=tuple(self._seen(part) for part in look),
            again=look == last,
            skipped=self._skipped(look, last),
        )

    def _look(self, field: int) -> Look:
        return self._looks[self._pulse(field) - self._from]

    def _seen(self, part: Part) -> Seen:
        share = float(part.weight)
        simple = part.weight.denominator < _SIMPLE
        weight = str(part.weight) if simple else f"{decimal(100 * part.weight, 1)} %"
        if part.frame is None:
            return Seen("black" if part.plate is None else "still", weight, share)
        return Seen(str(self._told(part, part.frame)), weight, share)

    def _told(self, part: Part, frame: int) -> int:
        if part.reel is None:
            return frame
        return self._told_as(self._timeline.reels[part.reel].name, frame)

    def _skipped(self, look: Look, last: Look | None) -> tuple[int, ...]:
        """Return the film frames between two looks, or from the beginning of a shot."""
        if last is None or len(look) > 1 or len(last) > 1:
            return ()
        here, there = look[0], last[0]
        if here.frame is None or here.unit is None:
            return ()
        first = self._timeline.units[here.unit].first
        if here.unit == there.unit and there.frame is not None:
            first = there.frame + 1
        if first is None:
            return ()
        return tuple(self._told(here, one) for one in range(first, here.frame))


def _repeated(plan: Plan, first: int, stop: int) -> Iterator[Look]:
    """Yield the looks of pulses one by one."""
    at = bisect_right(plan.pieces, first, key=lambda piece: piece.pulse_first) - 1
    for pulse in range(first, stop):
        while plan.pieces[at].pulse_stop <= pulse:
            at += 1
        piece = plan.pieces[at]
        stretch = plan.timeline.stretches[piece.stretch]
        frame = stretch.frame(piece.rule.slot(pulse - piece.pulse_first))
        reel = plan.timeline.units[stretch.unit].reel
        yield (Part(reel, frame, stretch.unit, _WHOLE, stretch.plate),)


def _blended(plan: Plan, first: int, stop: int) -> Iterator[Look]:
    """Yield the same for a blend, whose shots are looked through from their beginnings."""
    units = [plan.timeline.stretches[piece.stretch].unit for piece in plan.pieces]
    wanted = {
        unit
        for unit, piece in zip(units, plan.pieces, strict=True)
        if piece.pulse_first < stop and piece.pulse_stop > first
    }
    places = [place for place, unit in enumerate(units) if unit in wanted]
    pieces = plan.pieces[places[0] : places[-1] + 1]
    pulse, window = pieces[0].pulse_first, plan.window or _WHOLE
    for times, look in blended(plan.timeline, pieces, plan.grid, plan.phase, window):
        yield from repeat(look, max(0, min(pulse + times, stop) - max(pulse, first)))
        pulse += times
        if pulse >= stop:
            return
