"""``retime lists``: what was decided, as lists for the cutting room."""

from __future__ import annotations

from enum import StrEnum
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from retime.cli.screen import SCREEN

if TYPE_CHECKING:
    from collections.abc import Iterable

    from retime.edition.edition import Edition, Making

__all__ = ["lists"]


class Form(StrEnum):
    """What kind of list."""

    EDL = "edl"
    EDL_RUNS = "edl-runs"
    OTIO = "otio"
    CSV = "csv"


def lists(
    speed_map: Annotated[Path, typer.Argument(metavar="MAP", help="The speed map.")],
    deliverables: Annotated[
        list[str] | None,
        typer.Argument(metavar="DELIVERABLE", help="Of which; all if none is named."),
    ] = None,
    output: Annotated[
        Path, typer.Option("-o", "--output", metavar="DIR", help="The folder to write them in.")
    ] = ...,  # type: ignore[assignment] # typer's mark for an option that must be given
    form: Annotated[
        Form,
        typer.Option(
            "--as",
            help="edl: CMX 3600 with M2 speed lines, one list a reel. edl-runs: one event a run "
            "of repeats, so that every output frame is ours. otio: OpenTimelineIO. csv: one row "
            "a stretch, exact.",
        ),
    ] = Form.EDL,
    force: Annotated[
        bool, typer.Option("--force", help="Overwrite lists that are there already.")
    ] = False,
) -> None:
    """Write deliverables as lists for the cutting room.

    In an EDL the record has the deliverable's own labels; the source counts frames of the scan
    from 00:00:00:00, non-drop, at the same nominal rate. An M2 line says source frames a second
    of record time with one decimal; what it cannot say exactly is told in the list and here, with
    the error in film frames. A list numbers 999 events; more go into further lists.
    """
    from retime.cli.folder_files import made_folder
    from retime.cli.result_file import check_result, write_result
    from retime.edition.join import join
    from retime.errors import CommandError

    edition = join(speed_map, deliverables or ())
    SCREEN.warn(edition.warnings)
    if not edition.makings:
        raise CommandError(f"{speed_map} names no deliverables", "there is nothing to list")
    texts: dict[Path, str] = {}
    told: list[str] = []
    for making in edition.makings:
        stem = f"{edition.speed_map.film}-{making.name}"
        for ending, text, said in _lists_of(edition, making, form):
            path = output / f"{stem}{ending}"
            texts[path] = text
            told += [f"{path.name}: {one}" for one in said]
    shots = {shot.where.of().path for shot in edition.speed_map.shots}
    with made_folder(output):
        for path in texts:
            check_result(path, (speed_map, *shots), force=force)
        for path, text in texts.items():
            write_result(path, text)
    for line in told:
        SCREEN.say(line)
    for path in texts:
        typer.echo(path)


def _lists_of(
    edition: Edition, making: Making, form: Form
) -> Iterable[tuple[str, str, tuple[str, ...]]]:
    """Yield what each list's name ends in, its text, and what is to be told of it."""
    from retime.lists.edl_making import edl_files
    from retime.lists.edl_writing import edl_text
    from retime.lists.strip_table import strip_table
    from retime.report.lists_out import programme_of, runs_of

    runs = form is Form.EDL_RUNS
    programme = runs_of(edition, making) if runs else programme_of(edition, making)
    notes = []
    if programme.blended:
        notes.append("its frames are mixed of several; the list tells the speeds alone")
    if programme.woven:
        notes.append(
            f"{programme.woven} frames hold fields of two film frames; the first field's is named"
        )
    match form:
        case Form.CSV:
            yield ".csv", strip_table(programme), tuple(notes)
        case Form.OTIO:
            from retime.lists.otio_writing import otio_text

            yield ".otio", otio_text(programme), tuple(notes)
        case _:
            for one in edl_files(programme, runs=runs):
                kind = "runs" if runs else ""
                ending = f"-{one.ending}{'-' if kind else ''}{kind}.edl"
                yield ending, edl_text(one.edl), (*notes, *one.told)
                notes = []
