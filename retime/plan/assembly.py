"""Builds a version's timeline from the map's decisions, holes and title rules."""

from __future__ import annotations

from fractions import Fraction
from itertools import groupby, pairwise
from typing import TYPE_CHECKING, Any

from msgspec import Struct, field
from msgspec.structs import replace

from retime.plan.loop import loop_runs, loop_window
from retime.plan.onset import nearly
from retime.plan.timeline import Eased, Even, Reel, Shows, Stretch, Timeline, Unit
from retime.speedmap.arrangement import Inserted
from retime.speedmap.decisions import Free, RampPart, Segment, Steady

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    from retime.speedmap.arrangement import Item
    from retime.speedmap.assembly import Plate

__all__ = ["Hole", "assemble", "solved_duration"]


class Hole(Struct, frozen=True, kw_only=True):
    """``count`` positions missing from a scan, from ``first``; ``shows`` is STILL or BLACK."""

    first: int
    count: int
    shows: Shows

    @property
    def stop(self) -> int:
        """The position after the hole's last."""
        return self.first + self.count


class _Paced(Struct, frozen=True, kw_only=True):
    """A segment with its durations decided: its frames' pace, and what one frame is held by."""

    segment: Segment
    pace: Even | Eased
    hold: Fraction

    @property
    def held_frame(self) -> int:
        return (self.segment.first + self.segment.last) // 2

    @property
    def lasts(self) -> Fraction:
        return self.pace.elapsed(self.segment.count) + self.hold

    def natural(self, frame: int) -> Fraction:
        """Return how long a frame lasts at the segment's pace."""
        before = frame - self.segment.first
        return self.pace.elapsed(before + 1) - self.pace.elapsed(before)


def assemble(
    items: Sequence[Item],
    holes: Mapping[str, Sequence[Hole]],
    free: Fraction | None = None,
) -> Timeline:
    """Return the timeline of ``items`` in playing order.

    ``holes`` are those of each reel by name. ``free`` is the duration in seconds of a frame
    whose speed the version leaves to be solved from its runtime.
    """
    building = _Building(holes=holes)
    for item in items:
        if isinstance(item, Inserted):
            building.insert(item)
        else:
            building.add(_paced(item, free))
    return building.timeline()


def solved_duration(items: Sequence[Item], runtime: Fraction) -> Fraction | None:
    """Return the one frame duration that makes free frames fill ``runtime``; None if none does.

    The runtime grows with the free duration in straight pieces, which bend where a title's
    limit begins or ends to bind; the pieces are walked in order.
    """
    fixed, free = Fraction(0), 0
    bends: list[tuple[Fraction, int]] = []
    for segment in items:
        if isinstance(segment, Inserted):
            fixed += segment.lasts
            continue
        if not isinstance(segment.pace, Free):
            fixed += _paced(segment, None).lasts
            continue
        count = segment.count
        if segment.exactly is not None:
            fixed += segment.exactly
            continue
        low = segment.at_least or Fraction(0)
        fixed += low
        if segment.at_most is not None and segment.at_most <= low:
            continue
        bends.append((low / count, count))
        if segment.at_most is not None:
            bends.append((segment.at_most / count, -count))
    left, previous = runtime - fixed, Fraction(0)
    for at, change in sorted(bends):
        if free and left <= free * (at - previous):
            break
        left -= free * (at - previous)
        previous, free = at, free + change
    if left < 0 or (free == 0 and left > 0):
        return None
    duration = previous + (left / free if free else 0)
    return duration if duration > 0 else None


def _paced(segment: Segment, free: Fraction | None) -> _Paced:
    """Apply a segment's limits: a hold lengthens one frame, shortening speeds all of them up."""
    count = segment.count
    pace = _natural_pace(segment, free)
    least = segment.exactly if segment.exactly is not None else segment.at_least
    most = segment.exactly if segment.exactly is not None else segment.at_most
    if least is None and most is None:
        return _Paced(segment=segment, pace=pace, hold=Fraction(0))
    natural = pace.elapsed(count)
    if least is not None and natural < least:
        return _Paced(segment=segment, pace=pace, hold=least - natural)
    if most is not None and natural > most:
        if isinstance(pace, Even):
            pace = Even(duration=most / count)
        else:
            pace = Eased(ramp=pace.ramp, index=pace.index, span=pace.span, scale=most / natural)
    return _Paced(segment=segment, pace=pace, hold=Fraction(0))


def _natural_pace(segment: Segment, free: Fraction | None) -> Even | Eased:
    match segment.pace:
        case Steady(speed=speed):
            return Even(duration=speed.duration)
        case RampPart(ramp=ramp, index=index, count=span):
            return Eased(ramp=ramp, index=index, span=span)
        case Free():
            if free is None:
                raise AssertionError("a free segment needs the solved duration")
            return Even(duration=free)


class _Building(Struct, kw_only=True):
    """The timeline as it grows, item by item; ``positions`` and ``missing`` are of its reels."""

    holes: Mapping[str, Sequence[Hole]]
    now: Fraction = Fraction(0)
    names: list[str] = field(default_factory=list)
    positions: list[int] = field(default_factory=list)
    missing: list[int] = field(default_factory=list)
    units: list[Unit] = field(default_factory=list)
    stretches: list[Stretch] = field(default_factory=list)

    def add(self, paced: _Paced) -> None:
        """Put one segment after what stands already."""
        segment = paced.segment
        self._enter(segment.reel)
        if segment.plate is not None:
            parts = [_plate_part(segment.plate, paced.lasts)]
        else:
            parts = list(_parts(paced, self.holes.get(segment.reel, ())))
            self.positions[-1] += segment.count
            self.missing[-1] += sum(part.count for part in parts if part.shows is not Shows.FILM)
        self._unit(
            parts,
            first=segment.first if segment.plate is None else None,
            last=segment.last if segment.plate is None else None,
            shot=segment.shot.name if segment.shot else None,
            kind=segment.kind,
            name=segment.name,
        )

    def insert(self, inserted: Inserted) -> None:
        """Put a still or black after what stands already."""
        self._enter(inserted.reel)
        part = _plate_part(inserted.plate, inserted.lasts)
        self._unit([part], first=None, last=None, shot=None, kind=inserted.kind, name=inserted.name)

    def _enter(self, reel: str) -> None:
        if not self.names or self.names[-1] != reel:
            self.names.append(reel)
            self.positions.append(0)
            self.missing.append(0)

    def _unit(self, parts: Sequence[_Part], **what: Any) -> None:
        """Put one unit of so many parts after what stands already."""
        start, first_stretch = self.now, len(self.stretches)
        offset = Fraction(0)  # kept apart: the start's terms may be long, and sums of it dear
        for part in parts:
            self._stretch(part, offset)
            offset += part.pace.elapsed(part.count)
        self.now += offset
        self.units.append(
            Unit(
                reel=len(self.names) - 1,
                start=start,
                stop=self.now,
                stretches=(first_stretch, len(self.stretches)),
                **what,
            )
        )

    def _stretch(self, part: _Part, offset: Fraction) -> None:
        start = self.now + offset if offset else self.now
        self.stretches.append(
            Stretch(
                unit=len(self.units),
                first=part.first,
                count=part.count,
                pace=part.pace,
                start=start,
                near=nearly(start),
                offset=offset,
                shows=part.shows,
                hold=part.hold,
                again=part.again,
                backward=part.backward,
                inset=part.inset,
                plate=part.plate,
            )
        )

    def timeline(self) -> Timeline:
        """Return what was built."""
        return Timeline(
            reels=tuple(self._reels()),
            units=tuple(self.units),
            stretches=tuple(self.stretches),
            duration=self.now,
        )

    def _reels(self) -> Iterator[Reel]:
        first = 0
        for number, inside in groupby(self.units, key=lambda unit: unit.reel):
            units = list(inside)
            yield Reel(
                name=self.names[number],
                start=units[0].start,
                stop=units[-1].stop,
                units=(first, first + len(units)),
                positions=self.positions[number],
                missing=self.missing[number],
            )
            first += len(units)


class _Part(Struct, frozen=True, kw_only=True):
    """What becomes a stretch: ``count`` slots of one pace, from film frame ``first``."""

    first: int
    count: int
    pace: Even | Eased
    shows: Shows = Shows.FILM
    hold: bool = False
    again: bool = False
    backward: bool = False
    inset: bool = False
    plate: Plate | None = None


def _plate_part(plate: Plate | None, lasts: Fraction) -> _Part:
    """Return a still, or black where there is no plate."""
    shows = Shows.BLACK if plate is None else Shows.PLATE
    pace = Even(duration=lasts)
    return _Part(first=0, count=1, pace=pace, shows=shows, inset=True, plate=plate)


def _parts(paced: _Paced, holes: Sequence[Hole]) -> Iterator[_Part]:
    """Cut a segment where a hole, a loop or the held frame begins and ends."""
    segment = paced.segment
    inside = [hole for hole in holes if hole.first <= segment.last and hole.stop > segment.first]
    if not paced.hold:
        yield from _film_parts(paced, segment.first, segment.last, inside)
        return
    held = paced.held_frame
    window = _window(paced, inside)
    if window is None:
        yield from _film_parts(paced, segment.first, held - 1, inside)
        lasts = Even(duration=paced.natural(held) + paced.hold)
        (part,) = _film_parts(paced, held, held, inside)
        yield replace(part, pace=lasts, hold=True)
        yield from _film_parts(paced, held + 1, segment.last, inside)
        return
    low, high = window
    yield from _film_parts(paced, segment.first, high, inside)
    for run in loop_runs(low, high, paced.natural(held), paced.hold):
        yield _Part(
            first=run.first,
            count=run.frames,
            pace=Even(duration=run.duration),
            again=True,
            backward=run.backward,
        )
    yield from _film_parts(paced, high + 1, segment.last, inside)


def _window(paced: _Paced, holes: Sequence[Hole]) -> tuple[int, int] | None:
    """Return the frames that loop; None where one frame has to stand still.

    That is where none are asked for, where the hold is shorter than a frame, and where a frame
    of the loop is missing from the scan.
    """
    segment = paced.segment
    if segment.loop is None:
        return None
    low, high = loop_window(segment.first, segment.last, segment.loop)
    missing = any(hole.first <= high and hole.stop > low for hole in holes)
    short = paced.hold < paced.natural(paced.held_frame)
    return None if low == high or missing or short else (low, high)


def _film_parts(paced: _Paced, first: int, last: int, holes: Sequence[Hole]) -> Iterator[_Part]:
    """Yield frames ``first``..``last`` at the segment's pace, cut where holes begin and end."""
    cuts = {first, last + 1}
    for hole in holes:
        cuts |= {min(max(at, first), last + 1) for at in (hole.first, hole.stop)}
    for begin, stop in pairwise(sorted(cuts)):
        here = next((hole for hole in holes if hole.first <= begin < hole.stop), None)
        yield _Part(
            first=begin if here is None else _stand_in(here, paced.segment),
            count=stop - begin,
            pace=_pace_from(paced, begin),
            shows=Shows.FILM if here is None else here.shows,
        )


def _pace_from(paced: _Paced, frame: int) -> Even | Eased:
    """Return a segment's pace from one of its frames on."""
    before = frame - paced.segment.first
    if before and isinstance(paced.pace, Eased):
        return replace(paced.pace, index=paced.pace.index + before)
    return paced.pace


def _stand_in(hole: Hole, segment: Segment) -> int:
    """Return the frame that stands in for a hole, which never opens or closes a scan.

    The frame before it if that is of the same shot, else the one after it if that is, else
    the one before it.
    """
    earlier, later = hole.first - 1, hole.stop
    return later if earlier < segment.first and later <= segment.last else earlier
