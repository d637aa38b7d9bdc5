"""The rules of time in their plainest form: every frame a row, every sum a loop of Fractions.

Written from the definitions alone, to hold the run-length plan against. It knows nothing of
how the plan is built, and is as slow as it looks.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from enum import Enum, auto
from fractions import Fraction
from math import floor
from typing import TYPE_CHECKING

from retime.plan.timeline import Shows
from retime.speedmap.arrangement import Inserted
from retime.speedmap.decisions import Free, RampPart, Segment, Steady

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from retime.plan.assembly import Hole
    from retime.speedmap.arrangement import Item
    from retime.speedmap.assembly import Plate

HALF = Fraction(1, 2)


class Kind(Enum):
    """What a row is: a film frame's own turn, or something else that takes its time."""

    FILM = auto()
    AGAIN = auto()
    """A film frame that a loop shows once more."""
    HOLE = auto()
    """Frames that the scan lacks, in a row: black, or a frame that stands in for them."""
    INSET = auto()
    """What is no frame of the film: a plate, or black that was put in."""


@dataclass(frozen=True)
class Row:
    """One slot: what it shows and for how long, whether it is held, and which of its unit it is.

    ``frame`` is None for a ``plate``, and for black, which has no plate either.
    """

    unit: int
    frame: int | None
    duration: Fraction
    held: bool = False
    kind: Kind = Kind.FILM
    plate: Plate | None = None
    slot: int = 0


class NoRoomError(Exception):
    """A shot can be given no output frame."""


def half_up(x: Fraction) -> int:
    return floor(x + HALF)


def rows(
    items: Sequence[Item],
    free: Fraction | None = None,
    holes: Mapping[str, Sequence[Hole]] | None = None,
) -> list[list[Row]]:
    """Return each item's rows with their durations, title rules applied."""
    units = []
    for unit, item in enumerate(items):
        if isinstance(item, Inserted):
            made = [Row(unit, None, item.lasts, kind=Kind.INSET, plate=item.plate)]
        else:
            made = _segment_rows(unit, item, free, (holes or {}).get(item.reel, ()))
        units.append([replace(row, slot=slot) for slot, row in enumerate(made)])
    return units


def _segment_rows(
    unit: int, segment: Segment, free: Fraction | None, holes: Sequence[Hole]
) -> list[Row]:
    frames = range(segment.first, segment.last + 1)
    durations = [_duration(segment, place, free) for place, _ in enumerate(frames)]
    total = sum(durations, Fraction(0))
    least, most = segment.at_least, segment.at_most
    if segment.exactly is not None:
        least = most = segment.exactly
    held_frame = high = None
    again: list[Row] = []
    if least is not None and total < least:
        held_frame = (segment.first + segment.last) // 2
        again = _loop(unit, segment, durations[held_frame - segment.first], least - total, holes)
        if again:
            held_frame, high = None, again[-1].frame
        else:
            durations[held_frame - segment.first] += least - total
    elif most is not None and total > most:
        durations = [one * most / total for one in durations]
    if segment.plate is not None:
        time = sum(durations, Fraction(0)) + sum(row.duration for row in again)
        return [Row(unit, None, time, kind=Kind.INSET, plate=segment.plate)]
    made: list[Row] = []
    for frame, duration in zip(frames, durations, strict=True):
        hole = _hole_at(frame, holes)
        if hole is None:
            made.append(Row(unit, frame, duration, held=frame == held_frame))
        elif frame == segment.first or held_frame in {frame - 1, frame} or hole.first == frame:
            made.append(Row(unit, _stand_in(hole, segment), duration, kind=Kind.HOLE))
        else:  # one more of the hole that the row before is
            made[-1] = replace(made[-1], duration=made[-1].duration + duration)
        if frame == high:
            made += again
    return made


def _hole_at(frame: int, holes: Sequence[Hole]) -> Hole | None:
    return next((hole for hole in holes if hole.first <= frame < hole.stop), None)


def _stand_in(hole: Hole, segment: Segment) -> int | None:
    """Return what is shown for a hole: the shot's own frame before it, else after, else before."""
    if hole.shows is Shows.BLACK:
        return None
    if hole.first - 1 < segment.first and hole.stop <= segment.last:
        return hole.stop
    return hole.first - 1


def _loop(
    unit: int, segment: Segment, duration: Fraction, hold: Fraction, holes: Sequence[Hole]
) -> list[Row]:
    """Return what plays after the last frame of a loop for as long as a hold lasts.

    Nothing where one frame stands still: where the loop is one frame or has a hole, or the hold
    is shorter than a frame.
    """
    size = min(segment.loop or 1, segment.count)
    low = (segment.first + segment.last) // 2 - (size - 1) // 2
    high = low + size - 1
    window = range(low, high + 1)
    if size == 1 or hold < duration or any(_hole_at(frame, holes) for frame in window):
        return []
    slots = floor(hold / duration)
    path: list[int] = []
    while slots - len(path) >= 2 * (size - 1):
        path += [*reversed(window[:-1]), *window[1:]]
    left = slots - len(path)
    down = [high - step for step in range(left // 2 + 1)]  # from the frame that was shown last
    path += [*down[1:], *down[-1:] * (left % 2), *reversed(down[:-1])]
    made = [Row(unit, frame, duration, kind=Kind.AGAIN) for frame in path]
    rest = hold - slots * duration
    return made + [Row(unit, high, rest, kind=Kind.AGAIN)] * bool(rest)


def _duration(segment: Segment, place: int, free: Fraction | None) -> Fraction:
    pace = segment.pace
    if isinstance(pace, Steady):
        return 1 / pace.speed.fps
    if isinstance(pace, RampPart):
        a, b = 1 / pace.ramp.first.fps, 1 / pace.ramp.last.fps
        if pace.count == 1:
            return a
        return a + (b - a) * Fraction(pace.index + place, pace.count - 1)
    assert isinstance(pace, Free)
    assert free is not None
    return free


def starts_of(frames: Sequence[Row]) -> list[Fraction]:
    """Return each frame's start, and the end of the last."""
    starts = [Fraction(0)]
    for row in frames:
        starts.append(starts[-1] + row.duration)
    return starts


def shown(
    units: list[list[Row]], grid: Fraction, *, per_shot: bool, fields: bool = False
) -> list[Row]:
    """Return what each output frame shows, or each of its two ``fields`` at twice the grid."""
    frames = [row for unit in units for row in unit]
    total = starts_of(frames)[-1]
    each = 2 if fields else 1
    count = each * half_up(total * grid)
    halves = grid
    grid *= each
    result: list[Row] = []
    if per_shot:
        clock = Fraction(0)
        for unit in units:
            length = starts_of(unit)[-1]
            n = each * (half_up((clock + length) * halves) - half_up(clock * halves))
            result += _give_up_repeat(unit, _by_centre(unit, grid, n), grid)
            clock += length
    else:
        result = _by_centre(frames, grid, count)
    assert len(result) == count
    return _rescue(units, result, grid)


def _by_centre(frames: list[Row], grid: Fraction, count: int) -> list[Row]:
    """Show the frame whose half-open interval holds each centre; at or past the end, the last."""
    starts = starts_of(frames)
    found: list[Row] = []
    at = 0
    for j in range(count):
        centre = (j + HALF) / grid
        while at < len(frames) - 1 and not starts[at] <= centre < starts[at + 1]:
            at += 1
        found.append(frames[at])
    return found


def _give_up_repeat(unit: list[Row], result: list[Row], grid: Fraction) -> list[Row]:
    """Make room for the shot's last film frame, if it would go unshown and a repeat is there."""
    last = unit[-1]
    if not result or last in result or last.duration < 1 / grid or last.kind is not Kind.FILM:
        return result
    repeats = [k for k in range(1, len(result)) if result[k] == result[k - 1]]
    if not repeats:
        return result
    return result[: repeats[-1]] + result[repeats[-1] + 1 :] + [last]


def _rescue(units: list[list[Row]], result: list[Row], grid: Fraction) -> list[Row]:
    """Give a shot that would vanish the output frame that holds its mid-time."""
    clock = Fraction(0)
    result = list(result)
    for number, unit in enumerate(units):
        starts = starts_of(unit)
        if all(row.unit != number for row in result):
            middle = starts[-1] / 2
            j = min(floor((clock + middle) * grid), len(result) - 1)
            victim = result[j].unit
            if sum(1 for row in result if row.unit == victim) == 1:
                raise NoRoomError(number, victim)
            at = max(k for k in range(len(unit)) if starts[k] <= middle)
            result[j] = unit[at]
        clock += starts[-1]
    return result


@dataclass(frozen=True)
class Tally:
    """What became of the frames, and how they drift (in output frames)."""

    source: int
    repeated: int
    dropped: int
    held: int
    inserted: int
    drifts: list[Fraction]


def tally(units: list[list[Row]], result: list[Row], grid: Fraction, *, each: int = 1) -> Tally:
    """Count and measure, output frame by output frame, or field by field, ``each`` to a frame."""
    slots = [row for unit in units for row in unit]
    starts = dict(zip(slots, starts_of(slots), strict=False))
    seen: set[tuple[int, int | None]] = set()
    drifts: list[Fraction] = []
    repeated = held = inserted = 0
    for j, row in enumerate(result):
        if row.kind is Kind.INSET:
            inserted += 1
        elif row.kind is Kind.HOLE:
            held += 1
        elif (row.unit, row.frame) not in seen:
            seen.add((row.unit, row.frame))
            if row.kind is Kind.FILM:  # a loop shows a frame too fast to be seen in its turn
                drifts.append(Fraction(j, each) - starts[row] * grid)
        elif row.held or row.kind is Kind.AGAIN:
            held += 1
        else:
            repeated += 1
    source = sum(row.kind is Kind.FILM for row in slots)
    return Tally(source, repeated, source - len(seen), held, inserted, drifts)


def carried(pulses: list[Row], pattern: Sequence[int]) -> list[Row]:
    """Return what each field shows, pulses being carried by ``pattern``, the last frame filled."""
    fields = [row for k, row in enumerate(pulses) for _ in range(pattern[k % len(pattern)])]
    return fields + [pulses[-1]] * (len(fields) % 2)


def blended(
    units: list[list[Row]], grid: Fraction, window: Fraction, *, per_shot: bool
) -> list[dict[tuple[int, int | None], Fraction]]:
    """Return the weights, by unit and frame, of the film that each output frame is the mean of."""
    owners = [row.unit for row in shown(units, grid, per_shot=per_shot)]
    begins, clock = [], Fraction(0)
    for unit in units:
        begins.append(clock)
        clock += starts_of(unit)[-1]
    looks: list[dict[tuple[int, int | None], Fraction]] = []
    for j, owner in enumerate(owners):
        unit, starts = units[owner], starts_of(units[owner])
        if per_shot:
            centre = (j - half_up(begins[owner] * grid) + HALF) / grid
        else:
            centre = (j + HALF) / grid - begins[owner]
        low = max(Fraction(0), centre - window / grid / 2)
        high = min(starts[-1], centre + window / grid / 2)
        if low >= high:
            middle = starts[-1] / 2
            at = max(k for k in range(len(unit)) if starts[k] <= middle)
            row = unit[at] if owners.count(owner) == 1 else unit[-1]
            looks.append({(row.unit, row.frame): Fraction(1)})
            continue
        look: dict[tuple[int, int | None], Fraction] = {}
        for k, row in enumerate(unit):
            overlap = min(high, starts[k + 1]) - max(low, starts[k])
            if overlap > 0:
                key = (row.unit, row.frame)
                look[key] = look.get(key, Fraction(0)) + overlap / (high - low)
        looks.append(look)
    return looks
