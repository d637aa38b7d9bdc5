"""Speed over the film as a page draws it: a version's line, and its reels, shots and titles."""

from __future__ import annotations

from fractions import Fraction
from itertools import pairwise
from typing import TYPE_CHECKING, NamedTuple

from msgspec import Struct

from retime.plan.onset import lag_of
from retime.plan.timeline import Eased
from retime.report.plotting import WIDE, Mark, Scale, lines, percent, steps, times, values
from retime.speedmap.model import ShotKind

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Mapping, Sequence

    from retime.plan.timeline import Stretch, Timeline

__all__ = ["Block", "Lane", "SpeedFigure", "speed_figures"]

_BENDS = 8  # pieces of a straight line that a ramp's curve is drawn by
_LETTER, _NARROW = 0.0085, 0.028  # of a figure's width, for a letter: on a wide page, on a narrow
_LONGEST = 8  # letters of a label
_APART = 0.004  # of a figure's width: narrower bars that touch are drawn as one


class Block(NamedTuple):
    """A part of a lane, with a label where there is room; ``spare`` if a narrow page has none."""

    at: str
    wide: str
    label: str = ""
    spare: bool = False


class Lane(NamedTuple):
    """A band below a plot; ``solid`` blocks stand alone, the others fill it from cut to cut."""

    name: str
    blocks: list[Block]
    solid: bool
    ticks: str = ""


class SpeedFigure(Struct, frozen=True, kw_only=True):
    """One version's plot: paths in the plot's box, marks and lanes in percents."""

    version: str
    path: str
    reels: str
    fps: list[Mark]
    times: list[Mark]
    lanes: list[Lane]
    told: str


def speed_figures(timelines: Mapping[str, Timeline]) -> list[SpeedFigure]:
    """Return the plots of versions, by name, all to the same scales so that they compare."""
    if not timelines:
        return []
    along = Scale(0.0, max(float(one.duration) for one in timelines.values()))
    runs = {name: _runs(timeline) for name, timeline in timelines.items()}
    speeds = [fps for parts in runs.values() for part in parts for _, fps in part]
    upright, round_ones = values(min(speeds, default=0.0), max(speeds, default=0.0))
    marks = [Mark(at=percent(1 - upright.share(fps)), label=f"{fps:g}") for fps in round_ones]
    return [
        SpeedFigure(
            version=name,
            path=steps(
                [[(along.across(at), upright.down(fps)) for at, fps in part] for part in run]
            ),
            reels=_bounds([float(reel.start) for reel in timelines[name].reels[1:]], along),
            fps=marks,
            times=times(along),
            lanes=list(_lanes(timelines[name], along)),
            told=_told(timelines[name], run),
        )
        for name, run in runs.items()
    ]


def _begins(stretch: Stretch) -> float:
    return -lag_of(0, stretch.start, stretch.near, Fraction(1))


def _runs(timeline: Timeline) -> list[list[tuple[float, float]]]:
    """Return lines of seconds and film frames a second, broken where no speed rules."""
    runs: list[list[tuple[float, float]]] = []
    joined = False
    for stretch in timeline.stretches:
        if stretch.held or stretch.inset:
            joined = False
            continue
        points = list(_line(stretch))
        if joined:
            runs[-1] += points
        else:
            runs.append(points)
        joined = True
    return runs


def _line(stretch: Stretch) -> Iterable[tuple[float, float]]:
    start, pace = _begins(stretch), stretch.pace
    if not isinstance(pace, Eased):
        fps = 1 / float(pace.duration)
        yield start, fps
        yield start + float(pace.elapsed(stretch.count)), fps
        return
    for bend in range(_BENDS + 1):
        slot = stretch.count * bend // _BENDS
        lasts = pace.ramp.duration(pace.index + min(slot, stretch.count - 1), pace.span)
        yield start + float(pace.elapsed(slot)), 1 / float(lasts * pace.scale)


def _lanes(timeline: Timeline, along: Scale) -> Iterable[Lane]:
    """Yield the reels, the shots, and what else there is: titles, holds, what is put in."""
    reels = [(float(one.start), float(one.stop), one.name) for one in timeline.reels]
    yield Lane("reels", _blocks(reels, along), solid=False, ticks=_bounds(_ends(reels), along))
    units = [
        (float(one.start), float(one.stop), one.shot or "", one.kind) for one in timeline.units
    ]
    shots = [(start, stop, name) for start, stop, name, _ in units]
    if any(name for _, _, name in shots):
        yield Lane("shots", _blocks(shots, along), solid=False, ticks=_bounds(_ends(shots), along))
    titles = [(start, stop, "") for start, stop, _, kind in units if kind is ShotKind.TITLE]
    if titles:
        yield Lane("titles", _blocks(titles, along), solid=True)
    for name, chosen in _KINDS.items():
        found = [_span(stretch) for stretch in timeline.stretches if chosen(stretch)]
        if found:
            yield Lane(name, _blocks(found, along), solid=True)


_KINDS: Mapping[str, Callable[[Stretch], bool]] = {
    "held": lambda stretch: stretch.held and not stretch.inset,
    "put in": lambda stretch: stretch.inset,
}


def _span(stretch: Stretch) -> tuple[float, float, str]:
    start = _begins(stretch)
    return start, start + float(stretch.pace.elapsed(stretch.count)), ""


def _ends(spans: Sequence[tuple[float, float, str]]) -> list[float]:
    return [0.0, *(stop for _, stop, _ in spans)]


def _blocks(spans: Sequence[tuple[float, float, str]], along: Scale) -> list[Block]:
    """Return blocks; the nameless that no screen would show apart are one, names need room."""
    joined: list[tuple[float, float, str]] = []
    for begin, end, name in spans:
        start, stop = along.share(begin), along.share(end)
        if not name and joined and start - joined[-1][1] < 1 / WIDE and stop - start < _APART:
            joined[-1] = (joined[-1][0], stop, "")
        else:
            joined.append((start, stop, name))
    blocks = []
    for start, stop, name in joined:
        wide = max(stop - start, 1 / WIDE)
        short = name if len(name) <= _LONGEST else f"{name[: _LONGEST - 1]}…"
        letters = len(short) + 1
        if not name:
            blocks.append(Block(percent(start), percent(wide)))
        elif letters * _LETTER <= wide:
            narrow = letters * _NARROW > wide
            blocks.append(Block(percent(start), percent(wide), short, spare=narrow))
    return blocks


def _bounds(seconds: Sequence[float], along: Scale) -> str:
    """Return upright lines through the plot's box, those that stand in one place drawn once."""
    found = sorted({round(along.across(one), -1) for one in seconds})
    return lines((x, 0, 2000) for x in found)


def _told(timeline: Timeline, run: Sequence[Sequence[tuple[float, float]]]) -> str:
    """Say in a sentence what is drawn."""
    speeds = [fps for part in run for _, fps in part]
    if not speeds:
        return "Nothing but what is held or put in."
    low, high = min(speeds), max(speeds)
    told = f"{low:.5g} fps throughout" if low == high else f"from {low:.5g} to {high:.5g} fps"
    cuts = sum(before.shot != after.shot for before, after in pairwise(timeline.units))
    titles = sum(one.kind is ShotKind.TITLE for one in timeline.units)
    counts = (len(timeline.reels), "reel"), (cuts, "cut"), (titles, "title")
    return ", ".join([told, *(f"{n:,} {noun}{'' if n == 1 else 's'}" for n, noun in counts)]) + "."
