"""The rules of time in their plainest form: every frame a row, every sum a loop of Fractions.

Written from the definitions alone, to hold the run-length plan against. It knows nothing of
how the plan is built, and is as slow as it looks.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from math import floor
from typing import TYPE_CHECKING

from retime.speedmap.decisions import Free, RampPart, Segment, Steady

if TYPE_CHECKING:
    from collections.abc import Sequence

HALF = Fraction(1, 2)


@dataclass(frozen=True)
class Row:
    """One film frame: which unit and frame it is, how long it lasts, whether it is held."""

    unit: int
    frame: int
    duration: Fraction
    held: bool = False


class NoRoomError(Exception):
    """A shot can be given no output frame."""


def half_up(x: Fraction) -> int:
    return floor(x + HALF)


def rows(segments: Sequence[Segment], free: Fraction | None = None) -> list[list[Row]]:
    """Return each segment's frames with their durations, title rules applied."""
    return [_segment_rows(unit, segment, free) for unit, segment in enumerate(segments)]


def _segment_rows(unit: int, segment: Segment, free: Fraction | None) -> list[Row]:
    frames = range(segment.first, segment.last + 1)
    durations = [_duration(segment, place, free) for place, _ in enumerate(frames)]
    total = sum(durations, Fraction(0))
    least, most = segment.at_least, segment.at_most
    if segment.exactly is not None:
        least = most = segment.exactly
    held_frame = None
    if least is not None and total < least:
        held_frame = (segment.first + segment.last) // 2
        durations[held_frame - segment.first] += least - total
    elif most is not None and total > most:
        durations = [one * most / total for one in durations]
    return [
        Row(unit, frame, duration, held=frame == held_frame)
        for frame, duration in zip(frames, durations, strict=True)
    ]


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
    if not result or last in result or last.duration < 1 / grid:
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

    repeated: int
    dropped: int
    held: int
    drifts: list[Fraction]


def tally(units: list[list[Row]], result: list[Row], grid: Fraction) -> Tally:
    """Count and measure, output frame by output frame."""
    frames = [row for unit in units for row in unit]
    starts = dict(zip(frames, starts_of(frames), strict=False))
    first: dict[Row, int] = {}
    repeated = held = 0
    for j, row in enumerate(result):
        if row not in first:
            first[row] = j
        elif row.held:
            held += 1
        else:
            repeated += 1
    drifts = [j - starts[row] * grid for row, j in first.items()]
    return Tally(repeated, len(frames) - len(first), held, drifts)


def carried(pulses: list[Row], pattern: Sequence[int]) -> list[Row]:
    """Return what each field shows, pulses being carried by ``pattern``, the last frame filled."""
    fields = [row for k, row in enumerate(pulses) for _ in range(pattern[k % len(pattern)])]
    return fields + [pulses[-1]] * (len(fields) % 2)


def blended(
    units: list[list[Row]], grid: Fraction, window: Fraction, *, per_shot: bool
) -> list[dict[tuple[int, int], Fraction]]:
    """Return the weights, by unit and frame, of the film that each output frame is the mean of."""
    owners = [row.unit for row in shown(units, grid, per_shot=per_shot)]
    begins, clock = [], Fraction(0)
    for unit in units:
        begins.append(clock)
        clock += starts_of(unit)[-1]
    looks = []
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
        looks.append(
            {
                (row.unit, row.frame): overlap / (high - low)
                for k, row in enumerate(unit)
                if (overlap := min(high, starts[k + 1]) - max(low, starts[k])) > 0
            }
        )
    return looks
