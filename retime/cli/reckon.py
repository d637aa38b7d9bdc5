"""``retime reckon``: length, speed, runtime; two given, the third told."""

from __future__ import annotations

from collections.abc import Callable
from enum import StrEnum
from typing import Annotated, TypeVar

import typer

from retime.cli.screen import SCREEN

__all__ = ["reckon"]

_Value = TypeVar("_Value")


class Format(StrEnum):
    """How the answer is told."""

    TABLE = "table"
    JSON = "json"


class Convention(StrEnum):
    """How lengths turn into frames."""

    NOMINAL = "nominal"
    PITCH = "pitch"


def reckon(  # noqa: PLR0913 - options, all by name
    *,
    length: Annotated[
        str | None, typer.Option(help="1000 ft, 39+14 (feet and frames), 300 m or 16000 frames.")
    ] = None,
    speed: Annotated[
        str | None, typer.Option(help="18 fps, 75 ft/min, 22.86 m/min or 13:20 /1000ft.")
    ] = None,
    runtime: Annotated[str | None, typer.Option(help="h:mm:ss, m:ss, 4 s or 90 min.")] = None,
    speeds: Annotated[
        str | None, typer.Option(help="Several speeds at once, such as 16,18,20,22,24.")
    ] = None,
    gauge: Annotated[str | None, typer.Option(help="35mm, 16mm, 9.5mm, 8mm, super 8...")] = None,
    footage: Annotated[
        Convention | None, typer.Option(help="Frames to the foot, or frame pitch.")
    ] = None,
    output_format: Annotated[
        Format, typer.Option("--format", help="For people, or for programs.")
    ] = Format.TABLE,
) -> None:
    """Reckon with length, speed and runtime: two give the third."""
    from retime.errors import CommandError
    from retime.film.gauge import Footage, gauge_named
    from retime.film.length import parse_length
    from retime.film.notation import parse_speed, parse_time
    from retime.film.reckoning import Question
    from retime.report.reckoned import reckoned_table, reckoned_values

    if speed is not None and speeds is not None:
        raise CommandError("--speed and --speeds say the same thing", "give one of them")
    said = [_read("--speed", parse_speed, speed)]
    if speeds is not None:
        said = [_read("--speeds", parse_speed, one) for one in speeds.split(",")]
    asked = [
        Question(
            length=_read("--length", parse_length, length),
            speed=one,
            runtime=_read("--runtime", parse_time, runtime),
            gauge=_read("--gauge", gauge_named, gauge),
            footage=Footage(footage) if footage else None,
        )
        for one in said
    ]
    if output_format is Format.JSON:
        import json

        typer.echo(json.dumps(reckoned_values(asked), indent=2))
        return
    SCREEN.result(reckoned_table(asked))


def _read(option: str, reader: Callable[[str], _Value], text: str | None) -> _Value | None:
    """Read an option's text, if it was given; a mistake is told with the option's name."""
    from retime.errors import CommandError, NotationError

    try:
        return None if text is None else reader(text)
    except NotationError as error:
        raise CommandError(f"{option}: {error.text}", error.hint) from error
