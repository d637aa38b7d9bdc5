"""From one clock to another by way of the film frames: the one map that all that follows takes.

A deliverable's own time begins with its file's first output frame: film that starts at the true
time t of its version stands at (head + t x C) / R. A recording, a file of subtitles or a list of
cues keeps the time of another deliverable, of a transfer of one constant speed, or of the film
frames themselves, and is carried from there frame by frame: the pieces of this map are linear and
exact, one for each frame of a ramp.

Where a shot is held, looped or replaced on either side, there is no frame for every moment, and
its whole time is carried evenly. What has no counterpart on the other side is in no piece.
"""

from __future__ import annotations

from bisect import bisect_right
from fractions import Fraction
from operator import attrgetter
from typing import TYPE_CHECKING, NamedTuple

from msgspec import Struct

from retime.plan.timeline import Eased

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from retime.plan.plan import Plan
    from retime.plan.timeline import Stretch, Timeline, Unit

__all__ = ["Clock", "Leg", "TimeMap", "carried", "clock_of", "true_clock"]


class Leg(NamedTuple):
    """``begin``..``end`` on this clock is ``source_begin``..``source_end`` on the other.

    All are in seconds; ends are not included; both pieces last some time.
    """

    begin: Fraction
    end: Fraction
    source_begin: Fraction
    source_end: Fraction

    @property
    def ratio(self) -> Fraction:
        """How much time passes on the other clock while a second passes on this."""
        return (self.source_end - self.source_begin) / (self.end - self.begin)

    def source_at(self, time: Fraction) -> Fraction:
        """Return the other clock's time at a time of this."""
        return self.source_begin + (time - self.begin) * self.ratio

    def at(self, source: Fraction) -> Fraction:
        """Return this clock's time at a time of the other."""
        return self.begin + (source - self.source_begin) / self.ratio


class TimeMap(Struct, frozen=True, kw_only=True):
    """``legs`` in the order of this clock, which runs from 0 to ``duration``."""

    legs: tuple[Leg, ...]
    duration: Fraction

    def part(self, begin: Fraction, end: Fraction) -> TimeMap:
        """Return the map of a part of this clock, which then begins anew with ``begin``."""
        legs = []
        for leg in self.legs:
            first, last = max(leg.begin, begin), min(leg.end, end)
            if first < last:
                heard = leg.source_at(first), leg.source_at(last)
                legs.append(Leg(first - begin, last - begin, *heard))
        return TimeMap(legs=tuple(legs), duration=end - begin)

    def source_at(self, time: Fraction) -> Fraction | None:
        """Return the other clock's time at a time of this; None where it has none."""
        at = bisect_right(self.legs, time, key=attrgetter("begin")) - 1
        if at < 0 or time >= self.legs[at].end:
            return None
        return self.legs[at].source_at(time)

    def at(self, source: Fraction) -> Fraction | None:
        """Return the first time of this clock at a time of the other; None if there is none."""
        found = (leg for leg in self.legs if leg.source_begin <= source < leg.source_end)
        leg = next(found, None)
        return None if leg is None else leg.at(source)


class Clock(Struct, frozen=True, kw_only=True):
    """A clock that true times of a version stand on: ``start`` + ``run`` x t seconds."""

    start: Fraction
    run: Fraction

    def at(self, true: Fraction) -> Fraction:
        """Return the time of this clock at a true time."""
        return self.start + self.run * true


def clock_of(plan: Plan) -> Clock:
    """Return the clock of a deliverable, which begins with its file."""
    rate = plan.conform.rate.fps
    return Clock(start=plan.head_frames / rate, run=plan.conform.at.fps / rate)


def true_clock() -> Clock:
    """Return the clock of a version's true time."""
    return Clock(start=Fraction(0), run=Fraction(1))


def carried(
    timeline: Timeline, clock: Clock, source: Timeline, source_clock: Clock, duration: Fraction
) -> TimeMap:
    """Return the map from the times of ``source`` to those of ``timeline``.

    Each stands on a clock; ``duration`` is that of what is made, in seconds. Frames are the same
    that are of one reel by name; a frame that plays several times in the source is taken from
    where it plays first.
    """
    other = _Index(source, source_clock)
    legs = (
        leg
        for number in range(len(timeline.units))
        for leg in _unit_legs(timeline, number, clock, other)
    )
    return TimeMap(legs=tuple(_joined(legs)), duration=duration)


class _Piece(NamedTuple):
    """Film frames ``first``..``last`` of one stretch, with its number."""

    first: int
    last: int
    stretch: int


class _Index:
    """Where each film frame and each shot stands in the source."""

    def __init__(self, timeline: Timeline, clock: Clock) -> None:
        self.timeline, self.clock = timeline, clock
        self.shots: dict[tuple[str, str], Unit] = {}
        self.pieces: dict[str, list[_Piece]] = {}
        for number, stretch in enumerate(timeline.stretches):
            unit = timeline.units[stretch.unit]
            reel = timeline.reels[unit.reel].name
            if unit.shot is not None:
                self.shots.setdefault((reel, unit.shot), unit)
            if stretch.fresh:
                piece = _Piece(stretch.first, stretch.last, number)
                self.pieces.setdefault(reel, []).append(piece)
        for pieces in self.pieces.values():
            pieces.sort(key=lambda piece: piece.first)  # stable: earlier plays come first

    def within(self, reel: str, first: int, last: int) -> Iterator[_Piece]:
        """Yield the pieces of frames ``first``..``last``, rising, each frame once."""
        at = first
        for piece in self.pieces.get(reel, ()):
            if piece.first > last:
                return
            begin, end = max(at, piece.first), min(last, piece.last)
            if begin <= end:
                yield _Piece(begin, end, piece.stretch)
                at = end + 1


def _unit_legs(timeline: Timeline, number: int, clock: Clock, other: _Index) -> Iterator[Leg]:
    unit = timeline.units[number]
    reel = timeline.reels[unit.reel].name
    match_ = other.shots.get((reel, unit.shot)) if unit.shot is not None else None
    if match_ is not None and (_uneven(timeline, unit) or _uneven(other.timeline, match_)):
        yield Leg(
            clock.at(unit.start),
            clock.at(unit.stop),
            other.clock.at(match_.start),
            other.clock.at(match_.stop),
        )
        return
    for stretch in timeline.stretches[slice(*unit.stretches)]:
        if stretch.fresh:
            for piece in other.within(reel, stretch.first, stretch.last):
                source = other.timeline.stretches[piece.stretch]
                yield from _film_legs((stretch, clock), (source, other.clock), piece)


def _uneven(timeline: Timeline, unit: Unit) -> bool:
    """Tell whether a shot shows anything but its frames, each in its turn, at its speeds."""
    return any(
        one.held and (one.hold or one.again or one.inset)
        for one in timeline.stretches[slice(*unit.stretches)]
    )


def _film_legs(
    target: tuple[Stretch, Clock], source: tuple[Stretch, Clock], piece: _Piece
) -> Iterator[Leg]:
    """Yield one leg for frames of even paces on both sides, else one a frame."""
    even = not any(isinstance(stretch.pace, Eased) for stretch, _ in (target, source))
    step = piece.last - piece.first + 1 if even else 1
    for first in range(piece.first, piece.last + 1, step):
        yield Leg(*_span(*target, first, first + step), *_span(*source, first, first + step))


def _span(stretch: Stretch, clock: Clock, first: int, stop: int) -> tuple[Fraction, Fraction]:
    """Return when a stretch's frames begin and end on a clock."""
    begin, end = (
        clock.at(stretch.start + stretch.pace.elapsed(frame - stretch.first))
        for frame in (first, stop)
    )
    return begin, end


def _joined(legs: Iterable[Leg]) -> Iterator[Leg]:
    """Put legs together that go on where the one before ends, at the same pace."""
    waiting: Leg | None = None
    for leg in legs:
        if waiting is None:
            waiting = leg
        elif (waiting.end, waiting.source_end, waiting.ratio) == (
            leg.begin,
            leg.source_begin,
            leg.ratio,
        ):
            waiting = waiting._replace(end=leg.end, source_end=leg.source_end)
        else:
            yield waiting
            waiting = leg
    if waiting is not None:
        yield waiting
