"""A document as spans of its text: where every key and value begins and ends, and how written.

``retime.yamldoc.tree`` says where values begin, which is all that messages need. Who changes a text
has to know where they end as well, which are written as aliases, and what has a name.
"""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, NamedTuple

import yaml
from msgspec import Struct, field

if TYPE_CHECKING:
    from retime.yamldoc.tree import NodePath

__all__ = ["Pair", "Span", "spans_of"]

_BLANK = re.compile(r"\s*")


class Span(Struct, kw_only=True):
    """A node's text, ``start`` up to ``stop``, which for a block ends with its last value.

    ``text`` is a scalar's value, None for other nodes. ``style`` is a scalar's quote or its sign
    of a block (``|``, ``>``), empty for a plain one. ``flow`` says of a mapping or a list that it
    stands in brackets; ``alias`` and ``anchor`` are the names it refers to, and that it has.
    ``content`` is where the value begins behind its name.
    """

    start: int
    stop: int
    content: int
    text: str | None = None
    style: str = ""
    flow: bool = False
    is_mapping: bool = False
    alias: str | None = None
    anchor: str | None = None
    pairs: list[Pair] = field(default_factory=list)
    items: list[Span] = field(default_factory=list)

    def pair(self, key: str | int) -> Pair | None:
        """Return the pair of a key, None where it has none."""
        return next((pair for pair in self.pairs if pair.key.text == str(key)), None)

    def child(self, step: str | int) -> Span | None:
        """Return the value of a key, or a list's item."""
        if self.is_mapping:
            pair = self.pair(step)
            return None if pair is None else pair.value
        if isinstance(step, int) and 0 <= step < len(self.items):
            return self.items[step]
        return None

    def line(self, path: NodePath) -> list[Span]:
        """Return the spans from this one along ``path``, as far as it leads."""
        found = [self]
        for step in path:
            inner = found[-1].child(step)
            if inner is None:
                break
            found.append(inner)
        return found

    def within(self) -> list[Span]:
        """Return this span and all inside it, in the order written."""
        found, waiting = [], [self]
        while waiting:
            here = waiting.pop()
            found.append(here)
            inner = [one for pair in here.pairs for one in pair] + here.items
            waiting += reversed(inner)
        return found


class Pair(NamedTuple):
    """A key and its value."""

    key: Span
    value: Span


class _Open(Struct):
    """A mapping or a list whose end has not come yet; ``key`` waits for its value."""

    span: Span
    key: Span | None = None

    def take(self, node: Span) -> None:
        """Add a finished node; a block reaches as far as what stands in it."""
        if not self.span.is_mapping:
            self.span.items.append(node)
        elif self.key is None:
            self.key = node
        else:
            self.span.pairs.append(Pair(self.key, node))
            self.key = None
        if not self.span.flow:
            self.span.stop = node.stop


def spans_of(text: str) -> Span:
    """Return the spans of a document that ``retime.yamldoc.reading`` has read without findings."""
    open_: list[_Open] = []
    root: Span | None = None
    for event in yaml.parse(text, Loader=yaml.CSafeLoader):
        if isinstance(event, yaml.SequenceStartEvent | yaml.MappingStartEvent):
            open_.append(_Open(_begun(event, text)))
            continue
        if isinstance(event, yaml.SequenceEndEvent | yaml.MappingEndEvent):
            done = open_.pop().span
            if done.flow:
                done.stop = _bounds(event)[1]
        elif isinstance(event, yaml.ScalarEvent | yaml.AliasEvent):
            done = _leaf(event, text)
        else:
            continue
        if open_:
            open_[-1].take(done)
        else:
            root = done
    if root is None:
        raise ValueError("a document that could be read has a root")
    return root


def _begun(event: yaml.SequenceStartEvent | yaml.MappingStartEvent, text: str) -> Span:
    start, stop = _bounds(event)
    return Span(
        start=start,
        stop=stop,
        content=_behind_name(text, start, event.anchor),
        flow=bool(event.flow_style),
        is_mapping=isinstance(event, yaml.MappingStartEvent),
        anchor=event.anchor,
    )


def _leaf(event: yaml.ScalarEvent | yaml.AliasEvent, text: str) -> Span:
    start, stop = _bounds(event)
    if isinstance(event, yaml.AliasEvent):
        return Span(start=start, stop=stop, content=start, alias=event.anchor)
    if event.style in {"|", ">"}:  # such a block's mark stands behind the empty lines after it
        stop = start + len(text[start:stop].rstrip())
    return Span(
        start=start,
        stop=stop,
        content=_behind_name(text, start, event.anchor),
        text=event.value,
        style=event.style or "",
        anchor=event.anchor,
    )


def _bounds(event: yaml.Event) -> tuple[int, int]:
    """Return where an event's text begins and ends; the parser marks every one of a document's."""
    start, stop = event.start_mark, event.end_mark
    return (start.index, stop.index) if start and stop else (0, 0)


def _behind_name(text: str, start: int, anchor: str | None) -> int:
    """Return where a value begins whose name, ``&name``, may stand before it."""
    if anchor is None or not text.startswith("&", start):
        return start
    found = _BLANK.match(text, start + len(anchor) + 1)
    return found.end() if found else start
