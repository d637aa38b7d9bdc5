"""``retime lint``: every finding of a map."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from retime.cli.screen import SCREEN
from retime.errors import DocumentError, Exit

__all__ = ["lint"]


def lint(
    speed_map: Annotated[Path, typer.Argument(metavar="MAP", help="The speed map.")],
) -> None:
    """Tell all that is wrong or doubtful in a map.

    Ends with 2 where anything is wrong, with 1 where there are warnings alone.
    """
    from retime.edition.join import join
    from retime.follow.findings import follow_findings

    try:
        edition, code = join(speed_map), Exit.FOUND
        findings = (*edition.warnings, *follow_findings(edition))
    except DocumentError as error:
        findings, code = error.findings, error.exit_code
    for finding in findings:
        typer.echo(str(finding))
    if findings:
        raise typer.Exit(code)
    SCREEN.say(f"{speed_map}: nothing to find fault with")
