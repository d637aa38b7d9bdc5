"""The ``retime`` program: its commands, its exit codes, and no traceback for a user."""

from __future__ import annotations

import gc
import os
import sys
from contextlib import suppress
from functools import cache
from typing import TYPE_CHECKING, Annotated, NoReturn

import typer
from typer.main import get_command

from retime import __version__
from retime.cli.check import check
from retime.cli.commands import Commands
from retime.cli.compare import compare
from retime.cli.detect import detect
from retime.cli.ending import exit_code
from retime.cli.frames import frames
from retime.cli.lint import lint
from retime.cli.lists import lists
from retime.cli.merge_shots import merge_shots
from retime.cli.new import new
from retime.cli.pace import pace
from retime.cli.preview import preview
from retime.cli.profiles import profiles
from retime.cli.reckon import reckon
from retime.cli.render import render
from retime.cli.report import report
from retime.cli.schema import schema
from retime.cli.screen import SCREEN
from retime.cli.set import set_speed
from retime.cli.sheet import sheet
from retime.cli.shots import shots
from retime.cli.split_shot import split_shot
from retime.cli.weigh import weigh
from retime.errors import Exit
from retime.interrupts import heed_signals

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable

__all__ = ["app", "program", "run"]

_BEFORE_A_NAME = ("--quiet", "--no-color")  # options after which a command may be named
_MADE_BEFORE_A_LOOK = 50_000  # objects; Python would look for circles after 700

_COMMANDS: tuple[Callable[..., None], ...] = (
    new,
    weigh,
    pace,
    preview,
    lint,
    set_speed,
    merge_shots,
    split_shot,
    report,
    compare,
    frames,
    render,
    check,
    detect,
    sheet,
    lists,
    shots,
    reckon,
    profiles,
    schema,
)


def _version(asked: bool) -> None:
    if asked:
        typer.echo(f"retime {__version__}")
        raise typer.Exit


def _options(
    quiet: Annotated[bool, typer.Option("--quiet", help="Only results and errors.")] = False,
    no_color: Annotated[bool, typer.Option("--no-color", help="No colours.")] = False,
    version: Annotated[  # noqa: ARG001 - typer calls back
        bool, typer.Option("--version", callback=_version, is_eager=True, help="Tell the version.")
    ] = False,
) -> None:
    """Take the options that hold for every command."""
    SCREEN.quiet, SCREEN.color = quiet, not no_color


def _name(command: Callable[..., None]) -> str:
    return "set" if command is set_speed else command.__name__.replace("_", "-")


def _made(commands: Iterable[Callable[..., None]]) -> typer.Typer:
    made = typer.Typer(
        name="retime",
        cls=Commands,
        help="Conform scans of silent-era films to 24, 25 and 30 fps deliverables, "
        "and account for every frame.",
        epilog="Results go to standard output, messages to standard error. Exit codes: 0 done, "
        "1 something was found, 2 the command line or an input is at fault, 3 our own failure, "
        "130 interrupted.",
        no_args_is_help=True,
        add_completion=False,
        pretty_exceptions_enable=False,
        rich_markup_mode=None,
    )
    made.callback()(_options)
    for command in commands:
        made.command(_name(command))(command)
    return made


app = _made(_COMMANDS)


def program() -> NoReturn:
    """Run as a process of its own, which is gone at once when it has said how it went.

    Letting go of thousands of shots and of every module, one by one, is a tenth of a report's time;
    looking for circles among them as often as Python does is another, and next to nothing of ours
    is in circles.
    """
    gc.set_threshold(_MADE_BEFORE_A_LOOK)
    # The small matrices here need no threads, whose start would cost a tenth of a second.
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    # Nothing here is a pydantic plugin's business, and looking for some takes 10 ms.
    os.environ.setdefault("PYDANTIC_DISABLE_PLUGINS", "__all__")
    try:
        run()
    except SystemExit as ended:
        for stream in (sys.stdout, sys.stderr):
            with suppress(OSError, ValueError):
                stream.flush()
        os._exit(ended.code if isinstance(ended.code, int) else Exit.FAILURE)


def run() -> NoReturn:
    """Run the program and exit with the code that says how it went."""
    heed_signals()
    first = next((one for one in sys.argv[1:] if one not in _BEFORE_A_NAME), None)
    named = tuple(command for command in _COMMANDS if _name(command) == first)
    sys.exit(exit_code(lambda: _reader(named)(prog_name="retime")))


@cache
def _reader(named: tuple[Callable[..., None], ...]) -> Callable[..., object]:
    """Return what reads a command line: the command that is named for certain, else all of them.

    To read the options of all takes 70 ms.
    """
    return get_command(_made(named) if named else app)
