"""What ``retime reckon`` tells: the answers by the convention taken, and by the other."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from rich import box
from rich.console import Group
from rich.table import Table
from rich.text import Text

from retime.film.clock import clock
from retime.film.gauge import Footage, frames_per_foot
from retime.film.length import feet_and_frames
from retime.film.reckoning import Question, Reckoned, answer, convention, other
from retime.film.rounding import half_up
from retime.report.numbers import decimal, exact

if TYPE_CHECKING:
    from collections.abc import Sequence
    from fractions import Fraction

    from rich.console import RenderableType

    from retime.film.gauge import Gauge

__all__ = ["reckoned_table", "reckoned_values"]


def reckoned_values(asked: Sequence[Question]) -> list[dict[str, Any]]:
    """Return each answer with its exact figures and those of the other convention."""
    told = []
    for question in asked:
        taken = convention(question)
        value = _values(answer(question, taken))
        if question.gauge is not None:
            value["frames_per_foot"] = str(frames_per_foot(question.gauge, taken))
        if question.by_length:
            value["footage"] = str(taken)
            value["by_" + other(taken)] = _values(answer(question, other(taken)))
        told.append(value)
    return told


def _values(found: Reckoned) -> dict[str, Any]:
    return {
        "frames": exact(found.frames),
        "fps": exact(found.speed.fps),
        "seconds": exact(found.runtime),
        "text": clock(found.runtime),
    }


def reckoned_table(asked: Sequence[Question]) -> RenderableType:
    """Return a row an answer, and below it which frames-per-foot was taken."""
    first = asked[0]
    taken = convention(first)
    table = Table(box=box.SIMPLE_HEAD, pad_edge=False, padding=(0, 2, 0, 0))
    for name in ("speed", "ft/min", "frames", "feet+frames", "metres", "runtime"):
        if first.gauge is not None or name in {"speed", "frames", "runtime"}:
            table.add_column(name, justify="right")
    if first.by_length:
        table.add_column(f"by {other(taken)}", justify="right")
    for question in asked:
        cells = _cells(question, answer(question, taken), taken)
        if question.by_length:
            cells.append(_other(question, answer(question, other(taken))))
        table.add_row(*cells)
    return Group(table, Text(_taken(first.gauge, taken))) if first.gauge else table


def _cells(question: Question, found: Reckoned, taken: Footage) -> list[str]:
    speed, frames = f"{_plain(found.speed.fps, 4)} fps", _plain(found.frames, 3)
    if question.gauge is None:
        return [speed, frames, clock(found.runtime)]
    per_foot = frames_per_foot(question.gauge, taken)
    feet = found.frames / per_foot
    return [
        speed,
        _plain(found.speed.fps * 60 / per_foot, 4),
        frames,
        feet_and_frames(half_up(found.frames), per_foot),
        decimal(feet * 3048 / 10000, 3),
        clock(found.runtime),
    ]


def _other(question: Question, found: Reckoned) -> str:
    """Return the one figure that was asked for, by the other convention."""
    if question.runtime is None:
        return clock(found.runtime)
    if question.speed is None:
        return f"{_plain(found.speed.fps, 4)} fps"
    return f"{_plain(found.frames, 3)} frames"


def _plain(x: Fraction, places: int) -> str:
    """Return a number with as many decimals as it needs, at most ``places``."""
    return str(x) if x.denominator == 1 else decimal(x, places).rstrip("0").rstrip(".")


def _taken(gauge: Gauge, taken: Footage) -> str:
    per_foot = {footage: frames_per_foot(gauge, footage) for footage in Footage}
    return (
        f"{gauge.name}: {_plain(per_foot[taken], 4)} frames to the foot were taken ({taken}); "
        f"{other(taken)} would be {_plain(per_foot[other(taken)], 4)}. {gauge.source}."
    )
