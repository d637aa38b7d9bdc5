"""The timing sheet as a table, as CSV and as JSON (``retime-timing/1``)."""

from __future__ import annotations

import csv
import json
from itertools import groupby
from typing import TYPE_CHECKING, Any

from rich import box
from rich.console import Group
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from retime.film.clock import clock
from retime.report.numbers import said

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence
    from typing import TextIO

    from rich.console import RenderableType

    from retime.edition.edition import Edition
    from retime.follow.timing import TimingRow

__all__ = ["FORMAT", "timing_table", "write_timing_csv", "write_timing_json"]

FORMAT = "retime-timing/1"
_COLUMNS = (
    "version",
    "deliverable",
    "kind",
    "reel",
    "shot",
    "name",
    "output",
    "timecode",
    "seconds",
    "lasts",
    "feet",
)
_PLACES = 6  # a thousandth of a sample is finer than anyone can cue by


def timing_table(edition: Edition, rows: Sequence[TimingRow]) -> RenderableType:
    """Return one block a deliverable, ready to be printed."""
    blocks: list[RenderableType] = [Text(edition.speed_map.film, style="bold"), Text()]
    for name, inside in groupby(rows, key=lambda row: row.deliverable):
        mine = list(inside)
        blocks.append(Text.assemble((name, "bold"), f"   version {mine[0].version}"))
        blocks.append(Padding(_block(mine), (0, 0, 1, 2)))
    return Group(*blocks)


def _block(rows: Iterable[TimingRow]) -> Table:
    table = Table(box=box.SIMPLE_HEAD, pad_edge=False, padding=(0, 2, 0, 0))
    for name in ("timecode", "true time", "lasts", "feet"):
        table.add_column(name, justify="right", no_wrap=True)
    for name in ("shot", "kind", "name"):
        table.add_column(name, overflow="fold")
    for row in rows:
        table.add_row(
            row.timecode or "",
            clock(row.seconds),
            "" if row.lasts is None else f"{float(row.lasts):.3f} s",
            row.feet or "",
            f"{row.reel}/{row.shot}" if row.shot else row.reel,
            row.kind,
            Text(row.name),
        )
    return table


def write_timing_csv(rows: Iterable[TimingRow], to: TextIO) -> None:
    """Write the rows as CSV, the columns' names first; seconds are decimals to the microsecond."""
    writer = csv.writer(to, lineterminator="\n")
    writer.writerow(_COLUMNS)
    for row in rows:
        told = {**_told(row), "seconds": f"{float(row.seconds):.{_PLACES}f}"}
        told["lasts"] = "" if row.lasts is None else f"{float(row.lasts):.{_PLACES}f}"
        writer.writerow(["" if told[name] is None else told[name] for name in _COLUMNS])


def write_timing_json(edition: Edition, rows: Iterable[TimingRow], to: TextIO) -> None:
    """Write the rows as JSON; seconds are exact fractions."""
    told = [
        {
            **_told(row),
            **said(seconds=row.seconds),
            "lasts": None if row.lasts is None else said(seconds=row.lasts),
        }
        for row in rows
    ]
    document = {
        "format": FORMAT,
        "film": edition.speed_map.film,
        "map_sha256": edition.speed_map.sha256,
        "rows": told,
    }
    json.dump(document, to, ensure_ascii=False, indent=1)
    to.write("\n")


def _told(row: TimingRow) -> dict[str, Any]:
    return {name: getattr(row, name) for name in _COLUMNS}
