"""The flash check as a command runs it: of a movie, or of a map's deliverables side by side."""

from __future__ import annotations

from typing import TYPE_CHECKING

import typer

from retime.cli.screen import SCREEN
from retime.errors import CommandError, Exit

if TYPE_CHECKING:
    from collections.abc import Collection, Sequence
    from pathlib import Path

    from retime.check.flashes import FlashReport
    from retime.speedmap.model import SpeedMap

__all__ = ["check_flashes"]

_MAPS = frozenset({".yaml", ".yml"})
_FORMATS = ("table", "json")
_CHART = ".svg"


def check_flashes(
    target: Path,
    output_format: str,
    chart: Path | None = None,
    *,
    wanted: Collection[str] = (),
    force: bool = False,
) -> None:
    """Check a movie for flashes, or each deliverable of a map (or those ``wanted``) at its speed.

    ``output_format`` is ``table`` or ``json``; ``chart`` is an SVG file to be written. Ends with 1
    where anything has too many flashes.
    """
    from retime.cli.result_file import check_result, write_result

    if output_format not in _FORMATS:
        raise CommandError(f"flashes are not told as {output_format}", "ask for table or json")
    if chart is not None:
        if chart.suffix.lower() != _CHART:
            raise CommandError(f"{chart} is no SVG file", f"a chart's name ends with {_CHART}")
        check_result(chart, [target], force=force)
    is_map = target.suffix.lower() in _MAPS
    if wanted and not is_map:
        raise CommandError("a movie has no deliverables", "name the map that made it")
    speed_map, reports = _of_map(target, wanted) if is_map else (None, _of_movie(target))
    if chart is not None:
        from retime.report.flash_chart import flash_chart

        write_result(chart, flash_chart(reports))
    _print(reports, speed_map, output_format)
    if not all(report.passes for report in reports):
        raise typer.Exit(Exit.FOUND)


def _of_movie(path: Path) -> Sequence[FlashReport]:
    from retime.check.flash_file import flashes_of_file, pictures_of_file
    from retime.cli.progress import shown_progress

    pictures = pictures_of_file(path)
    with shown_progress(SCREEN) as progress:
        progress.start(pictures, "looking for flashes")
        found = flashes_of_file(path, lambda: progress.advance(1))
        progress.finish()
    return (found,)


def _of_map(path: Path, wanted: Collection[str]) -> tuple[SpeedMap, Sequence[FlashReport]]:
    from retime.check.flash_map import flashes_of_map
    from retime.cli.progress import shown_progress
    from retime.edition.join import join

    edition = join(path, wanted, scans_needed=True)
    SCREEN.warn(edition.warnings)
    if not edition.makings:
        raise CommandError(f"{path} names no deliverables", "there is nothing to check")
    pictures = sum(scan.last - scan.reel.first + 1 for scan in edition.scans)
    with shown_progress(SCREEN) as progress:
        progress.start(pictures, "looking for flashes in the scans")
        found = flashes_of_map(edition, lambda: progress.advance(1))
        progress.finish()
    return edition.speed_map, found


def _print(reports: Sequence[FlashReport], speed_map: SpeedMap | None, output_format: str) -> None:
    if output_format == "json":
        import json

        from retime.report.flash_values import flash_values

        typer.echo(json.dumps(flash_values(reports, speed_map), indent=1, ensure_ascii=False))
        return
    from retime.report.flashes import flash_tables

    SCREEN.result(flash_tables(reports))
