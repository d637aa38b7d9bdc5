"""``retime report``: runtime, cadence and drift of every deliverable."""

from __future__ import annotations

from enum import StrEnum
from pathlib import Path
from typing import Annotated

import typer

from retime.cli.screen import SCREEN

__all__ = ["report"]


class Format(StrEnum):
    """How the report is told."""

    TABLE = "table"
    JSON = "json"


def report(
    speed_map: Annotated[Path, typer.Argument(metavar="MAP", help="The speed map.")],
    output_format: Annotated[
        Format, typer.Option("--format", help="For people, or for programs.")
    ] = Format.TABLE,
) -> None:
    """Tell runtime, cadence and drift of every deliverable."""
    from retime.edition.join import join

    edition = join(speed_map)
    SCREEN.warn(edition.warnings)
    if output_format is Format.JSON:
        import json

        from retime.report.values import report_values

        typer.echo(json.dumps(report_values(edition), indent=1, ensure_ascii=False))
        return
    from retime.report.table import report_tables

    SCREEN.result(report_tables(edition))
