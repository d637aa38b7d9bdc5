"""Changes to a text, each to a part of it: whatever they leave alone stays as it is."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    from collections.abc import Iterable

__all__ = ["Change", "changed", "line_of", "newline_at"]

_BREAK = re.compile(r"\r\n|\n|\r")


class Change(NamedTuple):
    """``text`` in place of what stands from ``start`` up to ``stop``, which may be nothing."""

    start: int
    stop: int
    text: str


def changed(text: str, changes: Iterable[Change]) -> str:
    """Return the text with the changes made; of two at one place the first comes first.

    Raises:
        ValueError: two changes meet.
    """
    made: list[str] = []
    at = 0
    for change in sorted(changes, key=lambda one: (one.start, one.stop)):
        if change.start < at:
            raise ValueError(f"two changes meet at character {change.start}")
        made += (text[at : change.start], change.text)
        at = change.stop
    return "".join([*made, text[at:]])


def line_of(text: str, at: int) -> tuple[int, int, int]:
    """Return where the line of a character begins, where it ends, and where the next begins."""
    start = max(text.rfind("\n", 0, at), text.rfind("\r", 0, at)) + 1
    found = _BREAK.search(text, at)
    return (start, found.start(), found.end()) if found else (start, len(text), len(text))


def newline_at(text: str, at: int) -> str:
    """Return how the line of a character ends; the last line ends as the first does."""
    _, stop, after = line_of(text, at)
    if stop < after:
        return text[stop:after]
    first = _BREAK.search(text)
    return first[0] if first else "\n"
