"""``retime compare``: what differs between two maps, or between two versions."""

from __future__ import annotations

from enum import StrEnum
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from retime.cli.screen import SCREEN
from retime.errors import CommandError, Exit

if TYPE_CHECKING:
    from retime.edition.edition import Edition

__all__ = ["compare"]


class Format(StrEnum):
    """How it is told."""

    TABLE = "table"
    JSON = "json"


def compare(
    left: Annotated[Path, typer.Argument(metavar="MAP", help="A speed map.")],
    right: Annotated[
        Path | None,
        typer.Argument(metavar="[MAP2]", help="The one to compare it with; itself if not named."),
    ] = None,
    versions: Annotated[
        str | None,
        typer.Option(
            "--versions", metavar="ONE:OTHER", help="Two versions; else those of one name."
        ),
    ] = None,
    output_format: Annotated[
        Format, typer.Option("--format", help="For people, or for programs.")
    ] = Format.TABLE,
) -> None:
    """Tell what differs between maps, or between versions.

    Reels, shots, speeds by stretches of frames, what is put in and left out, titles, runtimes,
    where versions part, and deliverables. Ends with 1 where anything differs.
    """
    from retime.edition.join import join
    from retime.report.comparison import compared

    if right is None and versions is None:
        raise CommandError("one map alone is alike", "name another, or --versions ONE:OTHER")
    one = join(left, every_version=True)
    other = one if right is None else join(right, every_version=True)
    for edition in (one,) if other is one else (one, other):
        SCREEN.warn(edition.warnings)
    comparison = compared(one, other, _pair(one, other, versions))
    if output_format is Format.JSON:
        import json

        from retime.report.comparison_values import comparison_values

        values = comparison_values(one, other, comparison)
        typer.echo(json.dumps(values, indent=1, ensure_ascii=False))
    else:
        from retime.report.comparison_table import comparison_tables

        SCREEN.result(comparison_tables(one, other, comparison))
    if not comparison.alike:
        raise typer.Exit(Exit.FOUND)


def _pair(one: Edition, other: Edition, versions: str | None) -> tuple[str, str] | None:
    """Return the two versions that are named, if any are."""
    if versions is None:
        return None
    ways = [(versions[:at], versions[at + 1 :]) for at, sign in enumerate(versions) if sign == ":"]
    if not ways:
        raise CommandError(f"{versions!r} names no two versions", "write restrained:brisk")
    for way in ways:
        if way[0] in one.speed_map.versions and way[1] in other.speed_map.versions:
            return way
    name, edition = ways[0][0], one
    if name in one.speed_map.versions:
        name, edition = ways[0][1], other
    known = ", ".join(edition.speed_map.versions)
    if not known:
        hint = "write some under versions, or compare maps without --versions"
        raise CommandError("the map has no versions yet", hint)
    raise CommandError(f"the map has no version {name!r}", f"there are {known}")
