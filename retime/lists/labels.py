"""Timecode as lists write it: one label's frames, whichever of the two counts is meant.

A list says drop-frame once for many labels, or by the mark before the frames, or by marks
throughout; what the label's own text says of it is therefore left to whoever reads the list.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from retime.errors import NotationError
from retime.film.notation import shown
from retime.film.timecode import day_of, frame_of, label

if TYPE_CHECKING:
    from retime.film.speed import Rate

__all__ = ["frame_at", "looks_like_a_label", "marked_drop", "span_of", "within_a_day"]

_FIELDS = 4


def looks_like_a_label(text: str) -> bool:
    """Tell whether a text is divided as a label is."""
    return len(text.replace(";", ":").split(":")) == _FIELDS


def marked_drop(text: str) -> bool:
    """Tell whether a label has the mark of drop-frame, ``;``, anywhere in it."""
    return ";" in text


def frame_at(text: str, rate: Rate, *, drop: bool) -> int:
    """Return the frame that a label names; ``drop`` says by which count.

    Raises NotationError for a label that does not exist at the rate, and where it has no
    drop-frame labels.
    """
    head, _, frames = text.replace(";", ":").rpartition(":")
    try:
        return frame_of(f"{head}{';' if drop else ':'}{frames}", rate)
    except NotationError as error:
        if "is no timecode" not in error.text or " at " in error.text:
            raise
        raise NotationError(f"{shown(text)} is no timecode", error.hint) from error


def span_of(first: int, stop: int, day: int) -> tuple[int, int] | None:
    """Return a span of labels, which may run past midnight; None where it runs backwards.

    A day has ``day`` labels. What would last more than half a day is taken to run backwards.
    """
    if stop >= first:
        return first, stop
    stop += day
    return None if (stop - first) * 2 > day else (first, stop)


def within_a_day(frame: int, rate: Rate) -> str:
    """Return the non-drop label of a frame counted from 0.

    Raises NotationError where a day has no so late a label, for labels would begin anew.
    """
    if frame >= day_of(rate, drop=False):
        last = label(day_of(rate, drop=False) - 1, rate, drop=False)
        raise NotationError(f"frame {frame} lies behind the last label of the day, {last}")
    return label(frame, rate, drop=False)
