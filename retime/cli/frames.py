"""``retime frames``: output frame by output frame, which film frame it shows."""

from __future__ import annotations

from enum import StrEnum
from pathlib import Path
from typing import Annotated

import typer

from retime.cli.screen import SCREEN

__all__ = ["frames"]


class Format(StrEnum):
    """How the list is told."""

    CSV = "csv"
    JSON = "json"


def frames(
    speed_map: Annotated[Path, typer.Argument(metavar="MAP", help="The speed map.")],
    deliverable: Annotated[str, typer.Argument(metavar="DELIVERABLE", help="One of the map's.")],
    output_format: Annotated[
        Format, typer.Option("--format", help="A table, or a list of objects.")
    ] = Format.CSV,
) -> None:
    """List which film frame each output frame shows."""
    import sys

    from retime.edition.join import join
    from retime.report.listing import write_csv, write_json

    edition = join(speed_map, [deliverable])
    SCREEN.warn(edition.warnings)
    write = write_json if output_format is Format.JSON else write_csv
    write(edition.makings[0], sys.stdout)
