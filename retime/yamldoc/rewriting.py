"""A document changed in place: keys and values replaced, added and taken out, the rest untouched.

Comments, order, spacing, quotes, line ends, blocks and brackets stay as they are outside the lines
that change. What several places share by an alias is not changed from one of them, and where a
part cannot be taken out without something beside it, that is refused at its line.
"""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, NamedTuple

from retime.errors import DocumentError
from retime.findings import Finding
from retime.yamldoc.changes import Change, changed, line_of, newline_at
from retime.yamldoc.lines import Lines
from retime.yamldoc.quoting import quoted
from retime.yamldoc.scalars import written
from retime.yamldoc.spans import spans_of

if TYPE_CHECKING:
    from collections.abc import Collection, Iterable, Mapping, Sequence
    from pathlib import Path

    from retime.yamldoc.spans import Pair, Span
    from retime.yamldoc.tree import NodePath

__all__ = ["Rewriting"]

_RULE = "editing"
_REST = re.compile(r"[ \t]*,?[ \t]*(?:#.*)?", re.DOTALL)
_HEAD = re.compile(r" *(?:[-?] +)*")


class _Part(NamedTuple):
    """A pair or an item: its text from ``start`` (a block's item from its dash) to ``stop``."""

    start: int
    stop: int


class Rewriting:
    """One document's text, and the changes to be made to it.

    Paths are as in ``retime.yamldoc.tree``. Every method raises a DocumentError where it cannot do
    what it is asked to without changing something else.
    """

    def __init__(self, text: str, path: Path) -> None:
        """Take a text that ``retime.yamldoc.reading`` has read without findings."""
        self._text = text
        self._lines = Lines.of(text, path)
        self._root = spans_of(text)
        self._used = {one.alias for one in self._root.within() if one.alias is not None}
        self._changes: list[Change] = []
        self._filled: set[int] = set()
        self._gone: set[_Part] = set()

    def result(self) -> str:
        """Return the text with all changes made."""
        return changed(self._text, self._changes)

    def has(self, path: NodePath) -> bool:
        """Say whether something is written at ``path``, an alias included."""
        return len(self._root.line(path)) == len(path) + 1

    def is_text(self, path: NodePath) -> bool:
        """Say whether a single value stands at ``path``, written out or as an alias."""
        span = self._root.line(path)[-1]
        return span.text is not None or span.alias is not None

    def span(self, path: NodePath) -> Span:
        """Return the span at ``path``; it and all that it stands in is written here alone."""
        line = self._root.line(path)
        if len(line) != len(path) + 1:
            raise KeyError(path)
        for depth, span in enumerate(line):
            self._alone(span, path[:depth])
        return line[-1]

    def raw(self, path: NodePath) -> str:
        """Return a value as it is written."""
        span = self._root.line(path)[-1]
        return self._text[span.start : span.stop]

    def set_value(self, path: NodePath, text: str) -> None:
        """Write ``text`` as the value at ``path``, in the quotes of the one that stands there."""
        *outer, span = self._root.line(path)
        for depth, one in enumerate(outer):
            self._alone(one, path[:depth])
        if span.alias is not None:  # only this use of what it stands for goes
            new = written(text, "", flow=outer[-1].flow)
            self._changes.append(Change(span.start, span.stop, new))
            return
        for inner in span.within():
            self._alone(inner, path)
        style = span.style if span.style in {"'", '"'} else ""
        new = written(text, style, flow=outer[-1].flow)
        self._changes.append(Change(span.content, span.stop, new))

    def set_key(self, path: NodePath, text: str) -> None:
        """Give the pair at ``path`` another key."""
        mapping, pair = self._pair(path)
        new = written(text, pair.key.style, flow=mapping.flow, key=True)
        self._changes.append(Change(pair.key.start, pair.key.stop, new))

    def add(self, path: NodePath, key: str, raw: str, behind: str | None = None) -> None:
        """Add a key to the mapping at ``path``, behind another or the last that is left in it.

        ``raw`` is its value as it is to be written, in one line.
        """
        mapping = self.span(path)
        pair = f"{written(key, '', flow=mapping.flow, key=True)}: {raw}"
        parts = [_of(one) for one in mapping.pairs if behind is None or one.key.text == behind]
        self._append(mapping, [one for one in parts if one not in self._gone], pair, path)

    def remove(self, path: NodePath, keys: Collection[str]) -> None:
        """Take keys and their values out of a mapping, not all of them."""
        mapping = self.span(path)
        gone = [number for number, one in enumerate(mapping.pairs) if one.key.text in keys]
        for number in gone:
            for inner in mapping.pairs[number].value.within():
                self._alone(inner, (*path, mapping.pairs[number].key.text or ""), alias=True)
        self._take_out(mapping, [_of(one) for one in mapping.pairs], gone, path)

    def remove_items(self, path: NodePath, numbers: Collection[int]) -> None:
        """Take items out of a list, not all of them."""
        items = self.span(path)
        for number in numbers:
            for inner in items.items[number].within():
                self._alone(inner, (*path, number), alias=True)
        parts = [
            self._item(one, (*path, at), flow=items.flow) for at, one in enumerate(items.items)
        ]
        self._take_out(items, parts, sorted(numbers), path)

    def copy_item(self, path: NodePath, number: int, values: Mapping[str, str]) -> None:
        """Put a copy of a list's item, a mapping of texts, behind it, with other ``values``."""
        items, item = self.span(path), self.span((*path, number))
        for inner in item.within():
            self._alone(inner, (*path, number), alias=True)
        part = self._item(item, (*path, number), flow=items.flow)
        pairs = self._copied(item, values)
        start = line_of(self._text, part.start)[0]
        head = self._text[start : part.start]
        if items.flow:
            before = ", " if head.strip() else f",{newline_at(self._text, part.stop)}{head}"
            raw = "{" + ", ".join(pairs) + "}"
            self._changes.append(Change(part.stop, part.stop, before + raw))
            return
        newline = newline_at(self._text, part.stop)
        beside = item.start < line_of(self._text, part.start)[1]
        inset = " " * (item.start - part.start) if beside else "  "
        raw = "{" + ", ".join(pairs) + "}" if item.flow else f"{newline}{head}{inset}".join(pairs)
        _, stop, _ = line_of(self._text, part.stop)
        dash = f"-{inset[1:]}"
        self._changes.append(Change(stop, stop, f"{newline}{head}{dash}{raw}"))

    def one_line(self, path: NodePath, values: Mapping[str, str] | None = None) -> str:
        """Return a value as it can be written once more, in one line.

        In a mapping of texts other ``values`` stand for those of their keys.
        """
        span = self._root.line(path)[-1]
        for inner in span.within():
            self._alone(inner, path, alias=True)
        raw = self._text[span.content : span.stop]
        if span.is_mapping:
            raw = "{" + ", ".join(self._copied(span, values or {}, flow=True)) + "}"
        if "\n" in raw or "\r" in raw:
            raise self.refuse(path, "this is written in several lines", "write it in one")
        return raw

    def _copied(
        self, item: Span, values: Mapping[str, str], *, flow: bool | None = None
    ) -> list[str]:
        """Return a mapping's pairs as they are written, with other ``values`` for some keys."""
        pairs = []
        for key, value in item.pairs:
            raw, new = self._text[value.start : value.stop], values.get(key.text or "")
            if new is not None:
                style = value.style if value.style in {"'", '"'} else ""
                raw = written(new, style, flow=item.flow if flow is None else flow)
            pairs.append(f"{self._text[key.start : key.stop]}: {raw}")
        return pairs

    def refuse(self, path: NodePath, text: str, hint: str, *, key: bool = False) -> DocumentError:
        """Return the error that a change at ``path`` is refused with."""
        line = self._root.line(path)
        at = line[-1].start
        if key and len(line) > 1:
            pair = line[-2].pair(path[len(line) - 2])
            at = at if pair is None else pair.key.start
        place = self._lines.place(at)
        return DocumentError([Finding(place=place, rule=_RULE, text=text, hint=hint)])

    def _pair(self, path: NodePath) -> tuple[Span, Pair]:
        mapping = self.span(path[:-1])
        pair = mapping.pair(path[-1])
        if pair is None:
            raise KeyError(path)
        return mapping, pair

    def _alone(self, span: Span, path: NodePath, *, alias: bool = False) -> None:
        """Refuse a span that is written elsewhere, or from which others are."""
        said = ".".join(map(str, path)) or "the map"
        if span.alias is not None and not alias:
            text = f"{quoted(said)} is written as the alias *{span.alias}, which others may share"
            raise self.refuse(path, text, "write it out here first")
        if span.anchor is not None and span.anchor in self._used:
            text = f"{quoted(said)} holds what is named &{span.anchor} and used elsewhere"
            raise self.refuse(path, text, "write it out at its other places first")

    def _append(self, outer: Span, parts: Sequence[_Part], raw: str, path: NodePath) -> None:
        """Put a pair behind the last one of a mapping."""
        if outer.flow:
            at = parts[-1].stop if parts else outer.content + 1
            comma = ", " if parts or at in self._filled else ""
            self._filled.add(at)
            self._changes.append(Change(at, at, comma + raw))
            return
        start, _, _ = line_of(self._text, parts[0].start)
        head = self._text[start : parts[0].start]
        _, stop, _ = line_of(self._text, parts[-1].stop)
        if not _HEAD.fullmatch(head) or not _REST.fullmatch(self._text[parts[-1].stop : stop]):
            raise self.refuse(path, "nothing can be added here", "write one key a line")
        inset = " " * (head.index("?") if "?" in head else len(head))
        newline = newline_at(self._text, parts[-1].stop)
        self._changes.append(Change(stop, stop, f"{newline}{inset}{raw}"))

    def _item(self, item: Span, path: NodePath, *, flow: bool) -> _Part:
        """Return a list's item, with its dash where the list is a block."""
        if flow:
            return _Part(item.start, item.stop)
        before = self._text[: item.start].rstrip()
        if not before.endswith("-"):
            raise self.refuse(path, "this item does not stand beside its dash", "put it there")
        return _Part(len(before) - 1, item.stop)

    def _take_out(
        self, outer: Span, parts: Sequence[_Part], gone: Sequence[int], path: NodePath
    ) -> None:
        """Take parts out: whole lines where they stand alone on them, else what lies between."""
        self._gone |= {parts[number] for number in gone}
        for run in _runs(gone):
            first, last = run[0], run[-1]
            if all(self._on_lines(parts[number]) for number in run):
                self._changes += (self._whole_lines(parts[number]) for number in run)
                continue
            if last + 1 < len(parts):
                span = parts[first].start, parts[last + 1].start
            elif first:
                span = parts[first - 1].stop, parts[last].stop
            else:
                raise self.refuse(path, "nothing would be left here", "take it out by hand")
            between = self._text[span[0] : span[1]]
            if not outer.flow or "#" in between or "\n" in between or "\r" in between:
                text = "a part of this cannot be taken out without what stands beside it"
                raise self.refuse(path, text, "write one key a line")
            self._changes.append(Change(*span, ""))

    def _on_lines(self, part: _Part) -> bool:
        """Say whether a part has its lines for itself, a comment behind it aside."""
        start, _, _ = line_of(self._text, part.start)
        _, stop, _ = line_of(self._text, part.stop)
        head = self._text[start : part.start]
        return head.strip() in {"", "?"} and bool(_REST.fullmatch(self._text[part.stop : stop]))

    def _whole_lines(self, part: _Part) -> Change:
        start, _, _ = line_of(self._text, part.start)
        _, _, after = line_of(self._text, part.stop)
        return Change(start, after, "")


def _of(pair: Pair) -> _Part:
    return _Part(pair.key.start, pair.value.stop)


def _runs(numbers: Iterable[int]) -> list[list[int]]:
    """Return rising numbers in runs without gaps."""
    runs: list[list[int]] = []
    for number in numbers:
        if runs and runs[-1][-1] + 1 == number:
            runs[-1].append(number)
        else:
            runs.append([number])
    return runs
