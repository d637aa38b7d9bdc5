"""A file's own values and chapters, in the text that the program writes them in (``ffmetadata``).

That text: FFmpeg formats documentation, Metadata. A backslash stands before ``=``, ``;``, ``#``,
another backslash and the end of a line where they are part of a value.
"""

from __future__ import annotations

import re
from fractions import Fraction
from typing import TYPE_CHECKING

from msgspec import Struct

if TYPE_CHECKING:
    from collections.abc import Iterator

__all__ = ["ChapterFacts", "read_metadata"]

_LINE = re.compile(r"(?:[^\\\n]|\\.)*", re.DOTALL)
_PAIR = re.compile(r"((?:[^\\=]|\\.)*)=(.*)", re.DOTALL)
_ESCAPED = re.compile(r"\\(.)", re.DOTALL)
_NANOSECOND = Fraction(1, 1_000_000_000)


class ChapterFacts(Struct, frozen=True, kw_only=True):
    """A chapter: its times in seconds, as exact as ``unit``, and its title."""

    begin: Fraction
    end: Fraction
    unit: Fraction
    title: str


def read_metadata(text: str) -> tuple[dict[str, str], tuple[ChapterFacts, ...]]:
    """Return a file's own values, their keys in small letters, and its chapters."""
    sections: list[tuple[str, dict[str, str]]] = [("", {})]
    for line in _lines(text):
        if line.startswith("[") and line.endswith("]"):
            sections.append((line, {}))
        elif pair := _PAIR.fullmatch(line):
            key, value = (_ESCAPED.sub(r"\1", part) for part in pair.groups())
            known = sections[-1][1]
            # A chapter's own keys are in capitals, and come before what it is called.
            known.setdefault(key if sections[-1][0] and key.isupper() else key.lower(), value)
    chapters = [_chapter(values) for name, values in sections if name == "[CHAPTER]"]
    own = sections[0][1]
    own.pop("encoder", None)  # the program names itself there
    return own, tuple(sorted(chapters, key=lambda one: one.begin))


def _lines(text: str) -> Iterator[str]:
    """Yield the lines that are no comments; an escaped end of line is part of one."""
    for found in _LINE.finditer(text):
        if found[0] and found[0][0] not in ";#":
            yield found[0]


def _chapter(values: dict[str, str]) -> ChapterFacts:
    unit = Fraction(values.get("TIMEBASE", _NANOSECOND))
    return ChapterFacts(
        begin=int(values["START"]) * unit,
        end=int(values["END"]) * unit,
        unit=unit,
        title=values.get("title", ""),
    )
