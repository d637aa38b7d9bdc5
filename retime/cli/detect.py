"""``retime detect``: the cadence that is already in a transfer."""

from __future__ import annotations

from enum import StrEnum
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from retime.cli.screen import SCREEN

if TYPE_CHECKING:
    from retime.detect.detection import Detection

__all__ = ["detect"]


class Format(StrEnum):
    """How what was found is told."""

    TABLE = "table"
    JSON = "json"
    CSV = "csv"


def detect(  # noqa: PLR0913, PLR0917 - as many as the command has options
    file: Annotated[
        Path, typer.Argument(metavar="FILE", help="A movie, or numbered files such as r1/%06d.dpx.")
    ],
    output_format: Annotated[
        Format, typer.Option("--format", help="A table, JSON, or what every picture shows.")
    ] = Format.TABLE,
    output: Annotated[
        Path | None,
        typer.Option("-o", "--output", metavar="FILE", help="Write the cadence file for a map."),
    ] = None,
    picture: Annotated[
        Path | None,
        typer.Option(metavar="FILE", help="Draw the changes and what was found: .svg or .png."),
    ] = None,
    first: Annotated[
        int, typer.Option("--from", metavar="N", min=0, help="The first picture to look at.")
    ] = 0,
    last: Annotated[
        int | None, typer.Option("--to", metavar="N", min=0, help="The last picture to look at.")
    ] = None,
    force: Annotated[
        bool, typer.Option("--force", help="Overwrite files that are there already.")
    ] = False,
) -> None:
    """Find the cadence in a transfer's pictures.

    Repeats, fields, mixed pictures, what was printed twice on film, and where a cadence breaks.
    """
    from os.path import realpath

    from retime.cli.progress import shown_progress
    from retime.cli.result_file import check_result, write_result
    from retime.detect.finding import detect as found_in
    from retime.errors import CommandError

    drawn = _ending(picture) if picture is not None else ""
    if output is not None and picture is not None and realpath(output) == realpath(picture):
        raise CommandError(f"-o and --picture both name {output}", "name two files")
    for path in (output, picture):
        if path is not None:
            check_result(path, [file], force=force)
    with shown_progress(SCREEN) as progress:
        found = found_in(file, progress, first=first, last=last)
    if output is not None:
        write_result(output, _cadence(found))
    if picture is not None:
        from retime.report.detected_drawing import detected_drawing

        _write(picture, detected_drawing(found, drawn))
    _print(found, output_format)
    for path in (output, picture):
        if path is not None:
            SCREEN.say(f"{path}: written")


def _ending(picture: Path) -> str:
    from retime.errors import CommandError

    ending = picture.suffix.lower()
    if ending not in {".svg", ".png"}:
        raise CommandError(f"{picture} is no SVG and no PNG file", "end its name with .svg or .png")
    return ending


def _write(path: Path, data: bytes) -> None:
    """Write a file whole or not at all."""
    from contextlib import suppress

    from retime.errors import OutputError

    work = path.with_name(f".{path.name}.unfinished")
    try:
        work.write_bytes(data)
        work.replace(path)
    except OSError as error:
        with suppress(OSError):
            work.unlink()
        raise OutputError(path, "cannot be written", detail=error.strerror or "") from error


def _cadence(found: Detection) -> str:
    from retime.report.detected_words import overall_said, remarks
    from retime.signal.cadence_file import CadenceFile, cadence_text

    told = CadenceFile(
        scan=found.file.name,
        first=found.first,
        frames=found.frames,
        digest=found.digest,
        stretches=found.stretches,
    )
    notes = ["What retime detect found in this transfer.", overall_said(found), *remarks(found)]
    rate = None if found.rate_said is None else str(found.rate_said)
    return cadence_text(told, film_frames=found.film_frames, rate=rate, notes=notes)


def _print(found: Detection, output_format: Format) -> None:
    match output_format:
        case Format.JSON:
            import json

            from retime.report.detected_values import detected_values

            typer.echo(json.dumps(detected_values(found), indent=1, ensure_ascii=False))
        case Format.CSV:
            import sys

            from retime.report.detected import write_rows

            write_rows(found, sys.stdout)
        case Format.TABLE:
            from retime.report.detected import detected_table

            SCREEN.result(detected_table(found))
