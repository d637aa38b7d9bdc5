"""The place at which two versions part: up to it they show the same, each frame as long."""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING

from msgspec import Struct

from retime.plan.timeline import Eased, Shows

if TYPE_CHECKING:
    from collections.abc import Mapping

    from retime.plan.timeline import Stretch, Timeline
    from retime.report.comparison_side import Side

__all__ = ["Parting", "Spot", "parting_of"]


class Spot(Struct, frozen=True, kw_only=True):
    """What a version shows at a moment; ``frame`` is None where that is no film frame.

    ``picture`` is the address of a picture that is none of the film's, ``name`` what that which was
    put in is called.
    """

    reel: str
    shot: str | None
    frame: int | None
    shows: Shows
    picture: str | None = None
    name: str | None = None


class Parting(Struct, frozen=True, kw_only=True):
    """Seconds of true time up to which two versions are alike, and what each shows then.

    A side is None for a version that ends there.
    """

    seconds: Fraction
    left: Spot | None
    right: Spot | None


class _Run(Struct, frozen=True, kw_only=True):
    """A stretch as what it shows: slots of frames that rise, fall or stay, each lasting so long."""

    stretch: Stretch
    shows: tuple[object, ...]
    frame: int
    way: int
    duration: Fraction
    step: Fraction

    def slot(self, number: int) -> tuple[object, ...]:
        """Return what a slot shows, and for how long."""
        return self.shows, self.frame + self.way * number, self.duration + self.step * number


def parting_of(
    left: Timeline, right: Timeline, sides: tuple[Side, Side] | None = None
) -> Parting | None:
    """Return where two versions part; None where they are alike to the end.

    Pictures are the same where both ``sides`` mean one file, or, without them, write one address.
    """
    ours, others = _runs(left, sides and sides[0]), _runs(right, sides and sides[1])
    at, begun = [0, 0], [0, 0]  # the run on either side, and how many of its slots have gone by
    while at[0] < len(ours) and at[1] < len(others):
        one, other = ours[at[0]], others[at[1]]
        if one.slot(begun[0]) != other.slot(begun[1]):
            break
        both = min(one.stretch.count - begun[0], other.stretch.count - begun[1])
        alike = both if (one.way, one.step) == (other.way, other.step) else 1
        for side, run in enumerate((one, other)):
            begun[side] += alike
            if begun[side] == run.stretch.count:
                at[side], begun[side] = at[side] + 1, 0
    if at[0] == len(ours) and at[1] == len(others):
        return None
    return Parting(
        seconds=_time(left, ours, at[0], begun[0]),
        left=_spot(left, ours, at[0], begun[0]),
        right=_spot(right, others, at[1], begun[1]),
    )


def _runs(timeline: Timeline, side: Side | None) -> list[_Run]:
    scans: dict[str, object] = {
        reel.name: side.scan(reel.name) if side else reel.name for reel in timeline.reels
    }
    return [_run(timeline, stretch, scans, side) for stretch in timeline.stretches]


def _run(
    timeline: Timeline, stretch: Stretch, scans: Mapping[str, object], side: Side | None
) -> _Run:
    pace = stretch.pace
    duration = pace.elapsed(1)
    ramps = isinstance(pace, Eased) and stretch.count > 1
    reel = timeline.reels[timeline.units[stretch.unit].reel].name
    way = {Shows.FILM: -1 if stretch.backward else 1}.get(stretch.shows, 0)
    film = stretch.shows in {Shows.FILM, Shows.STILL}
    plate = side.plate(stretch.plate) if side else stretch.plate
    return _Run(
        stretch=stretch,
        shows=(stretch.shows, scans[reel] if film else None, plate),
        frame=stretch.first if film else 0,
        way=way,
        duration=duration,
        step=pace.elapsed(2) - 2 * duration if ramps else Fraction(0),
    )


def _time(timeline: Timeline, runs: list[_Run], at: int, slots: int) -> Fraction:
    if at == len(runs):
        return timeline.duration
    return runs[at].stretch.start + runs[at].stretch.pace.elapsed(slots)


def _spot(timeline: Timeline, runs: list[_Run], at: int, slots: int) -> Spot | None:
    if at == len(runs):
        return None
    stretch = runs[at].stretch
    unit = timeline.units[stretch.unit]
    return Spot(
        reel=timeline.reels[unit.reel].name,
        shot=unit.shot,
        frame=stretch.frame(slots),
        shows=stretch.shows,
        picture=None if stretch.plate is None else stretch.plate.address,
        name=unit.name,
    )
