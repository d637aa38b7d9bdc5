"""The report as tables for a person: one block a deliverable, and all versions side by side."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import groupby
from typing import TYPE_CHECKING

from rich import box
from rich.console import Group
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from retime.film.clock import clock
from retime.film.timecode import label
from retime.plan.drift import drift_of
from retime.render.route import route_of
from retime.report.lengths import length_of
from retime.report.numbers import decimal, is_short
from retime.report.paces import ReelPaces
from retime.report.stretches import cadence_of, passages

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence
    from fractions import Fraction

    from rich.console import RenderableType

    from retime.edition.edition import Edition, Making
    from retime.plan.drift import Drift
    from retime.plan.plan import Counts, Plan
    from retime.plan.timeline import Reel
    from retime.render.route import Choice
from retime.report.stretches import Passage

__all__ = ["report_tables"]

_MOST = 3  # speeds or cadences told one by one in a row
_READABLE = 100  # a speed of a smaller denominator is told as a fraction
_LONGEST_SHOWN = 24


def report_tables(edition: Edition) -> RenderableType:
    """Return the whole report, ready to be printed."""
    makings = [_Reckoned.of(edition, making) for making in edition.makings]
    blocks = [block for making in makings for block in _block(edition, making)]
    title = Text.assemble(
        (edition.speed_map.film, "bold"),
        f"   {edition.speed_map.gauge.name}, {len(edition.scans)} reels, "
        f"{_source(edition):,} film frames",
    )
    return Group(title, Text(), *blocks, _side_by_side(makings))


@dataclass(frozen=True, slots=True, kw_only=True)
class _Reckoned:
    """A deliverable with what several tables tell of it, reckoned once."""

    making: Making
    counts: Counts
    drift: Drift
    choice: Choice

    @staticmethod
    def of(edition: Edition, making: Making) -> _Reckoned:
        return _Reckoned(
            making=making,
            counts=making.plan.counts(),
            drift=drift_of(making.plan),
            choice=route_of(edition, making),
        )


def _source(edition: Edition) -> int:
    return edition.makings[0].plan.timeline.source_frames if edition.makings else 0


def _block(edition: Edition, reckoned: _Reckoned) -> Iterable[RenderableType]:
    making, drift = reckoned.making, reckoned.drift
    plan = making.plan
    yield Text.assemble(
        (making.name, "bold"),
        f"   version {making.deliverable.version}, {making.profile.name}, {_rate(plan)}, "
        f"{making.deliverable.phase} phase",
    )
    table = Table(box=box.SIMPLE_HEAD, pad_edge=False, padding=(0, 2, 0, 0))
    table.add_column("reel")
    for name in ("length", "film frames", "output frames", "runs at"):
        table.add_column(name, justify="right")
    table.add_column("cadence")
    table.add_column("drift at end", justify="right")
    by_reel = {
        reel: ReelPaces(inside) for reel, inside in groupby(passages(plan), lambda one: one.reel)
    }
    rows = zip(plan.timeline.reels, plan.reel_bounds(), drift.reel_ends, strict=True)
    for reel, (first, stop), end in rows:
        table.add_row(
            reel.name,
            _length(edition, [reel]),
            f"{reel.positions:,}",
            f"{stop - first:,}",
            _speeds(by_reel[reel.name], plan),
            _cadences(by_reel[reel.name], plan),
            _ms(end),
        )
    yield Padding(table, (0, 0, 0, 2))
    yield Padding(_sums(reckoned), (0, 0, 1, 2))


def _rate(plan: Plan) -> str:
    conform = plan.conform
    if conform.run_change == 1:
        return f"{conform.rate} fps"
    return f"laid out at {conform.at}, run at {conform.rate} fps ({conform.cents:+.2f} cents)"


def _length(edition: Edition, reels: Sequence[Reel]) -> str:
    length = length_of(edition.speed_map, reels)
    return f"{decimal(length.feet, 1)} ft / {decimal(length.metres, 1)} m"


def _speeds(paces: ReelPaces, plan: Plan) -> str:
    """Return the speeds of a reel as it is seen, or the span of many."""
    seen = [speed * plan.conform.run_change for speed in paces.speeds()]
    if len(seen) > _MOST:
        return f"{_fps(seen[0])}..{_fps(seen[-1])} fps ({len(seen)} speeds)"
    return ", ".join(map(_fps, seen)) + " fps" if seen else "held"


def _fps(fps: Fraction) -> str:
    return str(fps) if fps.denominator < _READABLE else decimal(fps, 3)


def _cadences(paces: ReelPaces, plan: Plan) -> str:
    """Return the cadences of a reel, the most used first, as many as can be read."""
    shown, more = paces.longest(_MOST)
    told = [_cadence(plan, passage) for passage in shown]
    return "\n".join(told) + (f"\nand {more} more" if more else "")


def _cadence(plan: Plan, passage: Passage) -> str:
    cadence = cadence_of(plan, passage)
    if cadence is None:
        return "ramp"
    runs = str(cadence)
    if len(cadence.runs) > _LONGEST_SHOWN:
        runs = f"{cadence.film_frames} film frames in {cadence.outputs}"
    if cadence.slips_every is None:
        return runs
    return f"near {runs}, slips every {decimal(cadence.slips_every, 1)} frames"


def _sums(reckoned: _Reckoned) -> Table:
    """Return what holds for the whole deliverable, a label and a sentence a row."""
    making, counts, drift = reckoned.making, reckoned.counts, reckoned.drift
    plan, choice = making.plan, reckoned.choice
    table = Table(box=None, show_header=False, pad_edge=False, padding=(0, 2, 0, 0))
    table.add_column(style="dim")
    table.add_column()
    rate = plan.conform.rate
    labelled = ""
    if rate.nominal.fps.denominator == 1:
        labelled = f", {label(plan.outputs, rate, drop=making.drop_frame)}"
        labelled += " drop-frame" if making.drop_frame else ""
    table.add_row("runtime", f"{clock(plan.runtime)}{labelled}, {plan.outputs:,} output frames")
    table.add_row("true runtime", clock(plan.timeline.duration))
    table.add_row(
        "frames",
        f"{counts.source:,} of film: {counts.repeated:,} repeats, {counts.held:,} held, "
        f"{counts.dropped:,} dropped",
    )
    frames = str(drift.largest) if is_short(drift.largest) else decimal(drift.largest, 3)
    frames = frames if len(frames) < _LONGEST_SHOWN else decimal(drift.largest, 3)
    table.add_row(
        "drift",
        f"at most {drift.largest_ms:.3f} ms ({frames} output frames), rms {drift.rms_ms:.3f} ms, "
        f"{_ms(drift.end)} at the end",
    )
    table.add_row("route", f"{choice.route or 'none'}: {choice.reason}")
    return table


def _side_by_side(makings: Sequence[_Reckoned]) -> RenderableType:
    """Return one table that compares the deliverables."""
    table = Table(
        box=box.SIMPLE_HEAD,
        title="side by side",
        title_justify="left",
        pad_edge=False,
        padding=(0, 2, 0, 0),
    )
    table.add_column("deliverable")
    table.add_column("version")
    for name in ("rate", "runtime", "output frames", "repeats", "held", "dropped", "drift at most"):
        table.add_column(name, justify="right")
    table.add_column("route")
    for reckoned in makings:
        making, counts = reckoned.making, reckoned.counts
        plan = making.plan
        table.add_row(
            making.name,
            making.deliverable.version,
            str(plan.conform.rate),
            clock(plan.runtime),
            f"{counts.outputs:,}",
            f"{counts.repeated:,}",
            f"{counts.held:,}",
            f"{counts.dropped:,}",
            f"{reckoned.drift.largest_ms:.3f} ms",
            str(reckoned.choice.route or "none"),
        )
    return table


def _ms(seconds: Fraction) -> str:
    sign = "+" if seconds > 0 else ""
    return f"{sign}{decimal(seconds * 1000, 3)} ms"
