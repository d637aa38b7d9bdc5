"""``retime new``: a first map from scans."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from retime.cli.screen import SCREEN

if TYPE_CHECKING:
    from collections.abc import Sequence

    from retime.report.new_map import NewReel
    from retime.shots.ordering import NamedScan

__all__ = ["new"]

_TABLE, _PAGE, _PICTURE = "shots.csv", "contact-sheet.html", "contact-sheet.png"


def new(
    scans: Annotated[
        list[Path],
        typer.Argument(metavar="SCAN...", help="Movies, or numbered files such as r1/%06d.dpx."),
    ],
    output: Annotated[
        Path,
        typer.Option("-o", "--output", metavar="DIR", help="The folder for what is written."),
    ],
    gauge: Annotated[
        str, typer.Option(metavar="GAUGE", help="The film's gauge, such as 35mm; none is guessed.")
    ],
    film: Annotated[
        str | None,
        typer.Option(metavar="TITLE", help="The film's title; its folder's name if not given."),
    ] = None,
    force: Annotated[
        bool, typer.Option("--force", help="Overwrite files that are there already.")
    ] = False,
) -> None:
    """Write a map to start from, with reels, shots and titles.

    Beside it goes a table of shots, and a contact sheet to look them over, as a page and as a
    picture. At which speed the film is to run is left for you to decide.
    """
    from retime.cli.folder_files import check_folder_files, write_folder_files
    from retime.film.gauge import gauge_named
    from retime.report.contact_sheet import contact_page, contact_picture
    from retime.report.new_map import file_stem, new_map, shots_table
    from retime.shots.ordering import film_named_by, in_order

    known = gauge_named(gauge)
    named = in_order(scans)
    paths = [one.path for one in named]
    title = _checked(film if film is not None else film_named_by(paths))
    speed_map = f"{file_stem(title)}.yaml"
    check_folder_files(output, (speed_map, _TABLE, _PAGE, _PICTURE), paths, force=force)
    if film is None:
        SCREEN.say(f"the film is called {title!r} by its folder; --film names it otherwise")
    reels = _looked_at(named, output)
    write_folder_files(
        output,
        {
            _TABLE: shots_table(reels).encode(),
            _PAGE: contact_page(title, reels).encode(),
            _PICTURE: contact_picture(reels),
            speed_map: new_map(title, known.name, reels, _TABLE, _PAGE).encode(),
        },
    )
    shots = [shot for reel in reels for shot in reel.found.shots]
    titles = sum(shot.title for shot in shots)
    SCREEN.say(f"{_found_said(len(shots), titles)}; no speed is decided yet")
    for name in (speed_map, _TABLE, _PAGE, _PICTURE):
        typer.echo(str(output / name))


def _found_said(shots: int, titles: int) -> str:
    """Say how many shots were found, and how many of them are titles."""
    if shots == 1:
        return f"1 shot found, {'a' if titles else 'no'} title"
    return f"{shots:,} shots found, {titles:,} of them {'a title' if titles == 1 else 'titles'}"


def _checked(title: str) -> str:
    """Return a title that a map takes; raises CommandError for another."""
    from pydantic import TypeAdapter, ValidationError

    from retime.errors import CommandError
    from retime.speedmap.fields import FileName

    try:
        return TypeAdapter[str](FileName).validate_python(title)
    except ValidationError as error:
        reason = error.errors()[0].get("ctx", {}).get("error", error)
        raise CommandError(f"--film: {reason}", "name the film with --film") from error


def _looked_at(named: Sequence[NamedScan], output: Path) -> list[NewReel]:
    """Look at every scan; all of them are counted before any is read."""
    from retime.cli.progress import shown_progress
    from retime.report.new_map import NewReel
    from retime.shots.looking import look_at, scan_at

    scans = [scan_at(one.path) for one in named]
    told = ", ".join(f"{one.reel} is {one.path.name}" for one in named)
    SCREEN.say(f"reels in the order of their names: {told}")
    reels = []
    with shown_progress(SCREEN) as progress:
        progress.start(sum(scan.frames for scan in scans), "looking for shots")
        for one, scan in zip(named, scans, strict=True):
            address = _address(one.path, output)
            looked = look_at(scan, progress)
            reels.append(NewReel(name=one.reel, address=address, looked=looked))
        progress.finish()
    return reels


def _address(path: Path, folder: Path) -> str:
    """Return a scan's path as it is told from the map's folder."""
    import os

    return Path(os.path.relpath(path.parent.resolve() / path.name, folder.resolve())).as_posix()
