"""Builds a version's timeline from the map's decisions, holes and title rules."""

from __future__ import annotations

from fractions import Fraction
from itertools import groupby, pairwise
from typing import TYPE_CHECKING

from msgspec import Struct, field
from msgspec.structs import replace

from retime.plan.onset import nearly
from retime.plan.timeline import Eased, Even, Reel, Shows, Stretch, Timeline, Unit
from retime.speedmap.decisions import Free, RampPart, Segment, Steady

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

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


def assemble(
    segments: Sequence[Segment],
    holes: Mapping[str, Sequence[Hole]],
    free: Fraction | None = None,
) -> Timeline:
    """Return the timeline of ``segments`` in playing order.

    ``holes`` are those of each reel by name. ``free`` is the duration in seconds of a frame
    whose speed the version leaves to be solved from its runtime.
    """
    building = _Building(holes=holes)
    for segment in segments:
        building.add(_paced(segment, free))
    return building.timeline()


def solved_duration(segments: Sequence[Segment], runtime: Fraction) -> Fraction | None:
    """Return the one frame duration that makes free frames fill ``runtime``; None if none does.

    The runtime grows with the free duration in straight pieces, which bend where a title's
    limit begins or ends to bind; the pieces are walked in order.
    """
    fixed, free = Fraction(0), 0
    bends: list[tuple[Fraction, int]] = []
    for segment in segments:
        if not isinstance(segment.pace, Free):
            paced = _paced(segment, None)
            fixed += paced.pace.elapsed(segment.count) + paced.hold
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
    """The timeline as it grows, segment by segment; ``names`` and ``missing`` are of its reels."""

    holes: Mapping[str, Sequence[Hole]]
    now: Fraction = Fraction(0)
    names: list[str] = field(default_factory=list)
    missing: list[int] = field(default_factory=list)
    units: list[Unit] = field(default_factory=list)
    stretches: list[Stretch] = field(default_factory=list)

    def add(self, paced: _Paced) -> None:
        """Put one segment after what stands already."""
        segment, start, first_stretch = paced.segment, self.now, len(self.stretches)
        if not self.names or self.names[-1] != segment.reel:
            self.names.append(segment.reel)
            self.missing.append(0)
        offset = Fraction(0)  # kept apart: the start's terms may be long, and sums of it dear
        for part in _parts(paced, self.holes.get(segment.reel, ())):
            if part.shows is not Shows.FILM:
                self.missing[-1] += part.last - part.first + 1
            offset += self._stretch(paced, part, offset)
        self.now += offset
        self.units.append(
            Unit(
                reel=len(self.names) - 1,
                first=segment.first,
                last=segment.last,
                shot=segment.shot.name if segment.shot else None,
                kind=segment.kind,
                start=start,
                stop=self.now,
                stretches=(first_stretch, len(self.stretches)),
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
                first=units[0].first,
                last=units[-1].last,
                start=units[0].start,
                stop=units[-1].stop,
                units=(first, first + len(units)),
                missing=self.missing[number],
            )
            first += len(units)

    def _stretch(self, paced: _Paced, part: _Part, offset: Fraction) -> Fraction:
        """Put one part of a segment after what stands already; return how long it lasts."""
        before = part.first - paced.segment.first
        count = part.last - part.first + 1
        hold = bool(paced.hold) and part.first == part.last == paced.held_frame
        pace: Even | Eased
        if hold:
            natural = paced.pace.elapsed(before + 1) - paced.pace.elapsed(before)
            pace = Even(duration=natural + paced.hold)
        elif before and isinstance(paced.pace, Eased):
            pace = replace(paced.pace, index=paced.pace.index + before)
        else:
            pace = paced.pace
        start = self.now + offset if offset else self.now
        self.stretches.append(
            Stretch(
                unit=len(self.units),
                first=part.shown,
                count=count,
                pace=pace,
                start=start,
                near=nearly(start),
                offset=offset,
                shows=part.shows,
                hold=hold,
            )
        )
        return pace.elapsed(count)


class _Part(Struct, frozen=True, kw_only=True):
    """Frames ``first``..``last`` of a segment that show one kind of thing, from ``shown``."""

    first: int
    last: int
    shows: Shows
    shown: int


def _parts(paced: _Paced, holes: Sequence[Hole]) -> Iterator[_Part]:
    """Cut a segment where a hole or the held frame begins and ends."""
    segment = paced.segment
    if not paced.hold and not holes:
        yield _Part(first=segment.first, last=segment.last, shows=Shows.FILM, shown=segment.first)
        return
    cuts = {segment.first, segment.last + 1}
    if paced.hold:
        cuts |= {paced.held_frame, paced.held_frame + 1}
    inside = [hole for hole in holes if hole.first <= segment.last and hole.stop > segment.first]
    for hole in inside:
        cuts |= {max(hole.first, segment.first), min(hole.stop, segment.last + 1)}
    for first, stop in pairwise(sorted(cuts)):
        here = next((hole for hole in inside if hole.first <= first < hole.stop), None)
        shows = Shows.FILM if here is None else here.shows
        shown = first if here is None else _stand_in(here, segment)
        yield _Part(first=first, last=stop - 1, shows=shows, shown=shown)


def _stand_in(hole: Hole, segment: Segment) -> int:
    """Return the frame that stands in for a hole, which never opens or closes a scan.

    The frame before it if that is of the same shot, else the one after it if that is, else
    the one before it.
    """
    earlier, later = hole.first - 1, hole.stop
    return later if earlier < segment.first and later <= segment.last else earlier
