"""What ``retime pace`` tells: frames to a period, what else may be meant, the speed implied."""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING, Final

from msgspec import Struct
from rich.table import Table

from retime.evidence.quantity import exactly
from retime.pace.implied import frames_of, implied
from retime.pace.item import Item, bound_of, item_text

if TYPE_CHECKING:
    from collections.abc import Sequence

    from retime.evidence.quantity import Quantity
    from retime.light.raster import Rectangle
    from retime.pace.counting import Paced
    from retime.pace.motion import Motion
    from retime.report.pace_schema import Bounds, MotionTold, PaceTold

__all__ = ["Seen", "pace_item", "pace_table", "pace_values", "refused_values"]

FORMAT: Final = "retime-pace/1"
_EXACT = "its length is taken to be exact: say within what it is known, such as within 2 %"


class Seen(Struct, frozen=True, kw_only=True):
    """What was looked at: frames and boxes of a scan, or ``marks``; and what moves there."""

    scan: str
    id: str
    first: int
    last: int
    box: Rectangle | None = None
    box_to: Rectangle | None = None
    marks: Sequence[str] = ()
    motion: Motion | None = None

    @property
    def where(self) -> str:
        """Where was looked, in a line."""
        if self.marks:
            return f"{self.scan}, frames {', '.join(self.marks)} marked by hand"
        told = f"{self.scan}, frames {self.first} to {self.last}"
        if self.box is not None:
            told += f", box {_sides(self.box)}"
        if self.box_to is not None and self.box_to != self.box:
            told += f" going to {_sides(self.box_to)}"
        return told


def pace_item(seen: Seen, paced: Paced) -> str | None:
    """Return the item of an evidence file, None where it is not said what moves."""
    if seen.motion is None:
        return None
    source = f"retime pace {seen.where}"
    item = Item(id=seen.id, motion=seen.motion, source=source, marks=seen.marks)
    return item_text(item, paced)


def pace_table(seen: Seen, paced: Paced) -> Table:
    """Return the answer for a person, a line for each thing that is told."""
    table = Table.grid(padding=(0, 3, 0, 0))
    table.add_column(no_wrap=True)
    table.add_column(overflow="fold")
    frames, motion = frames_of(paced), seen.motion
    rows = [
        ("seen in", seen.where),
        (_label(motion), f"{paced.frames:.2f} within {float(bound_of(paced)):.2f}"),
        ("", f"standard uncertainty {paced.uncertainty:.2f}, {_times_seen(paced.seen)}"),
        *(("", note) for note in paced.notes),
    ]
    if paced.confidence is not None:
        rows.append(("confidence", f"{paced.confidence:.2f} of 1"))
    if motion is None:
        rows.append(("taken at", "say what moves (--motion walk) for the speed, and for an item"))
    else:
        rows += [
            (str(motion), f"{_figure(motion.frequency, 3, 'a second')}: {motion.source}"),
            *([("", _EXACT)] if motion.frequency.low == motion.frequency.high else []),
            ("taken at", _figure(implied(frames, motion.frequency), 2, "fps")),
        ]
    for one in paced.others:
        said = f"{one.frames:.2f} frames, alike {one.strength:.2f}: {one.words}"
        if motion is not None:
            speed = implied(exactly(Fraction(one.frames)), motion.frequency)
            said = f"{_figure(speed, 2, 'fps')} by {said}"
        rows.append(("or", said))
    for name, told in rows:
        table.add_row(name, told)
    return table


def _label(motion: Motion | None) -> str:
    if motion is not None and motion.falls:
        return "frames of the fall"
    return f"frames to a {'period' if motion is None else motion.counted}"


def pace_values(seen: Seen, paced: Paced) -> PaceTold:
    """Return the answer for programs (``retime-pace/1``)."""
    frames, motion = frames_of(paced), seen.motion
    told = refused_values(seen, None)
    told |= {
        "frames": round(paced.frames, 6),
        "uncertainty": round(paced.uncertainty, 6),
        "within": round(float(frames.high - frames.value), 6),
        "confidence": None if paced.confidence is None else round(paced.confidence, 6),
        "seen": round(paced.seen, 6),
        "others": [
            {
                "frames": round(one.frames, 6),
                "strength": round(one.strength, 6),
                "words": one.words,
                "speed": None
                if motion is None
                else _bounds(implied(exactly(Fraction(one.frames)), motion.frequency)),
            }
            for one in paced.others
        ],
        "notes": list(paced.notes),
        "speed": None if motion is None else _bounds(implied(frames, motion.frequency)),
        "item": pace_item(seen, paced),
    }
    return told


def refused_values(seen: Seen, reason: str | None) -> PaceTold:
    """Return for programs that no period could be told, and why."""
    return {
        "format": FORMAT,
        "scan": seen.scan,
        "first": None if seen.marks else seen.first,
        "last": None if seen.marks else seen.last,
        "box": _corners(seen.box),
        "box_to": _corners(seen.box_to),
        "marks": list(seen.marks),
        "motion": None if seen.motion is None else _moving(seen.motion),
        "refused": reason,
        "frames": None,
        "uncertainty": None,
        "within": None,
        "confidence": None,
        "seen": None,
        "others": [],
        "notes": [],
        "speed": None,
        "item": None,
    }


def _moving(motion: Motion) -> MotionTold:
    return {
        "law": motion.law.value,
        "said": motion.said,
        "counted": motion.counted,
        "frequency": _bounds(motion.frequency),
        "source": motion.source,
    }


def _corners(box: Rectangle | None) -> list[int] | None:
    return None if box is None else [box.left, box.top, box.width, box.height]


def _sides(box: Rectangle) -> str:
    return f"{box.left},{box.top},{box.width},{box.height}"


def _bounds(figure: Quantity) -> Bounds:
    return {
        "value": round(float(figure.value), 6),
        "low": round(float(figure.low), 6),
        "high": round(float(figure.high), 6),
        "uncertainty": round(figure.uncertainty, 6),
    }


def _figure(figure: Quantity, places: int, unit: str) -> str:
    told = [f"{float(one):.{places}f}" for one in (figure.value, figure.low, figure.high)]
    return f"{told[0]} {unit} ({told[1]} to {told[2]})"


def _times_seen(count: float) -> str:
    return "seen once" if count == 1 else f"seen {count:.1f} times"
