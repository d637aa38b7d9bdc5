"""``retime profiles``: what each profile promises."""

from __future__ import annotations

from typing import Annotated

import typer

from retime.cli.screen import SCREEN

__all__ = ["profiles"]


def profiles(
    name: Annotated[str | None, typer.Argument(metavar="NAME", help="Show this one whole.")] = None,
) -> None:
    """List the profiles that maps may name, or show one."""
    from retime.profile.shelf import shelf
    from retime.report.profiles import profile_table, profiles_table

    stand = shelf()
    if name is not None:
        SCREEN.result(profile_table(stand.load(name)))
        return
    SCREEN.result(profiles_table([stand.load(each) for each in stand.files]))
