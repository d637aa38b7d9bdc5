"""An item of an evidence file (``retime-evidence/1``), to be pasted under ``evidence:``."""

from __future__ import annotations

import json
import re
from fractions import Fraction
from math import ceil
from typing import TYPE_CHECKING

from msgspec import Struct

from retime.errors import NotationError
from retime.film.notation import shown
from retime.pace.implied import frames_of

if TYPE_CHECKING:
    from collections.abc import Sequence

    from retime.pace.counting import Paced
    from retime.pace.motion import Motion

__all__ = ["Item", "bound_of", "default_id", "item_text", "parse_id"]

_ID = re.compile(r"[a-z0-9]+(?:-[a-z0-9]+)*")
_LONGEST = 40
_COMMENTS = 30  # the column in which they begin
_FINEST = Fraction(1, 2000)  # of the frames: no finer tolerance is believed
_TRUST, _LITTLE_TRUST, _DOUBTFUL = "0.8", "0.5", 0.5


class Item(Struct, frozen=True, kw_only=True):
    """What an item says beside the frames: its name, what moves, and where it was seen."""

    id: str
    motion: Motion
    source: str
    marks: Sequence[str] = ()


def parse_id(text: str) -> str:
    """Return a name for an item as evidence files take it; raises NotationError."""
    if not _ID.fullmatch(text) or len(text) > _LONGEST:
        hint = f"write at most {_LONGEST} small letters, digits and hyphens, such as abel-walks"
        raise NotationError(f"{shown(text)} is no id", hint)
    return text


def default_id(stem: str, *rest: object) -> str:
    """Return a name made of a scan's name and of numbers."""
    tail = "-".join(re.sub(r"[^0-9]+", "-", str(one)).strip("-") for one in rest)
    words = re.sub(r"[^a-z0-9]+", "-", stem.lower()).strip("-") or "scan"
    room = _LONGEST - len(tail) - 1
    return f"{words[: max(room, 0)].strip('-')}-{tail}".strip("-")[:_LONGEST].strip("-")


def item_text(item: Item, paced: Paced) -> str:
    """Return the item as YAML, two spaces in, a line each, with comments."""
    figures: list[tuple[str, str]] = [
        ("frames", _number(Fraction(paced.frames))),
        ("within", _number(bound_of(paced))),
    ]
    comments = {
        "frames": f"film frames to a {item.motion.counted}",
        "within": "frames: a bound, sqrt(3) standard uncertainties",
        "trust": "yours to set: how far you trust this, 0 to 1",
    }
    if item.marks and not item.motion.falls:
        figures = [("marks", f"[{', '.join(item.marks)}]")]
    trusted = paced.confidence is None or paced.confidence >= _DOUBTFUL
    told = [
        ("- id", item.id),
        ("kind", "motion"),
        *figures,
        (item.motion.law.value, item.motion.said),
        ("trust", _TRUST if trusted else _LITTLE_TRUST),
        ("about", "taking"),
        ("source", json.dumps(item.source, ensure_ascii=False)),
    ]
    return "\n".join(_line(key, value, comments.get(key, "")) for key, value in told)


def bound_of(paced: Paced) -> Fraction:
    """Return what the frames are within as it is written, to two decimals, rounded up."""
    frames = frames_of(paced)
    least = max(frames.high - frames.value, _FINEST * frames.value)
    return Fraction(ceil(least * 100), 100)


def _number(value: Fraction) -> str:
    return f"{float(value):.2f}"


def _line(key: str, value: str, comment: str) -> str:
    indent = "  " if key.startswith("-") else "    "
    line = f"{indent}{key}: {value}"
    return f"{line:<{_COMMENTS}}# {comment}" if comment else line
