"""From an offset in a text to its line and column."""

from __future__ import annotations

import re
from bisect import bisect_right
from typing import TYPE_CHECKING, Self

from msgspec import Struct

from retime.findings import TextPlace

if TYPE_CHECKING:
    from pathlib import Path

__all__ = ["Lines"]

_BREAK = re.compile(r"\r\n|\n|\r")


class Lines(Struct, frozen=True):
    """Where the lines of the text at ``path`` begin, as an editor counts them."""

    path: Path
    starts: tuple[int, ...]

    @classmethod
    def of(cls, text: str, path: Path) -> Self:
        """Find the lines of ``text``."""
        return cls(path, (0, *(found.end() for found in _BREAK.finditer(text))))

    def place(self, offset: int) -> TextPlace:
        """Return the place of the character at ``offset``, counted from 0."""
        line = bisect_right(self.starts, offset)
        return TextPlace(path=self.path, line=line, column=offset - self.starts[line - 1] + 1)
