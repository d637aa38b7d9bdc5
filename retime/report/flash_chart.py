"""The chart of the flash check: flashes a second over time, against the limit.

One panel a film or deliverable, all over the same seconds. It is drawn in greys, and nothing is
told by shade alone; text stays text, and the same findings give the same bytes.
"""

from __future__ import annotations

import logging
import warnings
from io import StringIO
from typing import TYPE_CHECKING, Any

import matplotlib as mpl
from matplotlib.backends.backend_svg import FigureCanvasSVG
from matplotlib.figure import Figure

from retime.check.flash_limits import BEYOND, Kind, Standard
from retime.film.clock import clock
from retime.report.flash_words import IN_SHORT, flashes_said, rate_said

if TYPE_CHECKING:
    from collections.abc import Sequence

    from matplotlib.axes import Axes

    from retime.check.flashes import Answer, FlashReport

__all__ = ["flash_chart"]

_WIDE, _PANEL, _FOOT, _NOTE = 8.0, 1.7, 0.75, 0.2
_ABOVE, _BELOW = 0.3, 0.25  # of a panel
_LIMIT = float(BEYOND)
_ROOM = 1.25
_STYLE: dict[Any, Any] = {
    "svg.fonttype": "none",
    "svg.hashsalt": "retime-flashes/1",
    "text.parse_math": False,
    "font.family": "DejaVu Sans",
    "font.size": 8,
    "axes.linewidth": 0.6,
}
_LINES = {
    (Standard.WCAG, Kind.GENERAL): ("-", "0.1", 1.0),
    (Standard.BROADCAST, Kind.GENERAL): ("-", "0.7", 2.8),
    (Standard.WCAG, Kind.RED): (":", "0.1", 1.2),
    (Standard.BROADCAST, Kind.RED): ((0, (3, 1)), "0.7", 2.8),
}


def flash_chart(reports: Sequence[FlashReport]) -> str:
    """Return the chart as SVG."""
    logging.getLogger("matplotlib").setLevel(logging.ERROR)
    with mpl.rc_context(), warnings.catch_warnings():
        warnings.simplefilter("ignore")  # of letters that a font lacks: who shows it has others
        mpl.rcdefaults()
        mpl.rcParams.update(_STYLE)
        told = StringIO()
        _figure(reports).savefig(told, format="svg", metadata={"Date": None, "Creator": None})
    return told.getvalue()


def _figure(reports: Sequence[FlashReport]) -> Figure:
    tall = _PANEL * len(reports) + _FOOT
    figure = Figure(figsize=(_WIDE, tall))
    FigureCanvasSVG(figure)
    longest = max(float(report.runtime) for report in reports)
    most = max([_LIMIT, *(float(x) for one in reports for a in one.answers for x in a.series)])
    for number, report in enumerate(reports):
        bottom = tall - _PANEL * (number + 1) + _BELOW
        axes = figure.add_axes((0.07, bottom / tall, 0.9, (_PANEL - _ABOVE - _BELOW) / tall))
        axes.set_xlim(0, longest or 1)
        axes.set_ylim(0, most * _ROOM)
        _panel(axes, report)
    axes.set_xlabel("seconds")
    handles, labels = axes.get_legend_handles_labels()
    figure.legend(
        handles,
        labels,
        loc="lower center",
        bbox_to_anchor=(0.5, _NOTE / tall),
        ncols=len(labels),
        frameon=False,
    )
    figure.text(0.5, _NOTE / 2 / tall, IN_SHORT, ha="center")
    return figure


def _panel(axes: Axes, report: FlashReport) -> None:
    verdict = "passes" if report.passes else "fails"
    axes.set_title(f"{report.name}, {rate_said(report)}: {verdict}", loc="left", fontsize=8)
    axes.set_ylabel("flashes a second")
    for side in ("right", "top"):
        axes.spines[side].set_visible(False)
    axes.axhline(_LIMIT, color="0.1", lw=0.6)
    limit = f"the limit, {_LIMIT:g}"
    axes.text(1, _LIMIT, limit, transform=axes.get_yaxis_transform(), ha="right", va="bottom")
    for answer in report.answers:
        _line(axes, answer)
        for run in answer.failing:
            axes.axvspan(float(run.start), float(run.stop), color="0.9", lw=0, zorder=0)
    failing = [one for one in report.answers if one.worst is not None and not one.passes]
    if failing:
        _mark(axes, max(failing, key=lambda one: one.worst.weight if one.worst else (0, 0)))


def _line(axes: Axes, answer: Answer) -> None:
    style, shade, width = _LINES[answer.question.standard, answer.question.kind]
    edges = range(len(answer.series) + 1)
    values = [float(flashes) for flashes in answer.series]
    name = answer.question.name.replace("Rec. ITU-R ", "")
    # Broad lines lie below thin ones, so that both are seen where they are one.
    axes.stairs(values, edges, ls=style, color=shade, lw=width, zorder=4 - width, label=name)


def _mark(axes: Axes, answer: Answer) -> None:
    """Mark the worst second, and say what it is."""
    run = answer.worst
    if run is None:
        return
    x, y = float(run.start + run.stop) / 2, float(run.flashes)
    axes.plot([x], [y], marker="v", color="0.1", ms=5, clip_on=False)
    told = f" {flashes_said(run)} at {clock(run.start)}, {answer.question.name}"
    late = x > sum(axes.get_xlim()) / 2
    axes.text(x, y, f"{told} ", ha="right" if late else "left", va="bottom")
