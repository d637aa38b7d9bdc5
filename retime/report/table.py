"""The report as tables for a person: one block a deliverable, and all versions side by side."""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING

from rich import box
from rich.console import Group
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from retime.film.clock import clock
from retime.film.timecode import label
from retime.plan.drift import drift_of
from retime.plan.timeline import Eased
from retime.render.route import route_of
from retime.report.lengths import length_of
from retime.report.numbers import decimal, is_short
from retime.report.stretches import cadence_of, passages

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from rich.console import RenderableType

    from retime.edition.edition import Edition, Making
    from retime.plan.drift import Drift
    from retime.plan.plan import Plan
    from retime.plan.timeline import Reel
    from retime.report.stretches import Passage

__all__ = ["report_tables"]

_MOST = 3  # speeds or cadences told one by one in a row
_READABLE = 100  # a speed of a smaller denominator is told as a fraction
_LONGEST_SHOWN = 24


def report_tables(edition: Edition) -> RenderableType:
    """Return the whole report, ready to be printed."""
    blocks = [block for making in edition.makings for block in _block(edition, making)]
    title = Text.assemble(
        (edition.speed_map.film, "bold"),
        f"   {edition.speed_map.gauge.name}, {len(edition.scans)} reels, "
        f"{_source(edition):,} film frames",
    )
    return Group(title, Text(), *blocks, _side_by_side(edition))


def _source(edition: Edition) -> int:
    return edition.makings[0].plan.timeline.source_frames if edition.makings else 0


def _block(edition: Edition, making: Making) -> Iterable[RenderableType]:
    plan, drift = making.plan, drift_of(making.plan)
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
    by_reel: dict[str, list[Passage]] = {}
    for passage in passages(plan):
        by_reel.setdefault(passage.reel, []).append(passage)
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
    yield Padding(_sums(edition, making, drift), (0, 0, 1, 2))


def _rate(plan: Plan) -> str:
    conform = plan.conform
    if conform.run_change == 1:
        return f"{conform.rate} fps"
    return f"laid out at {conform.at}, run at {conform.rate} fps ({conform.cents:+.2f} cents)"


def _length(edition: Edition, reels: Sequence[Reel]) -> str:
    length = length_of(edition.speed_map, reels)
    return f"{decimal(length.feet, 1)} ft / {decimal(length.metres, 1)} m"


def _speeds(inside: list[Passage], plan: Plan) -> str:
    """Return the speeds of a reel as it is seen, or the span of many."""
    ends: set[Fraction] = set()
    for passage in inside:
        pace = passage.stretch.pace
        if isinstance(pace, Eased):
            ends |= {pace.ramp.first.fps, pace.ramp.last.fps}
        elif not passage.stretch.held:
            ends.add(1 / pace.duration)
    seen = sorted(end * plan.conform.run_change for end in ends)
    if len(seen) > _MOST:
        return f"{_fps(seen[0])}..{_fps(seen[-1])} fps ({len(seen)} speeds)"
    return ", ".join(map(_fps, seen)) + " fps" if seen else "held"


def _fps(fps: Fraction) -> str:
    return str(fps) if fps.denominator < _READABLE else decimal(fps, 3)


def _cadences(inside: list[Passage], plan: Plan) -> str:
    """Return the cadences of a reel, the longest passages first, as many as can be read."""
    frames: dict[tuple[Fraction, str], int] = {}
    for passage in inside:
        pace = passage.stretch.pace
        if isinstance(pace, Eased):
            key = (Fraction(0), "ramp")
        elif passage.stretch.held:
            continue
        else:
            key = (pace.duration, "")
        frames[key] = frames.get(key, 0) + passage.stretch.count
    told: list[str] = []
    for key in sorted(frames, key=lambda key: -frames[key])[:_MOST]:
        passage = next(one for one in inside if _is_of(one, key))
        told.append(key[1] or _cadence(plan, passage))
    more = len(frames) - len(told)
    return "\n".join(told) + (f"\nand {more} more" if more > 0 else "")


def _is_of(passage: Passage, key: tuple[Fraction, str]) -> bool:
    pace = passage.stretch.pace
    if isinstance(pace, Eased):
        return key[1] == "ramp"
    return not passage.stretch.held and pace.duration == key[0]


def _cadence(plan: Plan, passage: Passage) -> str:
    cadence = cadence_of(plan, passage)
    if cadence is None:
        return ""
    runs = str(cadence)
    if len(cadence.runs) > _LONGEST_SHOWN:
        runs = f"{cadence.film_frames} film frames in {cadence.outputs}"
    if cadence.slips_every is None:
        return runs
    return f"near {runs}, slips every {decimal(cadence.slips_every, 1)} frames"


def _sums(edition: Edition, making: Making, drift: Drift) -> Table:
    """Return what holds for the whole deliverable, a label and a sentence a row."""
    plan, counts, choice = making.plan, making.plan.counts(), route_of(edition, making)
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


def _side_by_side(edition: Edition) -> RenderableType:
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
    for making in edition.makings:
        plan, counts = making.plan, making.plan.counts()
        table.add_row(
            making.name,
            making.deliverable.version,
            str(plan.conform.rate),
            clock(plan.runtime),
            f"{counts.outputs:,}",
            f"{counts.repeated:,}",
            f"{counts.held:,}",
            f"{counts.dropped:,}",
            f"{drift_of(plan).largest_ms:.3f} ms",
            str(route_of(edition, making).route or "none"),
        )
    return table


def _ms(seconds: Fraction) -> str:
    sign = "+" if seconds > 0 else ""
    return f"{sign}{decimal(seconds * 1000, 3)} ms"
