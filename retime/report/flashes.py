"""Flashes as tables for a person: a block a film or deliverable, and all of them side by side."""

from __future__ import annotations

from typing import TYPE_CHECKING

from rich import box
from rich.console import Group
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from retime.film.clock import clock
from retime.report.flash_words import (
    CAUTIONS,
    RECKONED,
    area_said,
    flashes_said,
    rate_said,
    verdict_said,
)

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from rich.console import RenderableType

    from retime.check.flashes import Answer, FlashReport

__all__ = ["flash_tables"]

_INDENT = (0, 0, 1, 2)
_MOST = 12


def flash_tables(reports: Sequence[FlashReport]) -> RenderableType:
    """Return what was found, ready to be printed, the cautions below it."""
    blocks: list[RenderableType] = []
    for report in reports:
        blocks += [_title(report), Padding(_questions(report), _INDENT)]
        failing = [answer for answer in report.answers if not answer.passes]
        if failing:
            blocks += [Text("  too many flashes"), Padding(_failing(failing), _INDENT)]
    if len(reports) > 1:
        blocks += [Text("side by side", style="bold"), Padding(_beside(reports), _INDENT)]
    blocks += list(_paragraphs("reckoned with", RECKONED))
    blocks += list(_paragraphs("cautions", CAUTIONS))
    return Group(*blocks)


def _title(report: FlashReport) -> Text:
    told = f"   {rate_said(report)}, {clock(report.runtime)}, {report.pictures:,} pictures"
    return Text.assemble((report.name, "bold"), told)


def _ruled() -> Table:
    return Table(box=box.SIMPLE_HEAD, pad_edge=False, padding=(0, 2, 0, 0))


def _questions(report: FlashReport) -> Table:
    table = _ruled()
    table.add_column("flashes", no_wrap=True)
    table.add_column("", no_wrap=True)
    table.add_column("most in a second", justify="right")
    table.add_column("on")
    table.add_column("from", justify="right", no_wrap=True)
    table.add_column("where", overflow="fold")
    for answer in report.answers:
        run, verdict = answer.worst, verdict_said(answer)
        if run is None:
            table.add_row(answer.question.name, verdict, "0")
            continue
        table.add_row(
            answer.question.name,
            Text(verdict, style="" if answer.passes else "bold"),
            flashes_said(run),
            area_said(answer, run),
            clock(run.start),
            Text(_where(run.timecode, run.where)),
        )
    return table


def _where(timecode: str | None, where: str) -> str:
    return ", ".join(part for part in (timecode, where) if part)


def _failing(answers: Sequence[Answer]) -> Table:
    table = _ruled()
    for name in ("from", "to"):
        table.add_column(name, justify="right", no_wrap=True)
    table.add_column("most in a second", justify="right")
    table.add_column("on")
    table.add_column("flashes", no_wrap=True)
    table.add_column("where", overflow="fold")
    for answer in answers:
        for run in answer.failing[:_MOST]:
            table.add_row(
                clock(run.start),
                clock(run.stop),
                flashes_said(run),
                area_said(answer, run),
                answer.question.name,
                Text(_where(run.timecode, run.where)),
            )
        if len(answer.failing) > _MOST:
            more = f"and {len(answer.failing) - _MOST} more"
            table.add_row("", "", "", more, answer.question.name, "")
    return table


def _beside(reports: Sequence[FlashReport]) -> Table:
    """Return the most flashes in a second of every deliverable, a column a question."""
    table = _ruled()
    table.add_column("deliverable", overflow="fold")
    table.add_column("version", overflow="fold")
    table.add_column("rate", justify="right")
    for answer in reports[0].answers:
        table.add_column(answer.question.name, justify="right")
    for report in reports:
        told = [
            f"{'0' if one.worst is None else flashes_said(one.worst)} {verdict_said(one)}"
            for one in report.answers
        ]
        rate = "" if report.rate is None else str(report.rate)
        table.add_row(report.name, report.version or "", rate, *told)
    return table


def _paragraphs(title: str, texts: Sequence[str]) -> Iterator[RenderableType]:
    yield Text(title, style="bold")
    for text in texts:
        yield Padding(Text(text), _INDENT)
