"""The speed sheet for a live show as a table, as CSV and as JSON (``retime-show-speeds/1``)."""

from __future__ import annotations

import csv
import json
from itertools import groupby
from typing import TYPE_CHECKING, Any

from rich import box
from rich.console import Group
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from retime.film.clock import clock
from retime.report.film_runs import fps_said
from retime.report.numbers import decimal, exact, measured, said
from retime.report.show_speeds import CAUTION

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence
    from fractions import Fraction
    from typing import TextIO

    from rich.console import RenderableType

    from retime.edition.edition import Edition
    from retime.report.show_speeds import ReelSpeeds, SpeedChange

__all__ = ["FORMAT", "speed_table", "write_speed_csv", "write_speed_json"]

FORMAT = "retime-show-speeds/1"
_COLUMNS = (
    "version", "reel", "feet", "frame", "frames", "fps", "fps_to", "feet_per_minute",
    "feet_per_minute_to", "at", "lasts",
)  # fmt: skip
_PLACES = 6


def speed_table(edition: Edition, reels: Sequence[ReelSpeeds]) -> RenderableType:
    """Return one block a reel, ready to be printed, the caution before them."""
    blocks: list[RenderableType] = [
        Text(edition.speed_map.film, style="bold"),
        Text(),
        Text(CAUTION, style="bold"),
        Text(),
    ]
    for version, inside in groupby(reels, key=lambda reel: reel.version):
        for reel in inside:
            blocks.append(
                Text.assemble(
                    (f"reel {reel.reel}", "bold"),
                    f"   version {version}, {reel.length} ft, {clock(reel.lasts)}{_beside(reel)}",
                )
            )
            blocks.append(Padding(_block(reel.changes), (0, 0, 0, 2)))
    return Group(*blocks)


def _beside(reel: ReelSpeeds) -> str:
    """Say what a version adds that a print does not have."""
    if not reel.beside:
        return ""
    return f"; {clock(reel.beside)} of holds and what is put in are not on the film"


def _block(changes: Iterable[SpeedChange]) -> Table:
    table = Table(box=box.SIMPLE_HEAD, pad_edge=False, padding=(0, 2, 0, 0))
    for name in ("at feet", "at time", "fps", "ft/min", "runs for"):
        table.add_column(name, justify="right", no_wrap=True)
    for change in changes:
        table.add_row(
            change.feet,
            clock(change.at),
            _both(change.fps),
            _both(change.per_minute),
            clock(change.lasts),
        )
    return table


def _both(ends: tuple[Fraction, Fraction]) -> str:
    first, last = map(_read, ends)
    return first if first == last else f"{first} -> {last}"


def _read(number: Fraction) -> str:
    """Return a number as a decimal where it has a short one, else as it can be read."""
    told = measured(number)
    return told if "/" not in told and len(told) <= len("100.000") else fps_said(number)


def write_speed_csv(reels: Iterable[ReelSpeeds], to: TextIO) -> None:
    """Write a row a change, the columns' names first; numbers are decimals to six places."""
    writer = csv.writer(to, lineterminator="\n")
    writer.writerow(_COLUMNS)
    for reel in reels:
        for change in reel.changes:
            numbers = (*change.fps, *change.per_minute, change.at, change.lasts)
            told = [decimal(number, _PLACES) for number in numbers]
            where = (reel.version, reel.reel, change.feet, change.frame, change.frames)
            writer.writerow([*where, *told])


def write_speed_json(edition: Edition, reels: Iterable[ReelSpeeds], to: TextIO) -> None:
    """Write the reels as JSON, the caution with them; numbers are exact fractions."""
    document = {
        "format": FORMAT,
        "film": edition.speed_map.film,
        "map_sha256": edition.speed_map.sha256,
        "caution": CAUTION,
        "reels": [
            {
                "version": reel.version,
                "reel": reel.reel,
                "length": reel.length,
                "lasts": said(seconds=reel.lasts),
                "beside": said(seconds=reel.beside),
                "changes": [_told(change) for change in reel.changes],
            }
            for reel in reels
        ],
    }
    json.dump(document, to, ensure_ascii=False, indent=1)
    to.write("\n")


def _told(change: SpeedChange) -> dict[str, Any]:
    return {
        "feet": change.feet,
        "frame": change.frame,
        "frames": change.frames,
        "fps": [exact(one) for one in change.fps],
        "feet_per_minute": [exact(one) for one in change.per_minute],
        "at": said(seconds=change.at),
        "lasts": said(seconds=change.lasts),
    }
