"""``retime set``: a speed written into a map, the rest of it untouched."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from retime.errors import CommandError

__all__ = ["set_speed"]


def set_speed(  # noqa: PLR0913 - options, all by name
    speed_map: Annotated[Path, typer.Argument(metavar="MAP", help="The speed map.")],
    speed: Annotated[
        str, typer.Argument(metavar="SPEED", help='Such as "18 fps" or "16 fps -> 18 fps".')
    ],
    *,
    version: Annotated[str, typer.Option("--version", metavar="VERSION", help="Of which version.")],
    shots: Annotated[
        str | None, typer.Option("--shots", metavar="SHOTS", help="For 2/3, or for 2/3-2/7.")
    ] = None,
    reel: Annotated[str | None, typer.Option("--reel", metavar="REEL", help="For a reel.")] = None,
    titles: Annotated[bool, typer.Option("--titles", help="For titles.")] = False,
    dry_run: Annotated[
        bool, typer.Option("--dry-run", help="Only show what would change.")
    ] = False,
) -> None:
    """Write a speed into a map, and change nothing else in it.

    It is a version's, or that of a reel, of shots or of titles in it. Every byte outside the lines
    that change stays as it is. The change is shown as a diff; one that would make the map wrong
    is refused.
    """
    from retime.cli.rewriting import show_and_write
    from retime.speedmap.manuscript import Manuscript
    from retime.speedmap.setting import set_reel, set_shots, set_titles, set_version

    if sum((shots is not None, reel is not None, titles)) > 1:
        raise CommandError("--shots, --reel and --titles are three things", "give one of them")
    script, speed = Manuscript(speed_map), " ".join(speed.split())
    if shots is not None:
        edited = set_shots(script, version, shots, speed)
    elif reel is not None:
        edited = set_reel(script, version, reel, speed)
    elif titles:
        edited = set_titles(script, version, speed)
    else:
        edited = set_version(script, version, speed)
    show_and_write(edited, dry_run=dry_run)
