"""Chapters and markers: names for places in the film, at the output frames that first show them."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from retime.errors import DocumentError
from retime.findings import Finding
from retime.speedmap.following import ChapterSource
from retime.speedmap.model import ShotKey, ShotKind
from retime.yamldoc.quoting import quoted

if TYPE_CHECKING:
    from collections.abc import Iterator
    from fractions import Fraction

    from retime.edition.edition import Edition, Making
    from retime.plan.plan import Plan
    from retime.plan.timeline import Unit
    from retime.speedmap.following import Mark

__all__ = ["Chapter", "chapters_of"]


class Chapter(NamedTuple):
    """A chapter begins with output frame ``output``, counted from the file's first."""

    name: str
    output: int
    time: Fraction


def chapters_of(edition: Edition, making: Making) -> tuple[Chapter, ...]:
    """Return a deliverable's chapters, rising; the file's first frame has one where any has.

    What is an output frame of two is the later chapter's. Raises DocumentError for a mark that
    does not play in the version.
    """
    source = making.deliverable.chapters
    if source is None:
        return ()
    found = _marked(making, source) if isinstance(source, tuple) else _listed(edition, making)
    begun = {output: name for name, output in found}
    if begun and 0 not in begun:
        begun[0] = edition.speed_map.film
    rate = making.plan.conform.rate.fps
    return tuple(Chapter(name, output, output / rate) for output, name in sorted(begun.items()))


def _listed(edition: Edition, making: Making) -> Iterator[tuple[str, int]]:
    """Yield every reel, shot or title with its first output frame."""
    plan, source = making.plan, making.deliverable.chapters
    if source is ChapterSource.REELS:
        for reel, (first, _) in zip(plan.timeline.reels, plan.reel_fields(), strict=True):
            yield f"Reel {reel.name}", (first + 1) // 2
        return
    names = {shot.key: shot.title for shot in edition.speed_map.shots}
    bounds = plan.unit_fields()
    for number, unit in enumerate(plan.timeline.units):
        if source is ChapterSource.TITLES and unit.kind is not ShotKind.TITLE:
            continue
        name = _name(plan, unit, names)
        if name is not None and number in bounds:
            yield name, (bounds[number][0] + 1) // 2


def _name(plan: Plan, unit: Unit, names: dict[ShotKey, str | None]) -> str | None:
    """Return what a person calls a shot: its name, else its key; None for frames in no shot."""
    if unit.shot is None:
        return unit.name
    reel = plan.timeline.reels[unit.reel].name
    return names.get(ShotKey(reel, unit.shot)) or f"{reel}/{unit.shot}"


def _marked(making: Making, marks: tuple[Mark, ...]) -> Iterator[tuple[str, int]]:
    for mark in marks:
        output = _output_of(making.plan, mark)
        if output is None:
            what = f"{quoted(mark.name)} marks what does not play in {making.deliverable.version}"
            place = mark.where.of("at")
            raise DocumentError([Finding(place=place, rule="chapters", text=what)])
        yield mark.name, output


def _output_of(plan: Plan, mark: Mark) -> int | None:
    """Return the first output frame that shows what is marked, whole where frames hold two."""
    timeline = plan.timeline
    bounds = plan.unit_fields()
    for number, unit in enumerate(timeline.units):
        reel = timeline.reels[unit.reel].name
        if number not in bounds:
            continue
        if mark.shot is not None and (reel, unit.shot) == mark.shot:
            return (bounds[number][0] + 1) // 2
        if mark.reel == reel and (mark.frame is None or _holds(unit, mark.frame)):
            return _frame_output(plan, number, mark.frame)
    return None


def _holds(unit: Unit, frame: int) -> bool:
    return unit.first is not None and unit.last is not None and unit.first <= frame <= unit.last


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
