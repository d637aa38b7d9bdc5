"""``retime pace``: how many film frames a movement takes, and the speed that this implies."""

from __future__ import annotations

from enum import StrEnum
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, TypeVar

import typer

from retime.cli.screen import SCREEN
from retime.errors import CommandError, Exit

if TYPE_CHECKING:
    from collections.abc import Callable

    from retime.pace.counting import Paced
    from retime.pace.motion import Motion
    from retime.report.pace_schema import PaceTold
    from retime.report.paced import Seen
    from retime.signal.period import Unclear

__all__ = ["pace"]

_Value = TypeVar("_Value")

_TRY = (
    "try a closer box (the legs alone), let it go along with --box-to, take more frames of one "
    "shot, or mark frames by hand with --marks"
)
_TRY_FALL = (
    "let the box hold the whole way down and little else, take frames from before it is let go "
    "until it lies, or mark both by hand with --marks"
)
_TRY_MARKS = "mark the frame of each step or swing, without leaving any out"


class Format(StrEnum):
    """How the answer is told."""

    TABLE = "table"
    JSON = "json"


def pace(  # noqa: PLR0913 - options, all by name
    scan: Annotated[Path, typer.Argument(metavar="SCAN", help="A movie, or numbered files.")],
    *,
    first: Annotated[
        int | None, typer.Option("--from", min=0, metavar="FRAME", help="The first frame, from 0.")
    ] = None,
    last: Annotated[
        int | None, typer.Option("--to", min=0, metavar="FRAME", help="The last frame, included.")
    ] = None,
    box: Annotated[
        str | None,
        typer.Option(metavar="X,Y,WIDTH,HEIGHT", help="Where the movement is; all if not said."),
    ] = None,
    box_to: Annotated[
        str | None,
        typer.Option(metavar="X,Y,WIDTH,HEIGHT", help="Where the box has gone by the last frame."),
    ] = None,
    marks: Annotated[
        str | None,
        typer.Option(
            metavar="FRAME,FRAME...",
            help="Frames marked by hand, one a period, instead of measuring: 12,21.5,30.",
        ),
    ] = None,
    motion: Annotated[
        str | None,
        typer.Option(
            metavar="MOTION",
            help='What moves: walk, run, march, horse trot..., "pendulum 0.99 m within 1 %", '
            '"fall 4.9 m within 2 %".',
        ),
    ] = None,
    item_id: Annotated[
        str | None, typer.Option("--id", metavar="NAME", help="The name of the evidence item.")
    ] = None,
    output_format: Annotated[
        Format, typer.Option("--format", help="For people, or for programs.")
    ] = Format.TABLE,
) -> None:
    """Measure how many film frames a period of a movement takes.

    A step, a swing or a fall, in the pictures of a scan or by frames marked by hand; with what it
    takes in life, by a table with sources, it tells how fast the film was taken. At the end stands
    an item for an evidence file. Exit code 1 where no period can be told.
    """
    from retime.pace.item import parse_id
    from retime.pace.motion import parse_motion

    name = _read("--id", parse_id, item_id)
    moving = _read("--motion", parse_motion, motion)
    falls = moving is not None and moving.falls
    if marks is not None:
        _alone({"--from": first, "--to": last, "--box": box, "--box-to": box_to})
        _tell(*_by_marks(scan, marks, moving, name), _TRY_MARKS, output_format)
        return
    if box_to is not None and (box is None or falls):
        hint = "a fall is looked for in a box that stays" if falls else "say --box too"
        raise CommandError("--box-to says where a box goes, and there is none that may", hint)
    found = _by_pictures(scan, (first, last), (box, box_to), moving, name)
    _tell(*found, _TRY_FALL if falls else _TRY, output_format)


def _by_marks(
    scan: Path, marks: str, motion: Motion | None, name: str | None
) -> tuple[Seen, Paced | Unclear]:
    """Return what was marked, and the frames to a period by that; nothing is decoded."""
    from retime.media.countcache import users_cache
    from retime.pace.item import default_id
    from retime.pace.marking import marked, parse_marks
    from retime.report.paced import Seen

    texts, frames = _read("--marks", parse_marks, marks) or ((), ())
    found = marked(scan, frames, motion, cache=users_cache())
    seen = Seen(
        scan=scan.name,
        id=name or default_id(scan.stem, texts[0], texts[-1]),
        first=0,
        last=0,
        marks=texts,
        motion=motion,
    )
    return seen, found


def _by_pictures(
    scan: Path,
    frames: tuple[int | None, int | None],
    boxes: tuple[str | None, str | None],
    motion: Motion | None,
    name: str | None,
) -> tuple[Seen, Paced | Unclear]:
    """Return what was looked at, and the frames to a period by the pictures."""
    from retime.light.raster import parse_area
    from retime.media.countcache import users_cache
    from retime.pace.item import default_id
    from retime.pace.measuring import look_at, measured
    from retime.report.paced import Seen

    box, box_to = (
        _read(option, parse_area, text)
        for option, text in zip(("--box", "--box-to"), boxes, strict=True)
    )
    look = look_at(scan, frames, (box, box_to), cache=users_cache())
    seen = Seen(
        scan=scan.name,
        id=name or default_id(scan.stem, look.first, look.last),
        first=look.first,
        last=look.last,
        box=box,
        box_to=box_to,
        motion=motion,
    )
    return seen, measured(look, motion)


def _tell(seen: Seen, found: Paced | Unclear, hint: str, output_format: Format) -> None:
    """Print what was found; end with 1 where that is nothing."""
    from retime.report.paced import pace_item, pace_table, pace_values, refused_values
    from retime.signal.period import Unclear

    if isinstance(found, Unclear):
        if output_format is Format.JSON:
            _print_json(refused_values(seen, found.reason))
        SCREEN.complain(f"{seen.where}: {found.reason}; {hint}")
        raise typer.Exit(Exit.FOUND)
    if output_format is Format.JSON:
        _print_json(pace_values(seen, found))
        return
    SCREEN.result(pace_table(seen, found))
    item = pace_item(seen, found)
    if item is not None:
        typer.echo(f"\n{item}")


def _print_json(told: PaceTold) -> None:
    import json

    typer.echo(json.dumps(told, indent=1, ensure_ascii=False))


def _alone(options: dict[str, object]) -> None:
    """Refuse options that measuring takes beside marks."""
    for option, value in options.items():
        if value is not None:
            raise CommandError(
                f"--marks and {option} do not go together",
                "what is marked by hand is not measured",
            )


def _read(option: str, reader: Callable[[str], _Value], text: str | None) -> _Value | None:
    """Read an option's text, if it was given; a mistake is told with the option's name."""
    from retime.errors import NotationError

    try:
        return None if text is None else reader(text)
    except NotationError as error:
        raise CommandError(f"{option}: {error.text}", error.hint) from error
