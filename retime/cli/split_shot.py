"""``retime split-shot``: a shot of a map made two."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

__all__ = ["split_shot"]


def split_shot(
    speed_map: Annotated[Path, typer.Argument(metavar="MAP", help="The speed map.")],
    shot: Annotated[str, typer.Argument(metavar="SHOT", help="Which, such as 2/3.")],
    at: Annotated[
        int,
        typer.Option(
            "--at", metavar="FRAME", help="The second's first frame, counted from 0 in the scan."
        ),
    ],
    names: Annotated[
        str | None,
        typer.Option("--names", metavar="A,B", help="Their names; 3A,3B of a shot 3, if not told."),
    ] = None,
    dry_run: Annotated[
        bool, typer.Option("--dry-run", help="Only show what would change.")
    ] = False,
) -> None:
    """Make a shot two, in all that names it.

    The list is changed, in the map or in its table, and the map's rules with it.
    """
    from retime.cli.rewriting import show_and_write
    from retime.speedmap.manuscript import Manuscript
    from retime.speedmap.splitting import split_shot as split

    told = None if names is None else [one.strip() for one in names.split(",")]
    show_and_write(split(Manuscript(speed_map), shot, at, told), dry_run=dry_run)
