"""``retime weigh``: what the evidence says about the speed."""

from __future__ import annotations

from enum import StrEnum
from os.path import realpath
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from retime.cli.screen import SCREEN

if TYPE_CHECKING:
    from retime.evidence.model import Evidence
    from retime.evidence.weighing import Weighing

__all__ = ["weigh"]


class Format(StrEnum):
    """How a weighing is told."""

    TABLE = "table"
    JSON = "json"
    HTML = "html"


def weigh(
    evidence: Annotated[Path, typer.Argument(metavar="EVIDENCE", help="The file of evidence.")],
    output_format: Annotated[
        Format,
        typer.Option("--format", help="A table to read, JSON for programs, or a page to keep."),
    ] = Format.TABLE,
    output: Annotated[
        Path | None,
        typer.Option("-o", "--output", metavar="FILE", help="Write it here; a page has to be."),
    ] = None,
    draft: Annotated[
        Path | None,
        typer.Option(
            "--draft-map",
            metavar="FILE",
            help="Write a speed map to start from: a version for each speed worth presenting.",
        ),
    ] = None,
    force: Annotated[
        bool, typer.Option("--force", help="Overwrite files that are there already.")
    ] = False,
) -> None:
    """Tell what the evidence says about the speed of a film.

    For the speed at which it was taken, that at which it was shown, and that at which it looks
    right: which candidates are supported, by how much, and what that hangs on.
    """
    from retime.cli.result_file import check_result, write_result
    from retime.errors import CommandError
    from retime.evidence.reading import load
    from retime.evidence.weighing import weigh as weighed

    if output_format is Format.HTML and output is None:
        raise CommandError("a page goes into a file", "name it with -o, such as -o weighing.html")
    if output is not None and draft is not None and realpath(output) == realpath(draft):
        raise CommandError(f"-o and --draft-map both name {output}", "name two files")
    given = load(evidence)
    files = [path for path in (output, draft) if path is not None]
    for path in files:
        check_result(path, _inputs(given), force=force)
    SCREEN.warn(given.remarks)
    found = weighed(given)
    texts: dict[Path, str] = {}
    if draft is not None:
        from retime.report.draft_map import draft_map

        texts[draft] = draft_map(given, found, draft)
    if output is not None:
        texts[output] = _text(given, found, output_format)
    for path, text in texts.items():
        write_result(path, text)
    if output is None:
        _print(given, found, output_format)
    for path in texts:
        SCREEN.say(f"{path}: written")


def _inputs(given: Evidence) -> set[Path]:
    """Return the files that evidence was read from."""
    found = {given.tree.path}
    if given.speed_map is not None:
        found.add(given.speed_map.tree.path)
        found |= {shot.where.of().path for shot in given.speed_map.shots}
    return found


def _text(given: Evidence, found: Weighing, output_format: Format) -> str:
    """Return what goes into a file."""
    match output_format:
        case Format.JSON:
            return _json(given, found)
        case Format.HTML:
            from retime.report.weighing_page import weighing_page

            return weighing_page(given, found)
        case Format.TABLE:
            from retime.cli.result_file import table_text
            from retime.report.weighing_table import weighing_tables

            return table_text(weighing_tables(given, found))


def _json(given: Evidence, found: Weighing) -> str:
    import json

    from retime.report.weighing_values import weighing_values

    return json.dumps(weighing_values(given, found), indent=1, ensure_ascii=False) + "\n"


def _print(given: Evidence, found: Weighing, output_format: Format) -> None:
    if output_format is Format.JSON:
        typer.echo(_json(given, found), nl=False)
        return
    from retime.report.weighing_table import weighing_tables

    SCREEN.result(weighing_tables(given, found))
