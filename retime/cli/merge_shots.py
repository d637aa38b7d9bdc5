"""``retime merge-shots``: a run of a map's shots made one."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

__all__ = ["merge_shots"]


def merge_shots(
    speed_map: Annotated[Path, typer.Argument(metavar="MAP", help="The speed map.")],
    shots: Annotated[str, typer.Argument(metavar="SHOTS", help="Which, such as 2/3-2/5.")],
    name: Annotated[
        str | None,
        typer.Option("--name", metavar="NAME", help="Its name; that of the first, if not told."),
    ] = None,
    dry_run: Annotated[
        bool, typer.Option("--dry-run", help="Only show what would change.")
    ] = False,
) -> None:
    """Make a run of shots one, in all that names them.

    The list is changed, in the map or in its table, and the map's rules with it. Shots with
    different rules are refused, with all places.
    """
    from retime.cli.rewriting import show_and_write
    from retime.speedmap.joining import merge_shots as merged
    from retime.speedmap.manuscript import Manuscript

    show_and_write(merged(Manuscript(speed_map), shots, name), dry_run=dry_run)
