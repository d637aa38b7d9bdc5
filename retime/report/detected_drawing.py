"""A transfer's changes from picture to picture, drawn, with the cadence that was found in them.

Repeats are open circles at the foot, new pictures full ones above; nothing is told by shade alone,
text stays text, and the same findings give the same bytes.
"""

from __future__ import annotations

import logging
import warnings
from io import BytesIO
from typing import TYPE_CHECKING, Any

import matplotlib as mpl
import numpy as np
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.backends.backend_svg import FigureCanvasSVG
from matplotlib.figure import Figure

from retime.report.detected_words import cadence_said, overall_said, ratio_said, what_said

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from retime.detect.detection import Detection
    from retime.signal.shown import Stretch

__all__ = ["PICTURES", "detected_drawing"]

PICTURES = (".svg", ".png")
"""The endings of files that it can be drawn into."""

_WIDE, _PANEL, _HEAD, _FOOT = 10.0, 1.35, 0.6, 0.55
_A_PANEL, _MOST_PANELS = 240, 16
_LEAST = 0.02
_LETTERS = 150
_DOTS = 600  # beyond so many pictures in a panel, dots run into one another
_STYLE: dict[Any, Any] = {
    "svg.fonttype": "none",
    "svg.hashsalt": "retime-detection/1",
    "text.parse_math": False,
    "font.family": "DejaVu Sans",
    "font.size": 7,
    "axes.linewidth": 0.6,
}


def detected_drawing(found: Detection, ending: str) -> bytes:
    """Return the drawing as a file of an ending that is one of ``PICTURES``."""
    logging.getLogger("matplotlib").setLevel(logging.ERROR)
    kind = ending[1:]
    told = BytesIO()
    with mpl.rc_context(), warnings.catch_warnings():
        warnings.simplefilter("ignore")  # of letters that a font lacks
        mpl.rcdefaults()
        mpl.rcParams.update(_STYLE)
        figure = _figure(found, kind)
        metadata = {"Date": None, "Creator": None} if kind == "svg" else {"Software": None}
        figure.savefig(told, format=kind, dpi=120, metadata=metadata)
    return told.getvalue()


def _figure(found: Detection, kind: str) -> Figure:
    panels = min(_MOST_PANELS, -(-found.frames // _A_PANEL))
    length = -(-found.frames // panels)
    tall = _HEAD + panels * _PANEL + _FOOT
    figure = Figure(figsize=(_WIDE, tall))
    (FigureCanvasSVG if kind == "svg" else FigureCanvasAgg)(figure)
    figure.text(0.06, 1 - 0.2 / tall, found.file.name, weight="bold", va="center")
    figure.text(0.06, 1 - 0.38 / tall, overall_said(found), va="center")
    highest = float(max(found.trace.change.max(initial=0), 1)) * 4
    for number in range(panels):
        bottom = tall - _HEAD - _PANEL * (number + 1) + 0.28
        axes = figure.add_axes((0.06, bottom / tall, 0.92, (_PANEL - 0.5) / tall))
        axes.set_yscale("log")
        axes.set_yticks([0.01, 1, 100, 10_000], ["0.01", "1", "100", "10000"])
        axes.minorticks_off()
        axes.set_ylim(_LEAST / 2, highest)
        first = found.first + number * length
        axes.set_xlim(first - 1, first + length)
        _panel(axes, found, first, min(first + length, found.first + found.frames))
    figure.text(
        0.06,
        0.22 / tall,
        "change of a picture since the one before, mean squared, in codes of 8 bits;  "
        "\u25cf shows another film frame   \u25cb repeats   bars: where a cadence begins",
        va="center",
    )
    return figure


def _panel(axes: Axes, found: Detection, first: int, stop: int) -> None:
    within = slice(first - found.first, stop - found.first)
    pictures = np.arange(first, stop)
    change = np.maximum(found.trace.change[within], _LEAST)
    new = found.trace.new[within]
    axes.plot(pictures, change, color="0.6", lw=0.6, zorder=1)
    if len(pictures) <= _DOTS:
        axes.plot(pictures[new], change[new], "o", color="0.1", ms=2.2, zorder=3)
        repeats = axes.plot(pictures[~new], change[~new], "o", mec="0.1", ms=2.6, zorder=2)
        for one in repeats:
            one.set(mfc="1.0", mew=0.5)
    for side in ("right", "top"):
        axes.spines[side].set_visible(False)
    for number, stretch in enumerate(found.stretches):
        if stretch.last < first or stretch.first >= stop:
            continue
        begin = max(stretch.first, first)
        if stretch.first >= first:
            axes.axvline(stretch.first - 0.5, color="0.1", lw=0.8)
        if number % 2:
            axes.axvspan(begin - 0.5, min(stretch.last + 1, stop) - 0.5, color="0.93", zorder=0)
        room = int((min(stretch.last + 1, stop) - begin) / (stop - first) * _LETTERS)
        name = _name(stretch, found)
        if len(name) <= room:
            axes.text(begin, axes.get_ylim()[1], name, va="bottom")


def _name(stretch: Stretch, found: Detection) -> str:
    parts = (ratio_said(stretch, found.rate_said), cadence_said(stretch)[:40])
    return "  ".join(part for part in parts if part) or what_said(stretch)
