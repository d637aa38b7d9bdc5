"""The bench sheet: every shot of every reel as it lies on the film, to read while winding.

It goes by the reels as they were scanned, whatever a version puts in, leaves out or moves.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from msgspec import Struct

from retime.film.gauge import Footage, frames_per_foot
from retime.film.length import feet_and_frames
from retime.report.film_runs import joined, lone_frames, unit_runs
from retime.speedmap.decisions import governing
from retime.speedmap.footage import gauge_of

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence
    from fractions import Fraction

    from retime.edition.edition import Edition
    from retime.plan.timeline import Timeline, Unit
    from retime.report.film_runs import LoneFrames
    from retime.speedmap.decisions import Segment
    from retime.speedmap.lasting import Lasting

__all__ = ["BenchRow", "bench_rows", "feet_at"]


class BenchRow(Struct, frozen=True, kw_only=True):
    """A shot, or frames in no shot, in one version.

    ``feet`` is where it begins, feet and frames from the reel's first frame of picture, and
    ``length`` how much film it is. ``first`` and ``last`` are its frames in the scan. ``runs`` are
    its speeds in order, none where its film does not play; ``lasts`` is how long it is on the
    screen, in seconds, and ``remark`` says what a speed does not.
    """

    version: str
    reel: str
    feet: str
    length: str
    first: int
    last: int
    shot: str
    kind: str
    name: str
    runs: tuple[Lasting, ...]
    lasts: Fraction | None
    remark: str


def feet_at(edition: Edition, reel: str, frames: int) -> str:
    """Return a number of a reel's film frames as feet and frames."""
    speed_map = edition.speed_map
    gauge = gauge_of(speed_map, speed_map.reel(reel))
    return feet_and_frames(frames, frames_per_foot(gauge, speed_map.footage or Footage.NOMINAL))


def bench_rows(edition: Edition, versions: Sequence[str]) -> Iterator[BenchRow]:
    """Yield the rows of some versions, reel by reel; the edition has all their timelines."""
    lasts = {scan.reel.name: scan.last for scan in edition.scans}
    for name in versions:
        timeline = edition.timelines[name]
        playing = _Playing(timeline, lone_frames(edition, name))
        for segment in governing(edition.speed_map, edition.speed_map.versions[name], lasts):
            yield _row(edition, name, segment, playing)


class _Playing:
    """The units of a version by what they show: shots, and frames in no shot."""

    def __init__(self, timeline: Timeline, lone: LoneFrames) -> None:
        self._timeline, self._lone = timeline, lone
        self._units: dict[tuple[str, str | int], Unit] = {}
        for unit in timeline.units:
            what = unit.first if unit.shot is None else unit.shot
            if what is not None:
                self._units.setdefault((timeline.reels[unit.reel].name, what), unit)

    def unit(self, segment: Segment) -> Unit | None:
        """Return where a segment plays first, None where it does not."""
        what = segment.first if segment.shot is None else segment.shot.name
        return self._units.get((segment.reel, what))

    def runs(self, unit: Unit) -> tuple[Lasting, ...]:
        """Return a unit's film frames as they run."""
        return tuple(joined(unit_runs(self._timeline, unit, self._lone)))

    def holds(self, unit: Unit) -> bool:
        """Say whether a frame of a unit is held, or some play back and forth."""
        inside = self._timeline.stretches[unit.stretches[0] : unit.stretches[1]]
        return any(stretch.hold or stretch.again for stretch in inside)


def _row(edition: Edition, version: str, segment: Segment, playing: _Playing) -> BenchRow:
    reel = edition.speed_map.reel(segment.reel)
    told = next(scan.told for scan in edition.scans if scan.reel.name == segment.reel)
    unit = playing.unit(segment)
    runs = () if unit is None else playing.runs(unit)
    remark = ""
    if unit is None:
        remark = "left out"
    elif not runs:
        remark = "a picture stands in its place"
    elif playing.holds(unit):
        remark = "held"
    return BenchRow(
        version=version,
        reel=segment.reel,
        feet=feet_at(edition, segment.reel, segment.first - reel.first),
        length=feet_at(edition, segment.reel, segment.count),
        first=told(segment.first),
        last=told(segment.last),
        shot=segment.shot.name if segment.shot else "",
        kind=str(segment.kind),
        name=(segment.shot.title if segment.shot else None) or "",
        runs=runs,
        lasts=None if unit is None else unit.stop - unit.start,
        remark=remark,
    )
