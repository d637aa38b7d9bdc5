"""``retime sheet``: sheets to work by, one sheet a kind."""

from __future__ import annotations

from enum import StrEnum
from pathlib import Path
from typing import Annotated

import typer

from retime.cli.screen import SCREEN

__all__ = ["sheet"]


class Kind(StrEnum):
    """Which sheet."""

    TIMING = "timing"


class Format(StrEnum):
    """How it is told."""

    TABLE = "table"
    CSV = "csv"
    JSON = "json"


def sheet(
    speed_map: Annotated[Path, typer.Argument(metavar="MAP", help="The speed map.")],
    kind: Annotated[  # noqa: ARG001 - there is one kind
        Kind,
        typer.Argument(
            metavar="KIND",
            help="timing: when every title, shot and chapter comes, and for how long.",
        ),
    ],
    deliverables: Annotated[
        list[str] | None,
        typer.Argument(metavar="DELIVERABLE", help="Of which; all if none is named."),
    ] = None,
    output_format: Annotated[
        Format, typer.Option("--format", help="A table to read, or CSV or JSON for programs.")
    ] = Format.TABLE,
) -> None:
    """Print a sheet to work by: when every shot and title comes.

    For those who work to the picture: conductors, foley crews, subtitlers.
    """
    import sys

    from retime.edition.join import join
    from retime.follow.timing import timing_rows
    from retime.report.timing import timing_table, write_timing_csv, write_timing_json

    edition = join(speed_map, deliverables or ())
    SCREEN.warn(edition.warnings)
    rows = list(timing_rows(edition))
    match output_format:
        case Format.TABLE:
            SCREEN.result(timing_table(edition, rows))
        case Format.CSV:
            write_timing_csv(rows, sys.stdout)
        case Format.JSON:
            write_timing_json(edition, rows, sys.stdout)
