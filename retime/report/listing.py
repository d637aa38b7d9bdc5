"""Output frame by output frame, which film frame it shows."""

from __future__ import annotations

import csv
import json
from typing import TYPE_CHECKING, NamedTuple

from retime.film.timecode import label

if TYPE_CHECKING:
    from collections.abc import Iterator
    from typing import TextIO

    from retime.edition.edition import Making

__all__ = ["COLUMNS", "Row", "listing", "write_csv", "write_json"]


class Row(NamedTuple):
    """One film frame shown by one output frame; ``field`` is empty for progressive pictures."""

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
    plan, timeline = making.plan, making.plan.timeline
    rate = plan.conform.rate
    labelled = rate.nominal.fps.denominator == 1
    output = 0
    for showing in plan.showings():
        unit = timeline.units[showing.unit]
        black = showing.frame is None
        reel = "" if black else timeline.reels[showing.reel].name
        frame = "" if black else str(showing.frame)
        kind = "black" if black else str(unit.kind)
        for _ in range(showing.times):
            timecode = label(output, rate, drop=making.drop_frame) if labelled else ""
            yield Row(output, "", timecode, reel, frame, unit.shot or "", kind, "1")
            output += 1


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
