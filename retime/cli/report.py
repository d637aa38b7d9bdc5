"""``retime report``: runtime, cadence and drift of every deliverable."""

from __future__ import annotations

from enum import StrEnum
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from retime.cli.screen import SCREEN

if TYPE_CHECKING:
    from retime.edition.edition import Edition

__all__ = ["report"]


class Format(StrEnum):
    """How the report is told."""

    TABLE = "table"
    JSON = "json"
    HTML = "html"


def report(
    speed_map: Annotated[Path, typer.Argument(metavar="MAP", help="The speed map.")],
    output_format: Annotated[
        Format,
        typer.Option("--format", help="A table to read, JSON for programs, or a page to keep."),
    ] = Format.TABLE,
    output: Annotated[
        Path | None,
        typer.Option("-o", "--output", metavar="FILE", help="Write it here."),
    ] = None,
    force: Annotated[
        bool, typer.Option("--force", help="Overwrite a file that is there already.")
    ] = False,
) -> None:
    """Tell runtime, cadence and drift of every deliverable.

    As a table, as JSON, or as one page of HTML that needs nothing beside it.
    """
    from retime.edition.join import join

    edition = join(speed_map)
    if output is not None:
        from retime.cli.result_file import check_result, write_result

        check_result(output, _inputs(edition), force=force)
        SCREEN.warn(edition.warnings)
        write_result(output, _text(edition, output_format))
        SCREEN.say(f"{output}: written")
        return
    SCREEN.warn(edition.warnings)
    if output_format is Format.TABLE:
        from retime.report.table import report_tables

        SCREEN.result(report_tables(edition))
        return
    typer.echo(_text(edition, output_format), nl=False)


def _inputs(edition: Edition) -> set[Path]:
    """Return the files that an edition was read from."""
    speed_map = edition.speed_map
    shots = {shot.where.of().path for shot in speed_map.shots}
    plates = {speed_map.folder / address for address in edition.plates}
    scans = {speed_map.folder / scan.reel.scan for scan in edition.scans}
    return {speed_map.tree.path} | shots | plates | scans


def _text(edition: Edition, output_format: Format) -> str:
    """Return what goes into a file."""
    match output_format:
        case Format.JSON:
            import json

            from retime.report.values import report_values

            return json.dumps(report_values(edition), indent=1, ensure_ascii=False) + "\n"
        case Format.HTML:
            from retime.report.edition_page import edition_page

            return edition_page(edition)
        case Format.TABLE:
            from retime.cli.result_file import table_text
            from retime.report.table import report_tables

            return table_text(report_tables(edition))
