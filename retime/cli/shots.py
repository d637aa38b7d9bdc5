"""``retime shots``: lists of the cutting room, as the map's table of shots."""

from __future__ import annotations

from enum import StrEnum
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from retime.cli.screen import SCREEN

if TYPE_CHECKING:
    from retime.lists.listed import ShotList
    from retime.lists.terms import Terms

__all__ = ["shots"]


class Form(StrEnum):
    """What kind of list it is."""

    EDL = "edl"
    OTIO = "otio"
    CSV = "csv"
    TSV = "tsv"
    PLAIN = "plain"


class Times(StrEnum):
    """Which side of an EDL tells the frames of the scan."""

    SOURCE = "source"
    RECORD = "record"


class Convention(StrEnum):
    """How feet turn into frames."""

    NOMINAL = "nominal"
    PITCH = "pitch"


_ENDINGS = {".edl": Form.EDL, ".otio": Form.OTIO, ".csv": Form.CSV, ".tsv": Form.TSV}


def shots(  # noqa: PLR0913 - options, all by name
    lists: Annotated[
        list[Path],
        typer.Argument(
            metavar="LIST...",
            help="EDL, OTIO, CSV or TSV by their endings; anything else is a plain list.",
        ),
    ],
    *,
    output: Annotated[
        Path | None,
        typer.Option("-o", "--output", metavar="FILE", help="The table; else it is printed."),
    ] = None,
    form: Annotated[
        Form | None, typer.Option("--as", help="What the lists are, whatever their endings.")
    ] = None,
    speed_map: Annotated[
        Path | None,
        typer.Option("--map", metavar="MAP", help="Take reels, gauge and footage from this map."),
    ] = None,
    reels: Annotated[
        list[str] | None,
        typer.Option(
            "--reel",
            metavar="[LISTED=]REEL",
            help="001=1: what the list calls 001 is our reel 1. 1 alone: all of it is of reel 1.",
        ),
    ] = None,
    rate: Annotated[
        str | None,
        typer.Option(help="The rate that labels count: 24, 25, 29.97. No EDL says its own."),
    ] = None,
    times: Annotated[
        Times,
        typer.Option(
            help="source: the list was cut on the scan, whose labels are its source times. "
            "record: it was made of a transfer of the reel, whose labels are its record times."
        ),
    ] = Times.SOURCE,
    speed: Annotated[
        str | None,
        typer.Option(
            help="The labels are of a transfer at this speed, film frames being repeated in it. "
            "Without it every frame of what they label is a film frame."
        ),
    ] = None,
    starts: Annotated[
        list[str] | None,
        typer.Option(
            "--start",
            metavar="[REEL=]LABEL",
            help="The label of the scan's frame 0; 00:00:00:00 if none is given.",
        ),
    ] = None,
    zeros: Annotated[
        list[str] | None,
        typer.Option(
            "--zero",
            metavar="[REEL=]FRAME",
            help="The scan frame at which feet count 0+00; the reel's first of picture else.",
        ),
    ] = None,
    gauge: Annotated[str | None, typer.Option(help="35mm, 16mm, 9.5mm, 8mm, super 8...")] = None,
    footage: Annotated[
        Convention | None, typer.Option(help="Frames to the foot, or frame pitch.")
    ] = None,
    force: Annotated[
        bool, typer.Option("--force", help="Overwrite the table if it is there already.")
    ] = False,
) -> None:
    """Turn lists of cuts into the table of shots that a map reads.

    Shots are frames of the scan, so an EDL is read by its source times: a list of a film's cuts
    is made on its scan. Where it was made on a transfer, say --times record, and --speed if that
    transfer repeats film frames. Whatever could not be carried over is told.
    """
    from retime.cli.list_terms import terms_of
    from retime.cli.result_file import check_result, write_result
    from retime.lists.collecting import collected
    from retime.lists.shot_table import shot_table

    inputs = [*lists, *([speed_map] if speed_map else [])]
    if output is not None:
        check_result(output, inputs, force=force)
    terms = terms_of(
        speed_map,
        reels or (),
        rate=rate,
        times=times,
        speed=speed,
        starts=starts or (),
        zeros=zeros or (),
        gauge=gauge,
        footage=footage,
    )
    read = [_read_list(path, form, terms) for path in lists]
    for one in read:
        SCREEN.warn(one.findings)
    table, odd = collected(read, lists[0], terms)
    SCREEN.warn(odd)
    text = shot_table(table)
    if output is None:
        typer.echo(text, nl=False)
        return
    write_result(output, text)
    SCREEN.say(f"{output}: {len(table)} {'shot' if len(table) == 1 else 'shots'}")


def _read_list(path: Path, form: Form | None, terms: Terms) -> ShotList:
    from retime.errors import CommandError
    from retime.lists.edl_reading import read_edl
    from retime.lists.edl_shots import edl_shots
    from retime.lists.otio_reading import read_otio
    from retime.lists.plain_lists import read_plain
    from retime.lists.tables import read_table
    from retime.lists.terms import Side
    from retime.yamldoc.reading import read_bytes

    kind = form or _ENDINGS.get(path.suffix.lower(), Form.PLAIN)
    data = read_bytes(path)
    if terms.side is Side.RECORD and kind is not Form.EDL:
        raise CommandError(f"--times record is for EDLs, and {path} is {kind}", "leave it out")
    match kind:
        case Form.EDL:
            if terms.rate is None:
                hint = "say --rate 24, or whatever its labels count"
                raise CommandError(f"{path}: an EDL does not say its rate", hint)
            return edl_shots(read_edl(data, path, terms.rate), path, terms)
        case Form.OTIO:
            return read_otio(data, path, terms)
        case Form.PLAIN:
            return read_plain(data, path, terms)
        case _:
            return read_table(data, path, terms, tabs=kind is Form.TSV)
