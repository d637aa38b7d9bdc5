"""How long each film frame lasts in a version, in runs, so that two answers can be compared.

Speeds and ramps are the same thing here: a run's first frame lasts so long, and every later one a
step more. So it does not matter how frames are divided into shots, or which rule decides.
"""

from __future__ import annotations

from fractions import Fraction
from itertools import pairwise
from typing import TYPE_CHECKING

from msgspec import Struct

from retime.speedmap.decisions import RampPart, Steady, governing

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from retime.speedmap.decisions import Segment
    from retime.speedmap.model import SpeedMap, Version

__all__ = ["Lasting", "known_lasts", "lastings", "parting"]


class Lasting(Struct, frozen=True, kw_only=True):
    """Film frames ``first``..``last`` of a reel, both included.

    The first lasts ``duration`` seconds and each later one ``step`` more; both None where the
    version leaves the speed to be solved for. ``limited`` tells limits and a loop, if it has any.
    """

    reel: str
    first: int
    last: int
    duration: Fraction | None
    step: Fraction | None
    limited: tuple[object, ...] = ()

    def since(self, first: int, last: int) -> Lasting:
        """Return what is said of frames ``first``..``last`` of it."""
        duration = self.duration
        if duration is not None and self.step is not None:
            duration += self.step * (first - self.first)
        return Lasting(
            reel=self.reel,
            first=first,
            last=last,
            duration=duration,
            step=self.step if first < last else self.step and Fraction(0),
            limited=self.limited,
        )


def known_lasts(speed_map: SpeedMap) -> dict[str, int]:
    """Return a last frame for each reel of which the map states none: that of its last shot.

    It serves where two readings of a map are compared and no scan is to be looked at.
    """
    lasts = {reel.name: reel.first for reel in speed_map.reels}
    for shot in speed_map.shots:
        lasts[shot.reel] = max(lasts[shot.reel], shot.last)
    return lasts


def lastings(
    speed_map: SpeedMap, version: Version, lasts: dict[str, int], *, limits: bool = True
) -> list[Lasting]:
    """Return how long a version's frames last, reel by reel as scanned; see ``governing``.

    Without ``limits`` these are left out.
    """
    return [_lasting(one, limits=limits) for one in governing(speed_map, version, lasts)]


def _lasting(segment: Segment, *, limits: bool) -> Lasting:
    duration, step = _begins(segment)
    told = (segment.at_least, segment.at_most, segment.exactly, segment.loop)
    return Lasting(
        reel=segment.reel,
        first=segment.first,
        last=segment.last,
        duration=duration,
        step=step,
        limited=told if limits and any(one is not None for one in told) else (),
    )


def _begins(segment: Segment) -> tuple[Fraction | None, Fraction | None]:
    match segment.pace:
        case Steady(speed=speed):
            return speed.duration, Fraction(0)
        case RampPart(ramp=ramp, index=index, count=count):
            begin = ramp.duration(index, count)
            after = ramp.duration(min(index + 1, count - 1), count)
            return begin, after - begin if segment.count > 1 else Fraction(0)
        case _:
            return None, None


def parting(
    one: Sequence[Lasting], other: Sequence[Lasting]
) -> Iterator[tuple[Lasting | None, Lasting | None]]:
    """Yield the runs of frames of which two answers say different things, those of a reel joined.

    A side is None for frames that it does not have.
    """
    for reel in dict.fromkeys(run.reel for run in (*one, *other)):
        mine = [run for run in one if run.reel == reel]
        theirs = [run for run in other if run.reel == reel]
        bounds = sorted({at for run in (*mine, *theirs) for at in (run.first, run.last + 1)})
        left = right = 0
        for first, stop in pairwise(bounds):
            while left < len(mine) and mine[left].last < first:
                left += 1
            while right < len(theirs) and theirs[right].last < first:
                right += 1
            ours = _part(mine, left, first, stop - 1)
            others = _part(theirs, right, first, stop - 1)
            if ours != others:
                yield ours, others


def _part(runs: Sequence[Lasting], at: int, first: int, last: int) -> Lasting | None:
    if at == len(runs) or runs[at].first > first:
        return None
    return runs[at].since(first, last)
