"""The timing sheet: when every reel, shot, title and named cue comes in every deliverable."""

from __future__ import annotations

from typing import TYPE_CHECKING

from msgspec import Struct

from retime.film.gauge import Footage, frames_per_foot
from retime.film.length import feet_and_frames
from retime.film.timecode import label
from retime.follow.chapters import chapters_of
from retime.plan.timemap import clock_of
from retime.speedmap.footage import gauge_of
from retime.speedmap.model import ShotKey

if TYPE_CHECKING:
    from collections.abc import Iterator
    from fractions import Fraction

    from retime.edition.edition import Edition, Making
    from retime.plan.timeline import Unit

__all__ = ["TimingRow", "timing_rows"]


class TimingRow(Struct, frozen=True, kw_only=True):
    """When something comes in a deliverable.

    ``kind`` is ``action``, ``title``, ``still``, ``black`` or ``chapter``. ``output`` is the first
    output frame that shows it, from the file's first, and ``timecode`` its label, None where the
    rate has none. ``seconds`` and ``lasts`` are the plan's exact times on the deliverable's clock,
    of chapters as of all else: the output frame begins a little before or after;
    ``feet`` is where it begins within its reel, feet and frames from the first frame of picture,
    None for what is no film.
    """

    version: str
    deliverable: str
    kind: str
    reel: str
    shot: str
    name: str
    output: int
    timecode: str | None
    seconds: Fraction
    lasts: Fraction | None
    feet: str | None


def timing_rows(edition: Edition) -> Iterator[TimingRow]:
    """Yield the rows of all deliverables, each in playing order, a chapter before its shot."""
    for making in edition.makings:
        rows = [*_chapter_rows(edition, making), *_shot_rows(edition, making)]
        yield from sorted(rows, key=lambda row: row.seconds)


def _shot_rows(edition: Edition, making: Making) -> Iterator[TimingRow]:
    plan = making.plan
    bounds, clock = plan.unit_fields(), clock_of(plan)
    names = {shot.key: shot.title or "" for shot in edition.speed_map.shots}
    for number, unit in enumerate(plan.timeline.units):
        if number not in bounds:
            continue
        reel = plan.timeline.reels[unit.reel].name
        output = (bounds[number][0] + 1) // 2
        begin, end = clock.at(unit.start), clock.at(unit.stop)
        yield TimingRow(
            version=making.deliverable.version,
            deliverable=making.name,
            kind=_kind(making, unit),
            reel=reel,
            shot=unit.shot or "",
            name=names.get(ShotKey(reel, unit.shot or ""), "") or unit.name or "",
            output=output,
            timecode=_label(making, output),
            seconds=begin,
            lasts=end - begin,
            feet=_feet(edition, reel, unit.first),
        )


def _chapter_rows(edition: Edition, making: Making) -> Iterator[TimingRow]:
    for chapter in chapters_of(edition, making):
        yield TimingRow(
            version=making.deliverable.version,
            deliverable=making.name,
            kind="chapter",
            reel="",
            shot="",
            name=chapter.name,
            output=chapter.output,
            timecode=_label(making, chapter.output),
            seconds=chapter.true,
            lasts=None,
            feet=None,
        )


def _kind(making: Making, unit: Unit) -> str:
    stretch = making.plan.timeline.stretches[unit.stretches[0]]
    if stretch.inset and unit.shot is None and str(unit.kind) != "title":
        return "black" if stretch.plate is None else "still"
    return str(unit.kind)


def _label(making: Making, output: int) -> str | None:
    rate = making.plan.conform.rate
    if rate.nominal.fps.denominator != 1:
        return None
    return label(making.start + output, rate, drop=making.drop_frame)


def _feet(edition: Edition, name: str, frame: int | None) -> str | None:
    """Return where a frame lies in its reel, in feet and frames."""
    if frame is None:
        return None
    speed_map = edition.speed_map
    reel = speed_map.reel(name)
    footage = speed_map.footage or Footage.NOMINAL
    per_foot = frames_per_foot(gauge_of(speed_map, reel), footage)
    return feet_and_frames(max(0, frame - reel.first), per_foot)
