"""``retime check``: decodes what was made by another reader, and holds it against the map."""

from __future__ import annotations

from enum import StrEnum
from pathlib import Path
from typing import Annotated

import typer

from retime.cli.screen import SCREEN
from retime.errors import Exit

__all__ = ["check"]


class Format(StrEnum):
    """How the findings are told."""

    TABLE = "table"
    JSON = "json"
    JUNIT = "junit"
    ANNOTATIONS = "annotations"


def check(
    speed_map: Annotated[Path, typer.Argument(metavar="MAP", help="The speed map.")],
    deliverables: Annotated[
        list[str] | None,
        typer.Argument(metavar="DELIVERABLE", help="Which to check; all if none is named."),
    ] = None,
    output: Annotated[
        Path, typer.Option("-o", "--output", metavar="DIR", help="The folder they were made in.")
    ] = ...,  # type: ignore[assignment] # typer's mark for an option that must be given
    output_format: Annotated[
        Format, typer.Option("--format", help="A table, or what programs and CI services read.")
    ] = Format.TABLE,
) -> None:
    """Decode what was made and hold it against the map.

    The ffmpeg program decodes, never what rendered. Exit code 1 if anything is found.
    """
    from retime.check.job import check_deliverables
    from retime.cli.progress import shown_progress
    from retime.edition.join import join
    from retime.errors import CommandError, OutputError
    from retime.render.names import final_path
    from retime.report.checked import annotated, checked_json, checked_table, junit

    edition = join(speed_map, deliverables or (), scans_needed=True)
    SCREEN.warn(edition.warnings)
    if not edition.makings:
        raise CommandError(f"{speed_map} names no deliverables", "there is nothing to check")
    if not output.is_dir():
        raise OutputError(output, "is no folder", "name the folder that they were made in")
    paths = {making.name: final_path(edition, making, output) for making in edition.makings}
    pictures = sum(scan.last - scan.reel.first + 1 for scan in edition.scans)
    pictures += sum(making.plan.total for making in edition.makings)
    with shown_progress(SCREEN) as progress:
        progress.start(pictures, "reading scans and deliverables")
        checked = list(check_deliverables(edition, paths, progress))
        progress.finish()
    match output_format:
        case Format.TABLE:
            SCREEN.result(checked_table(edition, checked))
        case Format.JSON:
            typer.echo(checked_json(edition, checked))
        case Format.JUNIT:
            typer.echo(junit(edition, checked))
        case Format.ANNOTATIONS:
            typer.echo(annotated(checked))
    if any(one.findings for one in checked):
        raise typer.Exit(Exit.FOUND)
