"""Opening tags of XML with the places of their attributes, which its parsers do not tell."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from msgspec import Struct

if TYPE_CHECKING:
    from retime.follow.subtitle_document import Span

__all__ = ["TIMES", "Tag"]

TIMES = frozenset({"begin", "end", "dur"})
"""The attributes that say when an element of TTML is shown."""

_NAME = re.compile(r"<[^\s/>]+")
_ATTRIBUTE = re.compile(r"\s+([^\s=]+)\s*=\s*(?:\"([^\"]*)\"|'([^']*)')")


class Tag(Struct, frozen=True):
    """An opening tag: ``stop`` is behind it.

    ``attributes`` are values as they are written, with their spans within the quotes; ``wholes``
    are the spans of whole attributes, with the white space in front.
    """

    start: int
    stop: int
    attributes: dict[str, tuple[str, Span]]
    wholes: dict[str, Span]

    @classmethod
    def at(cls, text: str, start: int) -> Tag:
        """Read the tag that begins at ``start`` in well-formed XML."""
        named = _NAME.match(text, start)
        at = named.end() if named else start
        attributes: dict[str, tuple[str, Span]] = {}
        wholes: dict[str, Span] = {}
        while found := _ATTRIBUTE.match(text, at):
            number = 2 if found[2] is not None else 3
            attributes[found[1]] = found[number], found.span(number)
            wholes[found[1]] = found.span()
            at = found.end()
        return cls(start, text.index(">", at) + 1, attributes, wholes)

    @property
    def timed(self) -> bool:
        """Whether it has a time of its own."""
        return not TIMES.isdisjoint(self.attributes)
