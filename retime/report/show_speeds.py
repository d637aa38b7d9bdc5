"""The speeds of a version as someone beside a projector reads them: by reel, foot by foot.

A print cannot be held, and nothing can be put into it. So the sheet goes by the film alone: each
film frame at the pace of its stretch, without holds, stills and black, whose time is told apart.
"""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING

from msgspec import Struct

from retime.film.gauge import Footage, frames_per_foot
from retime.report.bench import feet_at
from retime.report.film_runs import ends_of, joined, lone_frames, seconds_of, unit_runs
from retime.speedmap.footage import gauge_of

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from retime.edition.edition import Edition
    from retime.plan.timeline import Reel
    from retime.speedmap.lasting import Lasting

__all__ = ["CAUTION", "ReelSpeeds", "SpeedChange", "show_speeds"]

CAUTION = (
    "Caution: a speed on this sheet is no instruction for a projector. Running any print slowly "
    "before a hot lamp is dangerous, and nitrate film burns: it may be handled and shown only by "
    "people licensed for it. Licensed practice and local rules decide."
)
_A_MINUTE = 60


class SpeedChange(Struct, frozen=True, kw_only=True):
    """Film that runs at one speed, or in one ramp.

    ``feet`` is where it begins, feet and frames from the reel's first frame of picture, ``at``
    how many seconds of the reel's film have run by then, and ``lasts`` its own seconds. ``fps``
    and ``per_minute``, in feet, are those of its first and of its last frame.
    """

    feet: str
    frame: int
    frames: int
    at: Fraction
    lasts: Fraction
    fps: tuple[Fraction, Fraction]
    per_minute: tuple[Fraction, Fraction]


class ReelSpeeds(Struct, frozen=True, kw_only=True):
    """A reel as it plays in a version.

    ``length`` is how much film plays, in feet and frames, ``lasts`` how many seconds it takes, and
    ``beside`` those that the version adds to them: holds, stills, black, and holes in a scan.
    """

    version: str
    reel: str
    length: str
    lasts: Fraction
    beside: Fraction
    changes: tuple[SpeedChange, ...]


def show_speeds(edition: Edition, versions: Sequence[str]) -> Iterator[ReelSpeeds]:
    """Yield the reels of some versions in playing order; the edition has all their timelines."""
    for name in versions:
        timeline, lone = edition.timelines[name], lone_frames(edition, name)
        for reel in timeline.reels:
            runs = [
                run
                for unit in timeline.units[reel.units[0] : reel.units[1]]
                for run in unit_runs(timeline, unit, lone)
            ]
            yield _reel(edition, name, reel, runs)


def _reel(edition: Edition, version: str, reel: Reel, runs: Sequence[Lasting]) -> ReelSpeeds:
    changes: list[SpeedChange] = []
    at = Fraction(0)
    for run in joined(runs):
        changes.append(_change(edition, run, at))
        at += changes[-1].lasts
    return ReelSpeeds(
        version=version,
        reel=reel.name,
        length=feet_at(edition, reel.name, sum(change.frames for change in changes)),
        lasts=at,
        beside=reel.stop - reel.start - at,
        changes=tuple(changes),
    )


def _change(edition: Edition, run: Lasting, at: Fraction) -> SpeedChange:
    speed_map = edition.speed_map
    reel = speed_map.reel(run.reel)
    footage = speed_map.footage or Footage.NOMINAL
    per_foot = frames_per_foot(gauge_of(speed_map, reel), footage)
    first, last = ends_of(run)
    told = next(scan.told for scan in edition.scans if scan.reel.name == run.reel)
    return SpeedChange(
        feet=feet_at(edition, run.reel, run.first - reel.first),
        frame=told(run.first),
        frames=run.last - run.first + 1,
        at=at,
        lasts=seconds_of(run),
        fps=(first, last),
        per_minute=(first * _A_MINUTE / per_foot, last * _A_MINUTE / per_foot),
    )
