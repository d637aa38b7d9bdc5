"""The text of a list: its lines, or the place of what is no text."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from retime.errors import DocumentError
from retime.findings import Finding, TextPlace
from retime.yamldoc.lines import Lines
from retime.yamldoc.reading import utf8

if TYPE_CHECKING:
    from pathlib import Path

__all__ = ["LONGEST_LINE", "MOST_FAULTS", "MOST_LINES", "lines_of", "text_of"]

MOST_FAULTS = 200
"""A list with more is something else, and nobody reads on."""
MOST_LINES = 200_000
LONGEST_LINE = 10_000

_BREAK = re.compile(r"\r\n|\n|\r")
_CONTROL = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f\x7f]")
_END_OF_FILE = "\x1a"


def text_of(data: bytes, path: Path) -> str:
    """Return the text in ``data``.

    Raises:
        DocumentError: it is not UTF-8, or holds control characters other than tabs and line ends.
    """
    text = utf8(data, path).rstrip(_END_OF_FILE)  # old disks closed their texts with it
    bad = _CONTROL.search(text)
    if bad:
        place = Lines.of(text[: bad.end()], path).place(bad.start())
        what = f"the character U+{ord(bad[0]):04X} does not stand in a list"
        raise DocumentError(
            [Finding(place=place, rule="encoding", text=what, hint="is this a list at all?")]
        )
    return text


def lines_of(data: bytes, path: Path) -> list[str]:
    """Return the lines of the text in ``data``, without their ends; raises as ``text_of``.

    A list of more than 200,000 lines is refused too, and a line of more than 10,000 characters.
    """
    lines = _BREAK.split(text_of(data, path))
    long = next((number for number, line in enumerate(lines) if len(line) > LONGEST_LINE), None)
    if long is not None:
        place = TextPlace(path=path, line=long + 1, column=LONGEST_LINE + 1)
        what = f"the line has more than {LONGEST_LINE:,} characters"
        raise DocumentError([Finding(place=place, rule="too-large", text=what)])
    if len(lines) > MOST_LINES:
        place = TextPlace(path=path, line=MOST_LINES + 1, column=1)
        what = f"the list has more than {MOST_LINES:,} lines"
        raise DocumentError([Finding(place=place, rule="too-large", text=what)])
    return lines
