"""The bench sheet as a table, as CSV and as JSON (``retime-bench/1``)."""

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

from retime.report.film_runs import run_said, run_told
from retime.report.numbers import decimal, said

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence
    from typing import TextIO

    from rich.console import RenderableType

    from retime.edition.edition import Edition
    from retime.report.bench import BenchRow

__all__ = ["FORMAT", "bench_table", "write_bench_csv", "write_bench_json"]

FORMAT = "retime-bench/1"
_COLUMNS = (
    "version", "reel", "feet", "length", "first", "last", "shot", "kind", "name", "fps", "lasts",
    "remark",
)  # fmt: skip
_PLACES = 6


def bench_table(edition: Edition, rows: Sequence[BenchRow]) -> RenderableType:
    """Return one block a version and reel, ready to be printed."""
    blocks: list[RenderableType] = [Text(edition.speed_map.film, style="bold"), Text()]
    for (version, reel), inside in groupby(rows, key=lambda row: (row.version, row.reel)):
        blocks.append(Text.assemble((f"reel {reel}", "bold"), f"   version {version}"))
        blocks.append(Padding(_block(inside), (0, 0, 0, 2)))
    return Group(*blocks)


def _block(rows: Iterable[BenchRow]) -> Table:
    table = Table(box=box.SIMPLE_HEAD, pad_edge=False, padding=(0, 2, 0, 0))
    for name in ("feet", "length"):
        table.add_column(name, justify="right", no_wrap=True)
    for name in ("shot", "kind", "fps"):
        table.add_column(name, overflow="fold")
    table.add_column("on screen", justify="right", no_wrap=True)
    for name in ("name", "remark"):
        table.add_column(name, overflow="fold")
    for row in rows:
        table.add_row(
            row.feet,
            row.length,
            Text(row.shot),
            row.kind,
            _speeds(row),
            "" if row.lasts is None else f"{decimal(row.lasts, 3)} s",
            Text(row.name),
            row.remark,
        )
    return table


def _speeds(row: BenchRow) -> str:
    return ", ".join(dict.fromkeys(map(run_said, row.runs)))


def write_bench_csv(rows: Iterable[BenchRow], to: TextIO) -> None:
    """Write the rows as CSV, the columns' names first; seconds are decimals to the microsecond."""
    writer = csv.writer(to, lineterminator="\n")
    writer.writerow(_COLUMNS)
    for row in rows:
        lasts = "" if row.lasts is None else decimal(row.lasts, _PLACES)
        told = {**_told(row), "fps": _speeds(row), "lasts": lasts}
        writer.writerow([told[name] for name in _COLUMNS])


def write_bench_json(edition: Edition, rows: Iterable[BenchRow], to: TextIO) -> None:
    """Write the rows as JSON; speeds and seconds are exact fractions."""
    document = {
        "format": FORMAT,
        "film": edition.speed_map.film,
        "map_sha256": edition.speed_map.sha256,
        "rows": [
            {
                **_told(row),
                "fps": [run_told(run) for run in row.runs],
                "lasts": None if row.lasts is None else said(seconds=row.lasts),
            }
            for row in rows
        ],
    }
    json.dump(document, to, ensure_ascii=False, indent=1)
    to.write("\n")


def _told(row: BenchRow) -> dict[str, Any]:
    return {name: getattr(row, name) for name in _COLUMNS if name != "fps"}
