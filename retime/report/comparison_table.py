"""A comparison as tables for a person."""

from __future__ import annotations

from itertools import groupby
from typing import TYPE_CHECKING

from rich import box
from rich.console import Group
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from retime.film.clock import clock
from retime.report.comparison_values import told_frame
from retime.report.film_runs import run_said

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from rich.console import RenderableType

    from retime.edition.edition import Edition
    from retime.report.comparison import Comparison
    from retime.report.differences import Difference
    from retime.report.version_comparison import VersionPair
    from retime.report.version_parting import Spot

__all__ = ["comparison_tables"]

_MOST_ROWS = 10
"""So many differences are shown of one list of things; programs are told them all."""


def comparison_tables(left: Edition, right: Edition, comparison: Comparison) -> RenderableType:
    """Return what differs, ready to be printed."""
    if comparison.alike:
        return Text("nothing differs")
    blocks: list[RenderableType] = [
        Text.assemble(("left   ", "dim"), str(left.speed_map.tree.path)),
        Text.assemble(("right  ", "dim"), str(right.speed_map.tree.path)),
        Text(),
    ]
    for title, found in (
        ("film", comparison.film),
        ("reels", comparison.reels),
        ("shots", comparison.shots),
    ):
        blocks += _block(title, found)
    for pair in comparison.versions:
        blocks += _versions((left, right), pair)
    return Group(*blocks, *_block("deliverables", comparison.deliverables))


def _block(title: str, found: Iterable[Difference]) -> Iterable[RenderableType]:
    rows = list(_rows(found))
    if rows:
        yield Text(title, style="bold")
        yield Padding(_table(("", "", "left", "right"), rows), (0, 0, 0, 2))


def _rows(found: Iterable[Difference]) -> Iterator[tuple[str, str, str, str]]:
    """Yield a row a difference; of things of which there are many only the first ten."""
    for (of, what), group in groupby(found, key=lambda one: (one.of, one.what)):
        inside = list(group)
        for one in inside[:_MOST_ROWS]:
            said = ", ".join(filter(None, (f"{what} {one.item}" if one.item else what, one.key)))
            yield of, said, one.left or "", one.right or ""
        if len(inside) > _MOST_ROWS:
            yield of, f"{what}, {len(inside) - _MOST_ROWS} more differences", "", ""


def _table(names: Iterable[str], rows: Iterable[Iterable[str]]) -> Table:
    table = Table(box=box.SIMPLE_HEAD, pad_edge=False, padding=(0, 2, 0, 0))
    for name in names:
        table.add_column(name, overflow="fold")
    for row in rows:
        table.add_row(*map(Text, row))
    return table


def _versions(sides: tuple[Edition, Edition], pair: VersionPair) -> Iterable[RenderableType]:
    if pair.left is None or pair.right is None:
        side = "right" if pair.left is None else "left"
        yield Text.assemble(
            (f"version {pair.left or pair.right}", "bold"), f"   on the {side} only"
        )
        yield Text()
        return
    names = pair.left if pair.left == pair.right else f"{pair.left} and {pair.right}"
    yield Text(f"version {names}", style="bold")
    yield Padding(_sums(sides, pair), (0, 0, 0, 2))
    if pair.speeds:
        speeds = _speeds(sides, pair)
        yield Padding(_table(("reel", "frames", "left fps", "right fps"), speeds), (0, 0, 0, 2))
    rows = [row[1:] for row in _rows(pair.assembly)]
    if rows:
        yield Padding(_table(("assembly", "left", "right"), rows), (0, 0, 0, 2))
    if pair.cards:
        cards = [(shot, clock(ours), clock(others)) for shot, ours, others in pair.cards]
        yield Padding(_table(("title", "left", "right"), cards), (0, 0, 0, 2))


def _speeds(sides: tuple[Edition, Edition], pair: VersionPair) -> Iterator[Iterable[str]]:
    for ours, others in pair.speeds:
        run = ours or others
        if run is None:
            continue
        first, last = (told_frame(sides, run.reel, one) for one in (run.first, run.last))
        plays = [run_said(one) or "does not play" for one in (ours, others)]
        yield (run.reel, f"{first}-{last}", *plays)


def _sums(sides: tuple[Edition, Edition], pair: VersionPair) -> Table:
    """Return what holds for two versions as a whole."""
    rows = []
    if pair.runtimes is not None:
        rows.append(("true runtime", *map(clock, pair.runtimes)))
    if pair.parts is not None:
        spots = (pair.parts.left, pair.parts.right)
        shown = [_spot(side, spot) for side, spot in zip(sides, spots, strict=True)]
        rows.append((f"they part at {clock(pair.parts.seconds)}", *shown))
    rows += [(f"titles: {one.what}", one.left or "", one.right or "") for one in pair.titles]
    return _table(("", "left", "right"), rows)


def _spot(side: Edition, spot: Spot | None) -> str:
    if spot is None:
        return "the end"
    shot = f"shot {spot.reel}/{spot.shot}" if spot.shot is not None else f"reel {spot.reel}"
    if spot.frame is None:
        called = f" ({spot.name})" if spot.name else ""
        return f"{shot}, {spot.picture or 'black'}{called}"
    return f"{shot}, frame {told_frame((side, side), spot.reel, spot.frame)}"
