"""A transfer's cadence as a table for a person, and as a list of what every picture shows."""

from __future__ import annotations

import csv
from typing import TYPE_CHECKING, NamedTuple

from rich import box
from rich.console import Group
from rich.table import Table
from rich.text import Text

from retime.report.detected_words import (
    cadence_said,
    notes_on,
    overall_said,
    ratio_said,
    remarks,
    what_said,
)
from retime.signal.shown import Kind, film_frames, films_shown

if TYPE_CHECKING:
    from collections.abc import Iterator
    from typing import TextIO

    from rich.console import RenderableType

    from retime.detect.detection import Detection

__all__ = ["COLUMNS", "Row", "detected_table", "rows", "write_rows"]


class Row(NamedTuple):
    """One film frame that a picture, or a field of it, shows.

    ``field`` is 1 or 2 in the order of time where the cadence is in fields, else empty. ``film``
    numbers film frames through the transfer; ``first`` is the picture in which it is seen first.
    ``weight`` is its share in the picture, a fraction.
    """

    picture: int
    field: str
    film: int
    first: int
    weight: str


COLUMNS = Row._fields


def detected_table(found: Detection) -> RenderableType:
    """Return what was found, ready to be printed."""
    told = found.rate_said
    rate = "no rate" if told is None else f"{float(told):.6g} fps by its header"
    head = Text.assemble(
        (found.file.name, "bold"),
        f"   {found.frames:,} pictures, {rate}, {found.film_frames:,} film frames",
    )
    table = Table(box=box.SIMPLE_HEAD, pad_edge=False, padding=(0, 2, 0, 0))
    for name in ("first", "last", "what", "film", "cadence", "sure", ""):
        right = name in {"first", "last", "sure"}
        table.add_column(name, justify="right" if right else "left", overflow="fold")
    for one in found.stretches:
        table.add_row(
            str(one.first),
            str(one.last),
            what_said(one),
            ratio_said(one, found.rate_said),
            cadence_said(one),
            f"{100 * one.confidence:.0f} %",
            Text("; ".join(notes_on(one))),
        )
    lines: list[RenderableType] = [head, Text(overall_said(found), "bold"), table]
    lines += [Text(remark) for remark in remarks(found)]
    return Group(*lines)


def rows(found: Detection) -> Iterator[Row]:
    """Yield what every picture shows, in order."""
    upper, lower = films_shown(found.stretches)
    firsts = {one.number: one.first for one in film_frames(found.stretches)}
    for stretch in found.stretches:
        for picture in range(stretch.first, stretch.last + 1):
            at = picture - found.first
            if stretch.mixing is not None:
                for film, weight in stretch.mixing.mixture.parts(picture - stretch.first):
                    number = stretch.film + film
                    yield Row(picture, "", number, firsts[number], str(weight))
            elif stretch.kind is Kind.FIELDS:
                films = (upper[at], lower[at]) if stretch.top_first else (lower[at], upper[at])
                for field, one in enumerate(films, start=1):
                    yield Row(picture, str(field), int(one), firsts[int(one)], "1")
            else:
                yield Row(picture, "", int(upper[at]), firsts[int(upper[at])], "1")


def write_rows(found: Detection, to: TextIO) -> None:
    """Write what every picture shows as CSV, the columns' names first."""
    writer = csv.writer(to, lineterminator="\n")
    writer.writerow(COLUMNS)
    writer.writerows(rows(found))
