"""``retime preview``: excerpts on a page, to compare speeds by eye before one is decided."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from retime.cli.screen import SCREEN

__all__ = ["preview"]


def preview(  # noqa: PLR0913 - options, all by name
    sources: Annotated[
        list[Path],
        typer.Argument(metavar="MAP|SCAN...", help="A speed map; or scans, each of them a reel."),
    ],
    *,
    output: Annotated[
        Path, typer.Option("-o", "--output", metavar="DIR", help="The folder to make, or to renew.")
    ],
    shots: Annotated[
        str | None,
        typer.Option(metavar="SHOTS", help="Shots of the map to look at: 1/4,2/3-2/5."),
    ] = None,
    frames: Annotated[
        str | None,
        typer.Option(
            metavar="FRAMES", help="Frames to look at, in the scans' numbers: 1/120-280,2/0-99."
        ),
    ] = None,
    speeds: Annotated[
        str, typer.Option(metavar="SPEEDS", help="Speeds to choose from.")
    ] = "16,18,20,22,24",
    rates: Annotated[
        str, typer.Option(metavar="RATES", help="Rates to render excerpts at.")
    ] = "24,25,30",
    blend: Annotated[
        bool, typer.Option("--blend", help="Render the excerpts blended, too.")
    ] = False,
    gauge: Annotated[
        str | None, typer.Option(metavar="GAUGE", help="Of bare scans; 35mm if not said.")
    ] = None,
    width: Annotated[int, typer.Option(help="The most that pictures are wide.")] = 640,
    seconds: Annotated[
        int, typer.Option(help="The most that an excerpt lasts at the slowest speed.")
    ] = 8,
    force: Annotated[
        bool, typer.Option("--force", help="Write into a folder that holds other things.")
    ] = False,
) -> None:
    """Make a page to compare speeds on by eye.

    It is one folder, which opens from a disk in any browser, offline. If neither shots nor frames
    are named, it shows the busiest shot of each reel and the longest title. Excerpts can be watched
    at any speed, side by side, as really rendered, and compared without knowing which is which. Run
    again, it makes only what has changed.

    Faster playback raises the rate of flashes: the page tells what the flash check found.
    """
    from retime.cli.progress import shown_progress
    from retime.preview.asked import asked
    from retime.preview.folder import Folder
    from retime.preview.job import preview as make
    from retime.preview.subject import subject_of

    wanted = asked(
        speeds=speeds,
        rates=rates,
        shots=shots,
        frames=frames,
        blend=blend,
        width=width,
        seconds=seconds,
    )
    subject = subject_of(sources, gauge)
    SCREEN.warn(subject.warnings)
    folder = Folder(output)
    scans = (scan.path for scan in subject.scans)
    folder.check((*sources, *subject.inputs, *scans), force=force)
    typer.echo(make(subject, wanted, folder, lambda: shown_progress(SCREEN), SCREEN.say))
