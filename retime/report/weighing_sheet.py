"""The sheet that figures of a weighing are drawn on: one axis of speeds, and room above it.

It is drawn in a few inks, and nothing is told by shade alone. Text stays text, which whoever shows
the page has the letters for; the same weighing gives the same bytes.
"""

from __future__ import annotations

import logging
import re
import warnings
from contextlib import contextmanager
from io import StringIO
from typing import TYPE_CHECKING, Any

import matplotlib as mpl
import numpy as np
from matplotlib.backends.backend_svg import FigureCanvasSVG
from matplotlib.figure import Figure

from retime.evidence.curve import GRID
from retime.report.weighing_inks import DIM, HALF, INK, MOST, inked
from retime.report.weighing_measures import speed

if TYPE_CHECKING:
    from collections.abc import Collection, Iterable, Iterator

    from retime.evidence.weighing import Answer
    from retime.film.speed import Speed

__all__ = ["HEAD", "LABELS", "ROW", "Sheet", "plain_style"]

# All measures are inches; what is drawn stands below one another, y growing downwards.
LABELS, HEAD, ROW = 0.34, 0.23, 0.19
_WIDE, _LEFT, _RIGHT, _AXIS = 7.0, 1.85, 0.45, 0.42
_HALF, _MOST = (0.5, HALF), (0.9, MOST)
_LONGEST = 28
_NEAR = 0.045  # of the width: labels of candidates nearer than that stand in two rows
_EVERY = 5  # points of a curve, which are 1/500 of a frame per second apart
_STYLE: dict[Any, Any] = {
    "svg.fonttype": "none",
    "svg.hashsalt": "retime-weighing/1",
    "text.parse_math": False,
    "font.family": "DejaVu Sans",
    "font.size": 8,
    "axes.linewidth": 0.6,
    "lines.solid_capstyle": "butt",
}
_TAG = re.compile(r"<[^>]*>")  # no text holds a bare one
_NAMES = re.compile(r'( id="|href="#|url\(#)')


@contextmanager
def plain_style() -> Iterator[None]:
    """Draw in the style of the page, whatever style the user has set, and without a word.

    What matplotlib has to say, of fonts that it looks for and letters that they lack, is nobody's
    concern here: whoever shows the page brings the fonts.
    """
    logging.getLogger("matplotlib").setLevel(logging.ERROR)
    with mpl.rc_context(), warnings.catch_warnings():
        warnings.simplefilter("ignore")
        mpl.rcdefaults()
        mpl.rcParams.update(_STYLE)
        yield


class Sheet:
    """One figure while it is drawn, ``deep`` inches above the axis; ``at`` is how far down it is.

    It is made and drawn on in ``plain_style``.
    """

    def __init__(self, span: tuple[float, float], deep: float) -> None:
        """Open a sheet over a span of speeds."""
        self.slow, self.fast = span
        self.at, self.deep = LABELS, deep
        tall = deep + _AXIS
        self.figure = Figure(figsize=(_WIDE, tall))
        FigureCanvasSVG(self.figure)
        across = (_WIDE - _LEFT - _RIGHT) / _WIDE
        self.axes = self.figure.add_axes((_LEFT / _WIDE, _AXIS / tall, across, deep / tall))
        for empty in (self.figure.patch, self.axes.patch):
            empty.set_visible(False)  # the page's paper shows, and the shadow at its edges
        self.axes.set_xlim(self.slow, self.fast)
        self.axes.set_ylim(deep, 0)
        self.axes.set_yticks([])
        for side in ("left", "right", "top"):
            self.axes.spines[side].set_visible(False)
        self.axes.set_xticks(np.arange(self.slow, self.fast + 1))
        self.axes.tick_params(length=3, width=0.6)
        self.axes.set_xlabel("film frames per second", labelpad=2)

    def svg(self, name: str) -> str:
        """Return the figure as SVG to stand inside a page, its ids beginning with ``name``.

        Whoever hears the page is read its legend, whose id is ``name`` with ``-told``.
        """
        told = StringIO()
        self.figure.savefig(told, format="svg", metadata={"Date": None, "Creator": None})
        body = told.getvalue()
        opening, _, rest = body[body.index("<svg") :].partition(">")
        rest = re.sub(r"<(metadata|style).*?</\1>\s*", "", rest, flags=re.DOTALL)
        rest = _TAG.sub(lambda tag: _NAMES.sub(rf"\g<1>{name}-", tag[0]), rest)
        view = re.search(r'viewBox="[^"]*"', opening)
        heard = f'role="img" aria-labelledby="{name}-told"'
        return f"<svg {view[0] if view else ''} {heard}>{inked(rest)}".rstrip()

    def candidates(self, speeds: Iterable[Speed], presented: Collection[Speed]) -> None:
        """Draw a line for every candidate, a full one where it is worth presenting."""
        before, raised = -np.inf, False
        for one in sorted(speeds):
            x, present = float(one.fps), one in presented
            raised = not raised and (x - before) / (self.fast - self.slow) < _NEAR
            before = x
            style, shade, width = ("-", INK, 1.1) if present else ((0, (1.5, 2)), DIM, 0.8)
            self.axes.plot([x, x], [LABELS, self.deep], ls=style, color=shade, lw=width, zorder=1)
            self.axes.text(
                x,
                LABELS - (0.17 if raised else 0.05),
                speed(one),
                ha="center",
                color=INK if present else DIM,
                weight="bold" if present else "normal",
                clip_on=False,
            )

    def curve(self, answer: Answer, tall: float) -> None:
        """Draw how much every speed is supported, and go on below it."""
        density, base = answer.curve.density, self.at + tall
        heights = base - density / density.max() * (tall - 0.12)
        for share, shade in (_MOST, _HALF):
            for low, high in answer.curve.range(share):
                inside = (low <= GRID) & (high >= GRID)
                self.axes.fill_between(
                    GRID[inside][::_EVERY],
                    heights[inside][::_EVERY],
                    base,
                    color=shade,
                    lw=0,
                    zorder=0.5,
                )
        shown = (self.slow <= GRID) & (self.fast >= GRID)
        self.axes.plot(GRID[shown][::_EVERY], heights[shown][::_EVERY], color=INK, lw=1.2, zorder=3)
        self.axes.plot([self.slow, self.fast], [base, base], color=INK, lw=0.6, zorder=2)
        self.at = base

    def heading(self, left: str, right: str = "") -> None:
        """Write what stands below, and go on below that."""
        self.beside(self.at + HEAD * 0.62, left, style="italic", color=DIM)
        self.behind(self.at + HEAD * 0.62, right, style="italic", color=DIM)
        self.at += HEAD

    def beside(self, y: float, text: str, **style: Any) -> None:
        """Write to the left of the axis, shortened where it is long."""
        short = " ".join(text.split())
        short = short if len(short) <= _LONGEST else f"{short[: _LONGEST - 3]}..."
        self._edge(y, short, x=-0.02, ha="right", **style)

    def behind(self, y: float, text: str, **style: Any) -> None:
        """Write to the right of the axis."""
        self._edge(y, text, x=1.02, ha="left", **style)

    def _edge(self, y: float, text: str, *, x: float, **style: Any) -> None:
        across = self.axes.get_yaxis_transform()
        self.axes.text(x, y, text, transform=across, va="center", clip_on=False, **style)
