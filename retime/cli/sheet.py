"""``retime sheet``: sheets to work by, one sheet a kind."""

from __future__ import annotations

from enum import StrEnum
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from retime.cli.screen import SCREEN
from retime.errors import CommandError

if TYPE_CHECKING:
    from retime.edition.edition import Edition

__all__ = ["sheet"]


class Kind(StrEnum):
    """Which sheet."""

    TIMING = "timing"
    BENCH = "bench"
    SPEED = "speed"


class Format(StrEnum):
    """How it is told."""

    TABLE = "table"
    CSV = "csv"
    JSON = "json"


def sheet(
    speed_map: Annotated[Path, typer.Argument(metavar="MAP", help="The speed map.")],
    kind: Annotated[
        Kind,
        typer.Argument(
            metavar="KIND",
            help="timing: when every title, shot and chapter comes in a deliverable, and for how "
            "long. bench: every reel shot by shot, to read while winding. speed: the speeds of "
            "a version by reel and foot, for a live show.",
        ),
    ],
    names: Annotated[
        list[str] | None,
        typer.Argument(
            metavar="NAME",
            help="Of which deliverables, or for bench and speed of which versions; all if none "
            "is named.",
        ),
    ] = None,
    output_format: Annotated[
        Format, typer.Option("--format", help="A table to read, or CSV or JSON for programs.")
    ] = Format.TABLE,
) -> None:
    """Print a sheet to work by: cues, bench or live show.

    When shots and titles come, where they lie on the film, how fast they run: for those who work
    to the picture, and for those who have the film in their hands. A speed here is no instruction
    for a projector.
    """
    from retime.edition.join import join

    if kind is Kind.TIMING:
        edition = join(speed_map, names or ())
    else:
        edition = join(speed_map, every_version=True)
        _known(edition, names or [])
    SCREEN.warn(edition.warnings)
    makers = {Kind.TIMING: _timing, Kind.BENCH: _bench, Kind.SPEED: _speed}
    makers[kind](edition, names or list(edition.speed_map.versions), output_format)


def _known(edition: Edition, names: list[str]) -> None:
    from retime.yamldoc.quoting import suggestion

    known = edition.speed_map.versions
    for name in names:
        if name not in known:
            hint = suggestion(name, known)
            raise CommandError(f"the map has no version {name!r}", hint)


def _timing(edition: Edition, _names: list[str], output_format: Format) -> None:
    import sys

    from retime.follow.timing import timing_rows
    from retime.report.timing import timing_table, write_timing_csv, write_timing_json

    rows = list(timing_rows(edition))
    match output_format:
        case Format.TABLE:
            SCREEN.result(timing_table(edition, rows))
        case Format.CSV:
            write_timing_csv(rows, sys.stdout)
        case Format.JSON:
            write_timing_json(edition, rows, sys.stdout)


def _bench(edition: Edition, names: list[str], output_format: Format) -> None:
    import sys

    from retime.report.bench import bench_rows
    from retime.report.bench_sheet import bench_table, write_bench_csv, write_bench_json

    rows = list(bench_rows(edition, names))
    match output_format:
        case Format.TABLE:
            SCREEN.result(bench_table(edition, rows))
        case Format.CSV:
            write_bench_csv(rows, sys.stdout)
        case Format.JSON:
            write_bench_json(edition, rows, sys.stdout)


def _speed(edition: Edition, names: list[str], output_format: Format) -> None:
    import sys

    from retime.report.show_speeds import CAUTION, show_speeds
    from retime.report.speed_sheet import speed_table, write_speed_csv, write_speed_json

    reels = list(show_speeds(edition, names))
    match output_format:
        case Format.TABLE:
            SCREEN.result(speed_table(edition, reels))
        case Format.CSV:
            SCREEN.complain(CAUTION)  # also to whom is quiet: a table has no room for it
            write_speed_csv(reels, sys.stdout)
        case Format.JSON:
            write_speed_json(edition, reels, sys.stdout)
