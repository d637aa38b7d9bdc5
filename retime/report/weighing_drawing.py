"""The figures of a weighing: all questions at a glance, and each with what speaks to it."""

from __future__ import annotations

from itertools import groupby
from typing import TYPE_CHECKING

from retime.evidence.model import Sense
from retime.evidence.score import Standing
from retime.report.weighing_bars import bars_of
from retime.report.weighing_inks import DIM, INK, PALE, PAPER
from retime.report.weighing_measures import HAPPENED, lengths_said, plain
from retime.report.weighing_sheet import HEAD, LABELS, ROW, Sheet, plain_style

if TYPE_CHECKING:
    from retime.evidence.model import Evidence, Item
    from retime.evidence.score import ScoreFit
    from retime.evidence.weighing import Answer, Weighing
    from retime.report.weighing_bars import Bar

__all__ = ["glance", "question"]

_CURVE, _SMALL, _GAP = 1.5, 0.75, 0.08
_BAR, _DOT = 0.13, 3.6
_FAINT, _FULL = 0.03, 0.72  # how much ink lies on a bar without trust, and on one of full trust


def glance(evidence: Evidence, weighing: Weighing, span: tuple[float, float]) -> str:
    """Return the curves of all questions below one another, as SVG to stand inside a page."""
    with plain_style():
        sheet = Sheet(span, LABELS + _SMALL * len(weighing.answers))
        sheet.candidates(evidence.candidates, ())
        for answer in weighing.answers:
            sheet.beside(sheet.at + _SMALL * 0.75, HAPPENED[answer.question])
            bounds = sheet.at + 0.06, sheet.at + _SMALL
            for one in answer.verdict.presentable:
                sheet.axes.plot([float(one.fps)] * 2, bounds, color=INK, lw=1.1, zorder=1)
            sheet.curve(answer, _SMALL)
        return sheet.svg("glance")


def question(evidence: Evidence, answer: Answer, span: tuple[float, float]) -> str:
    """Return an answer's curve with its items and the sections of its scores, in the same way."""
    bars = [(over, list(some)) for over, some in groupby(bars_of(evidence, answer), _over)]
    scores = [
        (item, item.score)
        for item in evidence.items
        if item.score is not None and item.question is answer.question
    ]
    counts = [len(some) for _, some in bars] + [len(fit.sections) for _, fit in scores]
    with plain_style():
        sheet = Sheet(span, LABELS + _CURVE + sum(HEAD + ROW * count + _GAP for count in counts))
        sheet.candidates(evidence.candidates, answer.verdict.presentable)
        sheet.beside(sheet.at + 0.16, "support")
        sheet.curve(answer, _CURVE)
        for over, some in bars:
            sheet.heading("items" if over is None else f"over the link: {over}", "trust")
            for bar in some:
                _draw_bar(sheet, bar)
            sheet.at += _GAP
        for item, fit in scores:
            _draw_score(sheet, evidence, item, fit)
        return sheet.svg(str(answer.question))


def _over(bar: Bar) -> object:
    return bar.over


def _draw_bar(sheet: Sheet, bar: Bar) -> None:
    middle, mine = sheet.at + ROW / 2, bar.centre is not None
    sheet.beside(middle, bar.label)
    sheet.behind(middle, plain(bar.trust, 3))
    sheet.at += ROW
    low, high = max(bar.low, sheet.slow), min(bar.high, sheet.fast)
    if low < high:
        sheet.axes.barh(
            middle,
            high - low,
            left=low,
            height=_BAR,
            facecolor=PAPER,
            edgecolor=INK if mine else DIM,
            linestyle="-" if mine else "--",
            linewidth=0.6,
            zorder=4,
        )
        shaded = INK, round(_FAINT + (_FULL - _FAINT) * bar.trust, 3) if mine else 0
        sheet.axes.barh(middle, high - low, left=low, height=_BAR, facecolor=shaded, zorder=4)
    _draw_ends(sheet, bar, middle)
    if bar.centre is not None and sheet.slow <= bar.centre <= sheet.fast:
        sheet.axes.plot(bar.centre, middle, "D", ms=_DOT, mfc=PAPER, mec=INK, mew=0.8, zorder=6)


def _draw_ends(sheet: Sheet, bar: Bar, y: float) -> None:
    """Draw the arrow of a limit to its open end, and mark what else reaches beyond the axis."""
    open_end = {Sense.AT_LEAST: sheet.fast, Sense.AT_MOST: sheet.slow}.get(bar.sense)
    start = bar.high if bar.sense is Sense.AT_LEAST else bar.low
    start = min(max(start, sheet.slow), sheet.fast)
    if open_end is not None and start != open_end:
        arrow = {"arrowstyle": "->", "lw": 0.9, "color": INK, "shrinkA": 0}
        sheet.axes.annotate("", (open_end, y), (start, y), arrowprops=arrow, zorder=4)
    for edge, beyond, mark in (
        (sheet.slow, bar.low < sheet.slow, "<"),
        (sheet.fast, bar.high > sheet.fast, ">"),
    ):
        if beyond and not (edge == open_end != start):
            sheet.axes.plot(edge, y, mark, ms=_DOT, color=INK, clip_on=False, zorder=6)


def _draw_score(sheet: Sheet, evidence: Evidence, item: Item, fit: ScoreFit) -> None:
    sheet.heading(f"{item.id}, by section")
    _draw_runs(sheet, fit)
    for one in fit.sections:
        middle = sheet.at + ROW / 2
        found, doubt = float(one.section.speed.value), one.section.speed.uncertainty
        inside = INK if one.standing is Standing.FITS else PAPER
        sheet.beside(middle, one.section.name)
        sheet.axes.plot([found - doubt, found + doubt], [middle, middle], color=INK, lw=1.1)
        sheet.axes.plot(found, middle, "o", ms=_DOT, mec=INK, mfc=inside, zorder=6)
        if one.frames is not None:
            told = lengths_said(evidence, one.frames).split(" (", maxsplit=1)[0]
            _note(sheet, found, doubt, f"{told} {one.standing}")
        sheet.at += ROW
    sheet.at += _GAP


def _draw_runs(sheet: Sheet, fit: ScoreFit) -> None:
    """Draw the speed that all sections have in common, or that of each run of them."""
    stops = [first for first, _ in fit.runs[1:]] + [len(fit.sections)]
    for (first, common), stop in zip(fit.runs, stops, strict=True):
        reached = sheet.at + ROW * first, sheet.at + ROW * stop
        value, doubt = float(common.value), common.uncertainty
        sheet.axes.fill_betweenx(
            reached, value - doubt, value + doubt, color=PALE, lw=0, zorder=0.6
        )
        sheet.axes.plot([value, value], reached, color=INK, lw=1.0, ls="-.", zorder=2)


def _note(sheet: Sheet, x: float, doubt: float, text: str) -> None:
    """Write beside a point, on the side where there is room."""
    left = x < (sheet.slow + sheet.fast) / 2
    room = doubt + (sheet.fast - sheet.slow) / 60
    sheet.axes.text(
        x + room if left else x - room,
        sheet.at + ROW / 2,
        text,
        ha="left" if left else "right",
        va="center",
        style="italic",
        bbox={"facecolor": PAPER, "edgecolor": "none", "pad": 0.8},
        zorder=5,
    )
