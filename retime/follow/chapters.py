"""Chapters and markers: names for places in the film, at the output frames that first show them."""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING, NamedTuple

from retime.errors import DocumentError
from retime.findings import Finding
from retime.plan.timemap import clock_of
from retime.speedmap.following import ChapterSource
from retime.speedmap.model import ShotKey, ShotKind
from retime.yamldoc.quoting import quoted

if TYPE_CHECKING:
    from collections.abc import Iterator

    from retime.edition.edition import Edition, Making
    from retime.plan.plan import Plan
    from retime.plan.timeline import Timeline, Unit
    from retime.speedmap.following import Mark

__all__ = ["Chapter", "chapters_of"]


class Chapter(NamedTuple):
    """A chapter begins with output frame ``output``, counted from the file's first, at ``time``.

    ``true`` is when the plan has what it marks begin, exactly, on the deliverable's clock; the
    output frame is the first that shows it. ``unasked`` marks the one that the file's first frame
    is given where nobody asked for any there.
    """

    name: str
    output: int
    time: Fraction
    true: Fraction
    unasked: bool = False


def chapters_of(edition: Edition, making: Making) -> tuple[Chapter, ...]:
    """Return a deliverable's chapters, rising; the file's first frame has one where any has.

    What is an output frame of two is the later chapter's. Raises DocumentError for a mark that
    does not play in the version.
    """
    source = making.deliverable.chapters
    if source is None:
        return ()
    found = _marked(making, source) if isinstance(source, tuple) else _listed(edition, making)
    plan = making.plan
    rate, clock = plan.conform.rate.fps, clock_of(plan)
    begun = {
        begins.output: Chapter(name, begins.output, begins.output / rate, clock.at(begins.true))
        for name, begins in found
    }
    if begun and 0 not in begun:
        zero = Fraction(0)
        begun[0] = Chapter(edition.speed_map.film, 0, zero, zero, unasked=True)
    return tuple(begun[output] for output in sorted(begun))


class _Begins(NamedTuple):
    """The first output frame that shows something, and the true time at which it begins."""

    output: int
    true: Fraction


def _listed(edition: Edition, making: Making) -> Iterator[tuple[str, _Begins]]:
    """Yield every reel, shot or title with where it begins."""
    plan, source = making.plan, making.deliverable.chapters
    if source is ChapterSource.REELS:
        for reel, (first, _) in zip(plan.timeline.reels, plan.reel_fields(), strict=True):
            yield f"Reel {reel.name}", _Begins((first + 1) // 2, reel.start)
        return
    names = {shot.key: shot.title for shot in edition.speed_map.shots}
    bounds = plan.unit_fields()
    for number, unit in enumerate(plan.timeline.units):
        if source is ChapterSource.TITLES and unit.kind is not ShotKind.TITLE:
            continue
        name = _name(plan, unit, names)
        if name is not None and number in bounds:
            yield name, _Begins((bounds[number][0] + 1) // 2, unit.start)


def _name(plan: Plan, unit: Unit, names: dict[ShotKey, str | None]) -> str | None:
    """Return what a person calls a shot: its name, else its key; None for frames in no shot."""
    if unit.shot is None:
        return unit.name
    reel = plan.timeline.reels[unit.reel].name
    return names.get(ShotKey(reel, unit.shot)) or f"{reel}/{unit.shot}"


def _marked(making: Making, marks: tuple[Mark, ...]) -> Iterator[tuple[str, _Begins]]:
    for mark in marks:
        begins = _begins(making.plan, mark)
        if begins is None:
            what = f"{quoted(mark.name)} marks what does not play in {making.deliverable.version}"
            place = mark.where.of("at")
            raise DocumentError([Finding(place=place, rule="chapters", text=what)])
        yield mark.name, begins


def _begins(plan: Plan, mark: Mark) -> _Begins | None:
    """Return where what is marked begins, with an output frame that is whole where it holds two."""
    timeline = plan.timeline
    bounds = plan.unit_fields()
    for number, unit in enumerate(timeline.units):
        reel = timeline.reels[unit.reel].name
        if number not in bounds:
            continue
        if mark.shot is not None and (reel, unit.shot) == mark.shot:
            return _Begins((bounds[number][0] + 1) // 2, unit.start)
        if mark.reel == reel and (mark.frame is None or _holds(unit, mark.frame)):
            output = _frame_output(plan, number, mark.frame)
            return _Begins(output, _frame_start(timeline, unit, mark.frame))
    return None


def _holds(unit: Unit, frame: int) -> bool:
    return unit.first is not None and unit.last is not None and unit.first <= frame <= unit.last


def _frame_start(timeline: Timeline, unit: Unit, frame: int | None) -> Fraction:
    """Return the true time at which a frame of a shot has its turn; the shot's if it has none."""
    for stretch in timeline.stretches[slice(*unit.stretches)]:
        if frame is not None and stretch.fresh and stretch.first <= frame <= stretch.last:
            return stretch.start + stretch.pace.elapsed(frame - stretch.first)
    return unit.start


def _frame_output(plan: Plan, number: int, frame: int | None) -> int:
    """Return the first output frame of a shot, or the one that shows a frame of it or a later."""
    if frame is None:
        return (plan.unit_fields()[number][0] + 1) // 2
    field = 2 * plan.head_frames
    for times, fields in plan.film_pictures():
        for at, look in enumerate(fields):
            part = look[0]
            if part.unit == number and part.frame is not None and part.frame >= frame:
                return (field + at + 1) // 2
        field += 2 * times
    return (plan.unit_fields()[number][0] + 1) // 2
