"""``retime check``: decodes what was made by another reader, and holds it against the map."""

from __future__ import annotations

from enum import StrEnum
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from retime.cli.screen import SCREEN
from retime.errors import Exit

if TYPE_CHECKING:
    from collections.abc import Sequence

    from retime.check.fingerprint import Record
    from retime.check.result import Checked
    from retime.edition.edition import Edition

__all__ = ["check"]


class Format(StrEnum):
    """How the findings are told."""

    TABLE = "table"
    JSON = "json"
    JUNIT = "junit"
    ANNOTATIONS = "annotations"


def check(  # noqa: PLR0913, PLR0917 - as many as the command has options
    target: Annotated[
        Path, typer.Argument(metavar="MAP", help="The speed map; with --flashes any movie too.")
    ],
    deliverables: Annotated[
        list[str] | None,
        typer.Argument(metavar="DELIVERABLE", help="Which to check; all if none is named."),
    ] = None,
    output: Annotated[
        Path | None,
        typer.Option("-o", "--output", metavar="DIR", help="The folder they were made in."),
    ] = None,
    output_format: Annotated[
        Format,
        typer.Option(
            "--format", metavar="FORMAT", help="table; or json, junit, annotations for programs."
        ),
    ] = Format.TABLE,
    record: Annotated[
        Path | None, typer.Option(metavar="FILE", help="Write the fingerprint of what is checked.")
    ] = None,
    against: Annotated[
        Path | None, typer.Option(metavar="FILE", help="Hold it against a fingerprint, too.")
    ] = None,
    flashes: Annotated[
        bool,
        typer.Option(
            "--flashes", help="Look for too many flashes instead: an aid, no certificate."
        ),
    ] = False,
    chart: Annotated[
        Path | None, typer.Option(metavar="FILE.svg", help="Draw the flashes of every second.")
    ] = None,
    force: Annotated[
        bool, typer.Option("--force", help="Overwrite a fingerprint or a chart that is there.")
    ] = False,
) -> None:
    """Decode what was made and hold it against the map.

    The ffmpeg program decodes, never what rendered. Exit code 1 if anything is found.
    """
    if flashes:
        from retime.cli.flashing import check_flashes

        _refuse_beside_flashes(output=output, record=record, against=against)
        check_flashes(target, output_format, chart, wanted=deliverables or (), force=force)
        return
    from retime.check.job import check_deliverables
    from retime.check.reference import held_against, recorded_text
    from retime.cli.progress import shown_progress
    from retime.cli.result_file import check_result, write_result
    from retime.edition.join import join
    from retime.errors import CommandError, OutputError
    from retime.findings import Severity
    from retime.render.names import final_path

    if chart is not None:
        raise CommandError("--chart is for flashes", "add --flashes, or leave it out")
    if output is None:
        raise CommandError("-o is missing", "name the folder that the deliverables were made in")
    edition = join(target, deliverables or (), scans_needed=True)
    SCREEN.warn(edition.warnings)
    if not edition.makings:
        raise CommandError(f"{target} names no deliverables", "there is nothing to check")
    if not output.is_dir():
        raise OutputError(output, "is no folder", "name the folder that they were made in")
    paths = {making.name: final_path(edition, making, output) for making in edition.makings}
    if record is not None:
        check_result(record, (target, *paths.values()), force=force)
    records: list[Record] | None = None if record is None and against is None else []
    with shown_progress(SCREEN) as progress:
        progress.start(_pictures(edition), "reading scans and deliverables")
        checked = list(check_deliverables(edition, paths, progress, keep=records))
        progress.finish()
    if against is not None:
        checked, notes = held_against(against, edition, checked, records or [])
        SCREEN.warn(notes)
    _tell(edition, checked, output_format)
    if record is not None:
        write_result(record, recorded_text(edition, records or []))
    errors = (one for made in checked for one in made.findings)
    if any(one.severity is Severity.ERROR for one in errors):
        raise typer.Exit(Exit.FOUND)


def _refuse_beside_flashes(**given: Path | None) -> None:
    from retime.errors import CommandError

    for name, value in given.items():
        if value is not None:
            option = "-o" if name == "output" else f"--{name}"
            raise CommandError(f"{option} is not for --flashes", "leave it out")


def _pictures(edition: Edition) -> int:
    """Return how many pictures there are to be read, at most."""
    scanned = sum(scan.held for scan in edition.scans)
    return scanned + sum(making.plan.total for making in edition.makings)


def _tell(edition: Edition, checked: Sequence[Checked], output_format: Format) -> None:
    from retime.report.checked import annotated, checked_json, checked_table, junit

    match output_format:
        case Format.TABLE:
            SCREEN.result(checked_table(edition, checked))
        case Format.JSON:
            typer.echo(checked_json(edition, checked))
        case Format.JUNIT:
            typer.echo(junit(edition, checked))
        case Format.ANNOTATIONS:
            typer.echo(annotated(checked))
