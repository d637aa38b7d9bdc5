"""Output frame by output frame, which film frame it shows."""

from __future__ import annotations

import csv
import json
from typing import TYPE_CHECKING, NamedTuple

from retime.film.timecode import label
from retime.speedmap.model import ShotKind

if TYPE_CHECKING:
    from collections.abc import Iterator
    from typing import TextIO

    from retime.edition.edition import Making
    from retime.plan.look import Look, Part
    from retime.plan.plan import Plan

__all__ = ["COLUMNS", "Row", "listing", "write_csv", "write_json"]


class Row(NamedTuple):
    """One film frame shown by one output frame or field.

    ``field`` is 1 or 2 in the order of time, and empty where both fields are of one cadence.
    ``reel`` and ``frame`` are empty for what is no film frame, and ``kind`` says what it is:
    ``black``, ``still``, a ``title`` that was put in place, ``head`` or ``tail``.
    """

    output: int
    field: str
    timecode: str
    reel: str
    frame: str
    shot: str
    kind: str
    weight: str


COLUMNS = Row._fields


def listing(making: Making) -> Iterator[Row]:
    """Yield a deliverable's rows in order; ``timecode`` is empty where the rate has none."""
    plan = making.plan
    rate = plan.conform.rate
    labelled = rate.nominal.fps.denominator == 1
    output = 0
    for times, fields in plan.pictures():
        told = [
            (field, _part(making, part, output))
            for field, look in _fields(plan, fields)
            for part in look
        ]
        for _ in range(times):
            timecode = ""
            if labelled:
                timecode = label(making.start + output, rate, drop=making.drop_frame)
            for field, part in told:
                yield Row(output, field, timecode, *part)
            output += 1


def _fields(plan: Plan, fields: tuple[Look, ...]) -> list[tuple[str, Look]]:
    """Return what each field looks like, by its number; the whole frame's where that is told."""
    if not plan.carry.in_fields:
        return [("", fields[0])]
    return [("1", fields[0]), ("2", fields[-1])]


def _part(making: Making, part: Part, output: int) -> tuple[str, str, str, str, str]:
    """Return reel, frame, shot, kind and weight as they are written."""
    plan = making.plan
    if part.unit is None:
        kind = "head" if output < plan.head_frames else "tail"
        return "", "", "", kind, str(part.weight)
    unit = plan.timeline.units[part.unit]
    shot = unit.shot or unit.name or ""
    if part.frame is None:
        kind = "black" if part.plate is None else "still"
        if part.plate is not None and unit.kind is ShotKind.TITLE:
            kind = str(unit.kind)
        return "", "", shot, kind, str(part.weight)
    reel = plan.timeline.reels[unit.reel].name
    return reel, str(making.told(reel, part.frame)), shot, str(unit.kind), str(part.weight)


def write_csv(making: Making, to: TextIO) -> None:
    """Write the rows as CSV, the columns' names first."""
    writer = csv.writer(to, lineterminator="\n")
    writer.writerow(COLUMNS)
    writer.writerows(listing(making))


def write_json(making: Making, to: TextIO) -> None:
    """Write the rows as a list of objects, one a line."""
    opening = "[\n"
    for row in listing(making):
        to.write(opening + json.dumps(row._asdict(), ensure_ascii=False))
        opening = ",\n"
    to.write("\n]\n")
