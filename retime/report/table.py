"""The report as tables for a person: one block a deliverable, and all versions side by side."""

from __future__ import annotations

from typing import TYPE_CHECKING

from msgspec import Struct
from rich import box
from rich.console import Group
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from retime.film.clock import clock
from retime.film.timecode import label
from retime.plan.drift import drift_of
from retime.render.route import route_of
from retime.report.following import following_said
from retime.report.lengths import length_of
from retime.report.numbers import decimal
from retime.report.paces import ReelPaces, paces_by_reel
from retime.report.rasters import raster_said
from retime.report.words import (
    cadences_said,
    drift_said,
    length_said,
    ms_said,
    rate_said,
    scanning_said,
    speeds_said,
)

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from rich.console import RenderableType

    from retime.edition.edition import Edition, Making
    from retime.plan.drift import Drift
    from retime.plan.plan import Counts
    from retime.render.route import Choice

__all__ = ["report_tables"]


def report_tables(edition: Edition) -> RenderableType:
    """Return the whole report, ready to be printed."""
    paces = {name: paces_by_reel(timeline) for name, timeline in edition.timelines.items()}
    makings = [
        _Reckoned(
            making=making,
            paces=paces[making.deliverable.version],
            counts=making.plan.counts(),
            drift=drift_of(making.plan),
            choice=route_of(making),
        )
        for making in edition.makings
    ]
    blocks = [block for making in makings for block in _block(edition, making)]
    count = len(edition.speed_map.reels)
    reels = "reel" if count == 1 else "reels"
    title = Text.assemble(
        (edition.speed_map.film, "bold"),
        f"   {edition.speed_map.gauge.name}, {count} {reels}, {_picture(edition):,} film frames",
    )
    missing = [Text(told) for scan in edition.scans if (told := scan.missing_said)]
    return Group(title, *missing, Text(), *blocks, _side_by_side(makings))


class _Reckoned(Struct, frozen=True, kw_only=True):
    """A deliverable with what several tables tell of it, reckoned once."""

    making: Making
    paces: list[ReelPaces]
    counts: Counts
    drift: Drift | None
    choice: Choice


def _picture(edition: Edition) -> int:
    """Return how many film frames of picture the reels have, whatever a version makes of them."""
    return sum(
        scan.last - scan.reel.first + 1 - sum(map(len, scan.missing_runs))
        for scan in edition.scans
        if scan.reel in edition.speed_map.reels
    )


def _block(edition: Edition, reckoned: _Reckoned) -> Iterable[RenderableType]:
    making, drift = reckoned.making, reckoned.drift
    plan = making.plan
    yield Text.assemble(
        (making.name, "bold"),
        f"   version {making.deliverable.version}, {making.profile.name}, {rate_said(plan)}, "
        f"{making.deliverable.phase} phase{scanning_said(making)}",
    )
    table = _ruled()
    for name in ("reel", "feet", "film frames", "output frames", "fps"):
        table.add_column(name, justify="left" if name == "reel" else "right", overflow="fold")
    table.add_column("cadence", overflow="fold")
    table.add_column("drift at end", justify="right")
    ends = drift.reel_ends if drift else [None] * len(plan.timeline.reels)
    rows = zip(plan.timeline.reels, plan.reel_fields(), ends, reckoned.paces, strict=True)
    for reel, (first, stop), end, paces in rows:
        table.add_row(
            reel.name,
            decimal(length_of(edition.speed_map, [reel]).feet, 1),
            f"{reel.positions:,}",
            f"{(stop + 1) // 2 - first // 2:,}",
            speeds_said(paces, plan),
            cadences_said(paces, plan),
            "" if end is None else ms_said(end),
        )
    yield Padding(table, (0, 0, 0, 2))
    yield Padding(_sums(edition, reckoned), (0, 0, 1, 2))


def _ruled() -> Table:
    return Table(box=box.SIMPLE_HEAD, pad_edge=False, padding=(0, 2, 0, 0))


def _sums(edition: Edition, reckoned: _Reckoned) -> Table:
    """Return what holds for the whole deliverable, a label and a sentence a row."""
    making, counts, choice = reckoned.making, reckoned.counts, reckoned.choice
    plan = making.plan
    table = Table(box=None, show_header=False, pad_edge=False, padding=(0, 2, 0, 0))
    table.add_column(style="dim")
    table.add_column()
    rate = plan.conform.rate
    labelled = ""
    if rate.nominal.fps.denominator == 1:
        labelled = f", {label(plan.total, rate, drop=making.drop_frame)}"
        labelled += " drop-frame" if making.drop_frame else ""
    runtime = f"{clock(plan.total_runtime)}{labelled}, {plan.total:,} output frames"
    table.add_row("runtime", runtime)
    if plan.head or plan.tail:
        after = plan.total - plan.outputs - plan.head_frames
        film = f"{clock(plan.runtime)}, {plan.outputs:,} output frames"
        table.add_row("film", f"{film}, after {plan.head_frames:,} and before {after:,}")
    table.add_row("true runtime", clock(plan.timeline.duration))
    solved = edition.solved.get(making.deliverable.version)
    if solved is not None:
        table.add_row("solved speed", f"{decimal(1 / solved, 6)} fps")
    table.add_row("length", length_said(length_of(edition.speed_map, plan.timeline.reels)))
    table.add_row(
        "frames",
        f"{counts.source:,} of film: {_became(counts, in_fields=plan.carry.in_fields)}",
    )
    table.add_row("drift", drift_said(reckoned.drift))
    if raster := raster_said(making):
        table.add_row("raster", raster)
    for name, told in following_said(edition, making):
        table.add_row(name, told)
    table.add_row("route", f"{choice.route or 'none'}: {choice.reason}")
    return table


def _became(counts: Counts, *, in_fields: bool) -> str:
    """Say what became of the film frames; repeats and holds are fields where these count."""
    repeats = "repeated fields" if in_fields else "repeats"
    told = f"{counts.repeated:,} {repeats}, {counts.held:,} held, {counts.dropped:,} dropped"
    if counts.inserted:
        told += f", {counts.inserted:,} {'fields' if in_fields else 'frames'} put in"
    return told + (f", {counts.blended:,} blends" if counts.blended else "")


def _side_by_side(makings: Sequence[_Reckoned]) -> RenderableType:
    """Return one table that compares the deliverables."""
    table = _ruled()
    table.title, table.title_justify, table.padding = "side by side", "left", (0, 1, 0, 0)
    table.add_column("deliverable", overflow="fold")
    table.add_column("version", overflow="fold")
    for name in ("rate", "runtime", "output", "repeats", "held", "dropped", "drift ms"):
        table.add_column(name, justify="right", no_wrap=True)
    for reckoned in makings:
        making, counts = reckoned.making, reckoned.counts
        plan = making.plan
        table.add_row(
            making.name,
            making.deliverable.version,
            str(plan.conform.rate),
            clock(plan.total_runtime),
            f"{plan.total:,}",
            f"{counts.repeated:,}",
            f"{counts.held:,}",
            f"{counts.dropped:,}",
            f"{reckoned.drift.largest_ms:.3f}" if reckoned.drift else "",
        )
    return table
