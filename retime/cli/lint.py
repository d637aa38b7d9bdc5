"""``retime lint``: every finding of a map."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from retime.cli.screen import SCREEN
from retime.errors import Exit

__all__ = ["lint"]


def lint(
    speed_map: Annotated[Path, typer.Argument(metavar="MAP", help="The speed map.")],
) -> None:
    """Check a map without rendering: errors end with 2, warnings alone with 1."""
    from retime.edition.join import join

    edition = join(speed_map)
    for finding in edition.warnings:
        typer.echo(str(finding))
    if edition.warnings:
        raise typer.Exit(Exit.FOUND)
    SCREEN.say(f"{speed_map}: nothing to find fault with")
