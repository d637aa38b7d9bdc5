"""``retime render``: makes deliverables, in as few passes over the scans as can be."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from retime.cli.screen import SCREEN

__all__ = ["render"]


def render(  # noqa: PLR0913, PLR0917 - as many as the command has options
    speed_map: Annotated[Path, typer.Argument(metavar="MAP", help="The speed map.")],
    deliverables: Annotated[
        list[str] | None,
        typer.Argument(metavar="DELIVERABLE", help="Which to make; all if none is named."),
    ] = None,
    output: Annotated[
        Path, typer.Option("-o", "--output", metavar="DIR", help="The folder to make them in.")
    ] = ...,  # type: ignore[assignment] # typer's mark for an option that must be given
    reel: Annotated[
        str | None, typer.Option("--reel", metavar="REEL", help="Make this reel alone.")
    ] = None,
    shots: Annotated[
        str | None,
        typer.Option("--shots", metavar="SHOTS", help="Make these alone: 2/3, or a run 2/3-2/7."),
    ] = None,
    begin: Annotated[
        str | None,
        typer.Option(
            "--from",
            metavar="PLACE",
            help="Begin at a label, or at feet+frames in the reel (the first, if none is named).",
        ),
    ] = None,
    end: Annotated[
        str | None,
        typer.Option("--to", metavar="PLACE", help="End before this label, or these feet+frames."),
    ] = None,
    force: Annotated[
        bool, typer.Option("--force", help="Overwrite deliverables that are there already.")
    ] = False,
    skip_space_check: Annotated[
        bool, typer.Option("--skip-space-check", help="Do not ask first whether the disk has room.")
    ] = False,
) -> None:
    """Make deliverables, in as few passes over the scans as can be.

    Each is given its final name once it is complete. Nothing that exists is overwritten
    unless --force asks for it, and whatever stops the work leaves nothing unfinished behind.

    A part is frame for frame what the whole would have there, with the same labels.
    """
    from retime.cli.progress import shown_progress
    from retime.edition.join import join
    from retime.errors import CommandError, OutputError
    from retime.follow.findings import follow_findings
    from retime.render.job import finals_of
    from retime.render.job import render as make
    from retime.render.names import check_free
    from retime.render.orders import orders_of
    from retime.render.parts import Part
    from retime.render.space import check_space

    edition = join(speed_map, deliverables or (), scans_needed=True)
    SCREEN.warn((*edition.warnings, *follow_findings(edition)))
    if not edition.makings:
        raise CommandError(f"{speed_map} names no deliverables", "there is nothing to make")
    if not output.is_dir():
        there = output.exists()
        raise OutputError(
            output,
            "is a file, not a folder" if there else "is not there",
            "name a folder" if there else "make the folder first",
        )
    asked = Part(reel=reel, shots=shots, begin=begin, end=end)
    orders = orders_of(edition, output, asked if asked != Part() else None)
    check_free(edition, finals_of(orders), force=force)
    if not skip_space_check:
        check_space(edition, orders, output)
    for order in orders:
        SCREEN.say(f"{order.name}: {order.choice.route}, {order.choice.reason}")
        if order.profile.links:
            SCREEN.say(f"{order.name}: repeats are links; repairing one file repairs all of them")
    with shown_progress(SCREEN) as progress:
        make(edition, orders, progress, force=force)
    for order in orders:
        for name, meter in order.meters:
            SCREEN.say(f"{order.name}: {name}: {meter.loudness()}")
    for final in finals_of(orders):
        typer.echo(final)
