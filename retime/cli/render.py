"""``retime render``: makes deliverables, in as few passes over the scans as can be."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from retime.cli.screen import SCREEN
from retime.render.damaged import Damaged

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

    from retime.errors import RetimeError
    from retime.render.order import Order

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
    pieces: Annotated[
        int | None,
        typer.Option(
            "--pieces", metavar="FRAMES", min=1, help="How long pieces are: about 1000 film frames."
        ),
    ] = None,
    workers: Annotated[
        int | None,
        typer.Option(
            "--workers", metavar="N", min=1, help="How many make pieces at once: one a core."
        ),
    ] = None,
    cluster: Annotated[
        str | None,
        typer.Option(
            "--cluster",
            metavar="SCHEDULER",
            help="Have pieces made by a Dask cluster: tcp://host:port, or a scheduler file.",
        ),
    ] = None,
    damaged: Annotated[
        Damaged,
        typer.Option(
            "--damaged",
            help="Stop at a frame that does not decode, hold the one before or show black.",
        ),
    ] = Damaged.STOP,
    keep_going: Annotated[
        bool,
        typer.Option("--keep-going", help="Make the other deliverables when one fails."),
    ] = False,
    skip_space_check: Annotated[
        bool, typer.Option("--skip-space-check", help="Do not ask first whether the disk has room.")
    ] = False,
) -> None:
    """Make deliverables, in as few passes over the scans as can be.

    Each is given its final name once it is complete. Nothing that exists is overwritten
    unless --force asks for it, and whatever stops the work leaves nothing unfinished behind.

    A part is frame for frame what the whole would have there, with the same labels.

    A long film is made in pieces, several at once; when that is broken off, the same command goes
    on from the pieces that are finished.
    """
    from retime.cli.folder_files import made_folder
    from retime.cli.progress import shown_progress
    from retime.edition.join import join
    from retime.errors import CommandError
    from retime.follow.findings import follow_findings
    from retime.render.job import Job
    from retime.render.lock import sole_render
    from retime.render.means import Means
    from retime.render.orders import orders_of
    from retime.render.parts import Part
    from retime.render.pieces import LENGTH
    from retime.render.space import check_space

    edition = join(speed_map, deliverables or (), scans_needed=True)
    SCREEN.warn((*edition.warnings, *follow_findings(edition)))
    if not edition.makings:
        raise CommandError(f"{speed_map} names no deliverables", "there is nothing to make")
    asked = Part(reel=reel, shots=shots, begin=begin, end=end)
    means = Means(
        pieces=pieces or LENGTH,
        workers=workers,
        cluster=cluster,
        keep_going=keep_going,
        damaged=damaged,
        tell=SCREEN.say,
    )
    with made_folder(output), sole_render(output, SCREEN.say):
        orders = orders_of(edition, output, asked if asked != Part() else None)
        job = Job(edition, orders, means)
        job.check_free(force=force)
        if not skip_space_check:
            check_space(edition, orders, output, job.stored, job.bytes_there)
        _say_routes(orders)
        for scan in edition.scans:
            if scan.missing_said:
                SCREEN.say(scan.missing_said)
        with shown_progress(SCREEN) as progress:
            failed = job.run(progress, force=force)
    _tell_loudness(order for order in orders if order.name not in {*failed, *job.unheard})
    _tell([order for order in job.orders if order.name not in failed], failed)


def _say_routes(orders: Iterable[Order]) -> None:
    for order in orders:
        SCREEN.say(f"{order.name}: {order.choice.route}, {order.choice.reason}")
        if order.profile.links:
            SCREEN.say(f"{order.name}: repeats are links; repairing one file repairs all of them")


def _tell_loudness(heard: Iterable[Order]) -> None:
    for order in heard:
        for name, meter in order.meters:
            SCREEN.say(f"{order.name}: {name}: {meter.loudness()}")


def _tell(made: Sequence[Order], failed: Mapping[str, RetimeError]) -> None:
    """Tell what was made and what was not; what was not decides the exit code."""
    from retime.render.finals import finals_of

    for final in finals_of(made):
        typer.echo(final)
    for name, error in failed.items():
        SCREEN.complain(f"{name} failed: {error}")
    if failed:
        raise typer.Exit(next(iter(failed.values())).exit_code)
