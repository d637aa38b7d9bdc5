"""A weighing as tables for a person: the verdicts first, then what they come from."""

from __future__ import annotations

from typing import TYPE_CHECKING

from msgspec import Struct
from rich import box
from rich.console import Group
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from retime.report.weighing_doubts import (
    carrier_said,
    conflict_said,
    settling_purpose,
    settling_said,
    settling_title,
    suspect_said,
)
from retime.report.weighing_measures import grouped, ranges_said, speed
from retime.report.weighing_rows import candidate_heads, candidate_rows, item_rows, without_rows
from retime.report.weighing_sections import fit_said, section_rows
from retime.report.weighing_words import (
    FACTORS,
    WORDINGS,
    best_said,
    groups_said,
    left_out_said,
    link_said,
    notes_on,
    overall_said,
    strengths_of,
    verdict_said,
)

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from rich.console import Console, ConsoleOptions, RenderableType, RenderResult

    from retime.evidence.model import Evidence, Item
    from retime.evidence.weighing import Answer, Weighing
    from retime.report.weighing_rows import ItemRow

__all__ = ["weighing_tables"]

_NAMED, _SAID = 40, 19
"""How wide what an item says is at least, and what it should have said at a candidate at most."""

_INDENT = (0, 0, 0, 2)
_LAST = (0, 0, 1, 2)


def weighing_tables(evidence: Evidence, weighing: Weighing) -> RenderableType:
    """Return the whole weighing, ready to be printed."""
    items = evidence.items
    count = f"{len(items)} item{'' if len(items) == 1 else 's'} of evidence"
    title = Text.assemble(
        (evidence.film, "bold"),
        f"   {evidence.gauge.name}, {grouped(evidence.length.value, 0)} film frames, {count}",
    )
    told: list[RenderableType] = [title, Text()]
    overall = overall_said(weighing)
    if overall:
        told += [Text(overall, "bold"), Text()]
    told += [Text(link_said(link)) for link in evidence.links]
    told += [Text()] if evidence.links else []
    for answer in weighing.answers:
        told += _answer(answer, items)
    if not weighing.answers:
        told += [Text("Nothing that is to be trusted speaks to any question."), Text()]
    told += _conflicts(weighing, items)
    rows = list(item_rows(evidence))
    told += [Text("the items", "bold"), Padding(_items(rows), _INDENT)]
    told += [Padding(Text(one), _INDENT) for one in (*groups_said(items), *left_out_said(items))]
    told += [Text(), Text("what each says", "bold"), Padding(_said(rows), _INDENT)]
    told += [Text("what each should have said", "bold")]
    told += [Padding(_ShouldSay(evidence=evidence, rows=rows), _INDENT)]
    told += [Padding(Text("fits: within what the item states"), _LAST)]
    for item in items:
        told += _score(evidence, item)
    told += [Text(FACTORS), Text(f"Words for factors: {WORDINGS}", "dim")]
    return Group(*told)


def _ruled(*columns: str, right: Iterable[str] = ()) -> Table:
    """Return a table whose columns stand left, but for those in ``right``."""
    table = Table(box=box.SIMPLE_HEAD, pad_edge=False, padding=(0, 2, 0, 0))
    for name in columns:
        table.add_column(name, justify="right" if name in right else "left", overflow="fold")
    return table


def _bare() -> Table:
    table = Table(box=None, show_header=False, pad_edge=False, padding=(0, 2, 0, 0))
    table.add_column(style="dim", no_wrap=True)
    table.add_column(overflow="fold")
    return table


def _listed(sentences: Iterable[str]) -> Table:
    table = Table(box=None, show_header=False, pad_edge=False, padding=(0, 1, 0, 0))
    for one in sentences:
        table.add_row("-", Text(one))
    return table


def _answer(answer: Answer, items: Sequence[Item]) -> Iterable[RenderableType]:
    yield Text(verdict_said(answer), "bold")
    for note in notes_on(answer, items):
        yield Padding(Text(note), _INDENT)
    found = _bare()
    found.add_row("most supported", best_said(answer))
    found.add_row("50 % range", ranges_said(answer.curve.range(0.5)))
    found.add_row("90 % range", ranges_said(answer.curve.range(0.9)))
    yield Padding(found, _INDENT)
    yield Padding(_candidates(answer), _INDENT)
    if answer.pairs:
        pairs = _bare()
        for words, told in strengths_of(answer):
            pairs.add_row(words, told)
        yield Padding(pairs, _LAST)
    if len(answer.without) > 1:
        yield Padding(_without(answer), _INDENT)
    yield Padding(Text(carrier_said(answer)), _LAST)
    title = settling_title(answer)
    if title:
        yield Padding(Text(f"{title}. {settling_purpose(answer)}"), _INDENT)
        yield Padding(_listed(words for _, words in settling_said(answer)), _LAST)


def _candidates(answer: Answer) -> Table:
    right = ("candidate", *candidate_heads(answer))
    table = _ruled(*right, "", right=right)
    for row in candidate_rows(answer):
        present = "worth presenting" if row.present else ""
        table.add_row(f"{row.speed} fps", row.support, row.times, present)
    return table


def _without(answer: Answer) -> Table:
    names = ("without", "most supported", "presented", "verdict", "it speaks for")
    table = _ruled(*names, right=("most supported",))
    for row in without_rows(answer):
        turns = Text("turns", "bold") if row.turns else Text("stays")
        best = f"{row.best} fps" if row.best else ""
        table.add_row(Text(row.item), best, row.presented, turns, row.speaks)
    return table


def _conflicts(weighing: Weighing, items: Sequence[Item]) -> Iterable[RenderableType]:
    if not weighing.conflicts:
        return
    yield Text("what is at odds", "bold")
    yield Padding(_listed(conflict_said(one, items) for one in weighing.conflicts), _INDENT)
    suspect = suspect_said(weighing)
    if suspect:
        yield Padding(Text(suspect), _INDENT)
    yield Text()


def _items(rows: Iterable[ItemRow]) -> Table:
    table = _ruled("item", "kind", "about", "trust", "group", "source", right=("trust",))
    table.columns[0].no_wrap = True
    for row in rows:
        one = row.item
        if row.first:
            cells = (one.id, one.kind, one.question, row.trust, one.group or "", one.source)
            table.add_row(*(Text(cell) for cell in cells))
    return table


def _said(rows: Iterable[ItemRow]) -> Table:
    right = ("lowest", "fps", "highest")
    table = _ruled("item", "says", *right, right=right)
    table.columns[0].no_wrap = True
    for row in rows:
        name = Text(row.item.id if row.first else "")
        said = Text(f"{row.part}: {row.said}" if row.part else row.said)
        table.add_row(name, said, row.lowest, row.centre, row.highest)
    return table


class _ShouldSay(Struct, frozen=True, kw_only=True):
    """What each item should have said, in tables of as many candidates as have room."""

    evidence: Evidence
    rows: Sequence[ItemRow]

    def __rich_console__(self, _console: Console, options: ConsoleOptions) -> RenderResult:
        abreast = max(2, (options.max_width - _NAMED) // _SAID)
        for first in range(0, len(self.evidence.candidates), abreast):
            yield self._table(first, first + abreast)

    def _table(self, first: int, stop: int) -> Table:
        heads = [f"at {speed(one)} fps" for one in self.evidence.candidates[first:stop]]
        table = _ruled("item", *heads, right=heads)
        for column in table.columns[1:]:
            column.no_wrap = True
        for row in self.rows:
            cells = [
                Text.assemble(cell.text, (" fits" if cell.fits else "     ", "bold"))
                for cell in row.cells[first:stop]
            ]
            table.add_row(Text(f"{row.item.id}: {row.said}"), *cells)
        return table


def _score(evidence: Evidence, item: Item) -> Iterable[RenderableType]:
    if item.score is None:
        return
    yield Text.assemble((item.id, "bold"), f"   {fit_said(item.score)}")
    right = ("print", "music", "fps")
    table = _ruled("section", *right, "", right=right)
    for row in section_rows(evidence, item.score):
        table.add_row(
            Text(row.name),
            row.length,
            row.time,
            row.speed,
            Text(row.told, "" if row.fits else "bold"),
        )
    yield Padding(table, _INDENT)
    yield Padding(Text("± is one standard uncertainty"), _LAST)
