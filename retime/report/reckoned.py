"""What ``retime reckon`` tells: the answers by the convention taken, and by the other."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from rich import box
from rich.console import Group
from rich.table import Table
from rich.text import Text

from retime.film.clock import clock
from retime.film.gauge import Footage, frames_per_foot, frames_per_metre
from retime.film.length import feet_and_frames
from retime.film.reckoning import (
    Question,
    Reckoned,
    answer,
    answer_by_other,
    convention,
    other,
)
from retime.film.rounding import ceiling_of
from retime.report.numbers import decimal, exact

if TYPE_CHECKING:
    from collections.abc import Sequence
    from fractions import Fraction

    from rich.console import RenderableType

    from retime.film.gauge import Gauge

__all__ = ["reckoned_table", "reckoned_values"]


def reckoned_values(asked: Sequence[Question]) -> list[dict[str, Any]]:
    """Return each answer with its exact figures and, where a gauge is given, the other's.

    ``by_pitch`` or ``by_nominal`` is null where what is given exists by one convention alone.
    """
    told = []
    for question in asked:
        taken, gauge = convention(question), question.gauge
        value = _values(answer(question, taken), gauge, taken)
        if gauge is not None:
            found = answer_by_other(question, taken)
            value["gauge"] = gauge.name
            value["footage"] = str(taken)
            value["by_" + other(taken)] = found and _values(found, gauge, other(taken))
            value["source"] = gauge.source
        told.append(value)
    return told


def _values(found: Reckoned, gauge: Gauge | None, footage: Footage) -> dict[str, Any]:
    value: dict[str, Any] = {
        "frames": exact(found.frames),
        "fps": exact(found.speed.fps),
        "seconds": exact(found.runtime),
        "text": clock(found.runtime),
    }
    if gauge is not None:
        value["frames_per_foot"] = str(frames_per_foot(gauge, footage))
        value["feet"] = exact(found.frames / frames_per_foot(gauge, footage))
        value["metres"] = exact(found.frames / frames_per_metre(gauge, footage))
    return value


def reckoned_table(asked: Sequence[Question]) -> RenderableType:
    """Return a row an answer, and below it which frames-per-foot was taken.

    The questions share gauge and footage. A last column tells what was asked for by the other
    convention, where that differs.
    """
    gauge = asked[0].gauge
    # Every one is looked at: a single speed in metres asks for the convention to be chosen.
    (taken,) = {convention(question) for question in asked}
    table = Table(box=box.SIMPLE_HEAD, pad_edge=False, padding=(0, 1, 0, 0))
    names = ["speed", "ft/min", "frames", "ft+fr", "metres", "runtime"]
    if gauge is None:
        names = ["speed", "frames", "runtime"]
    rows = [_cells(answer(question, taken), gauge, taken) for question in asked]
    others = [_other(question, taken) for question in asked]
    if any(others):
        names.append(f"by {other(taken)}")
        rows = [[*cells, cell or "the same"] for cells, cell in zip(rows, others, strict=True)]
    for name in names:
        # Where a screen is too narrow, digits go on below; none is lost.
        table.add_column(name, justify="right", overflow="fold")
    for cells in rows:
        table.add_row(*cells)
    return Group(table, Text(_taken(gauge, taken))) if gauge else table


def _cells(found: Reckoned, gauge: Gauge | None, taken: Footage) -> list[str]:
    speed, frames = _fps(found), _frames(found)
    if gauge is None:
        return [speed, frames, clock(found.runtime)]
    per_foot = frames_per_foot(gauge, taken)
    return [
        speed,
        _plain(found.speed.fps * 60 / per_foot, 4),
        frames,
        _feet(found, gauge, taken),
        decimal(found.frames / frames_per_metre(gauge, taken), 3),
        clock(found.runtime),
    ]


def _other(question: Question, taken: Footage) -> str:
    """Return what was asked for by the other convention, or "" where it is the same."""
    gauge = question.gauge
    if gauge is None:
        return ""
    mine, found = answer(question, taken), answer_by_other(question, taken)
    if found is None:
        return "none"
    if question.runtime is None:
        return clock(found.runtime) if found.runtime != mine.runtime else ""
    if question.speed is None:
        return _fps(found) if found.speed != mine.speed else ""
    if found.frames != mine.frames:
        return f"{_frames(found)} fr"
    same = frames_per_foot(gauge, taken) == frames_per_foot(gauge, other(taken))
    return "" if same else _feet(found, gauge, other(taken))


def _fps(found: Reckoned) -> str:
    return f"{_plain(found.speed.fps, 4)} fps"


def _frames(found: Reckoned) -> str:
    whole, point, rest = _plain(found.frames, 3).partition(".")
    return f"{int(whole):,}{point}{rest}"


def _feet(found: Reckoned, gauge: Gauge, footage: Footage) -> str:
    # As feet+frames are read: a foot begins with its first whole frame, so 9999 ft is 9999+00.
    return feet_and_frames(ceiling_of(found.frames), frames_per_foot(gauge, footage))


def _plain(x: Fraction, places: int) -> str:
    """Return a number with as many decimals as it needs, at most ``places``."""
    return str(x) if x.denominator == 1 else decimal(x, places).rstrip("0").rstrip(".")


def _taken(gauge: Gauge, taken: Footage) -> str:
    mine, others = frames_per_foot(gauge, taken), frames_per_foot(gauge, other(taken))
    would = f"would be {_plain(others, 4)}" if mine != others else "gives the same"
    return (
        f"{gauge.name}: {_plain(mine, 4)} frames to the foot were taken ({taken}); "
        f"{other(taken)} {would}."
    )
