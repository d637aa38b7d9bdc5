"""The walk over a parser's events: nodes are built from the bottom up, without recursion.

A parser's events are cheap however hostile the text is; what can be made dear is following
aliases and nesting. So levels and values are counted with aliases followed, and the walk ends
where either passes its limit. An alias shares its anchor's node.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NoReturn, TypeAlias

import yaml
from msgspec import Struct, field

from retime.errors import DocumentError
from retime.findings import Finding
from retime.yamldoc.quoting import quoted
from retime.yamldoc.tree import Entry, Mapping, Node, Scalar, Sequence

if TYPE_CHECKING:
    from collections.abc import Iterable

    from retime.yamldoc.lines import Lines

__all__ = ["MOST_FINDINGS", "MOST_LEVELS", "MOST_VALUES", "Builder"]

MOST_LEVELS = 50
MOST_VALUES = 500_000
MOST_FINDINGS = 200

_NodeEvent: TypeAlias = yaml.ScalarEvent | yaml.SequenceStartEvent | yaml.MappingStartEvent


class _Key(Struct):
    """A key that waits for its value, or for one to pass over."""

    text: str
    at: int
    kept: bool = True


class _Open(Struct):
    """A mapping or a list whose end has not come yet."""

    at: int
    anchor: str | None
    is_mapping: bool
    items: list[Node] = field(default_factory=list)
    entries: dict[str, Entry] = field(default_factory=dict)
    key: _Key | None = None
    values: int = 1
    levels: int = 0

    @property
    def wants_key(self) -> bool:
        """Say whether the next node is a key."""
        return self.is_mapping and self.key is None

    def take(self, node: Node) -> None:
        """Add a finished node as the value of the waiting key, or as the next item."""
        if self.key is None:
            self.items.append(node)
            return
        if self.key.kept:
            self.entries[self.key.text] = Entry(self.key.at, node)
        self.key = None

    def closed(self) -> Node:
        """Return the node that this has become."""
        if self.is_mapping:
            return Mapping(self.entries, self.at)
        return Sequence(tuple(self.items), self.at)


class _Anchored(Struct):
    """A finished node with a name, how many values it stands for, and how deep it goes."""

    node: Node
    values: int
    levels: int


class Builder:
    """Builds one document's tree; ``findings`` fills with what could be read past."""

    def __init__(self, lines: Lines) -> None:
        """Take the text's lines, to place findings."""
        self.findings: list[Finding] = []
        self._lines = lines
        self._open: list[_Open] = []
        self._anchors: dict[str, _Anchored] = {}
        self._values = 0
        self._root: Node | None = None

    def build(self, events: Iterable[yaml.Event]) -> Mapping:
        """Return the document's root.

        Raises:
            DocumentError: there is no document, more than one, or no mapping at its root; a key is
                no text; an alias leads nowhere; or a limit is passed. Earlier findings are carried.
        """
        for event in events:
            self._take(event)
        root = self._root
        if root is None or (isinstance(root, Scalar) and root.empty):
            self._fail(0, "empty", "the document is empty")
        if not isinstance(root, Mapping):
            self._fail(root.at, "root", "the document has no keys", "write it as `key: value`")
        return root

    def _take(self, event: yaml.Event) -> None:
        match event:
            case yaml.ScalarEvent():
                self._scalar(event)
            case yaml.SequenceStartEvent() | yaml.MappingStartEvent():
                self._start(event)
            case yaml.SequenceEndEvent() | yaml.MappingEndEvent():
                done = self._open.pop()
                self._place(_Anchored(done.closed(), done.values, done.levels + 1), done.anchor)
            case yaml.AliasEvent():
                self._alias(event)
            case yaml.DocumentStartEvent() if self._root is not None:
                at = _offset(event)
                hint = "keep one document in a file"
                self._fail(at, "documents", "a second document begins here", hint)
            case _:
                pass

    def _scalar(self, event: yaml.ScalarEvent) -> None:
        at = _offset(event)
        self._count(1, at)
        self._refuse_tag(event)
        if self._open and self._open[-1].wants_key:
            self._name(event, self._open[-1])
            return
        node = Scalar(event.value, not event.style, at)
        if node.empty and self._open:
            self._refuse_empty(self._open[-1].key, at)
        self._place(_Anchored(node, 1, 0), event.anchor)

    def _name(self, event: yaml.ScalarEvent, mapping: _Open) -> None:
        """Take a scalar as the key of the value to come."""
        at, text, plain = _offset(event), event.value, not event.style
        first = mapping.entries.get(text)
        mapping.key = _Key(text, at, kept=False)
        if first is not None:
            line = self._lines.place(first.key_at).line
            what = f"the key {quoted(text)} is repeated; it first stands on line {line}"
            self._note(at, "repeated-key", what, "keep one of the two")
        elif event.anchor:
            self._note(at, "key", f"the key {quoted(text)} has an anchor", "name values only")
        elif plain and text == "<<":
            self._note(at, "key", "merge keys (<<) are not read", "write the keys out")
        elif plain and text in {"", "~"}:
            self._note(at, "key", "a key is missing here", "write it before the colon")
        else:
            mapping.key.kept = True

    def _start(self, event: yaml.SequenceStartEvent | yaml.MappingStartEvent) -> None:
        at = _offset(event)
        self._count(1, at)
        self._refuse_tag(event)
        if self._open and self._open[-1].wants_key:
            self._fail(at, "key", "a key must be a text; this is a list or a mapping")
        self._descend(1, at)
        is_mapping = isinstance(event, yaml.MappingStartEvent)
        self._open.append(_Open(at, event.anchor, is_mapping))

    def _alias(self, event: yaml.AliasEvent) -> None:
        at, name = _offset(event), str(event.anchor)
        if self._open and self._open[-1].wants_key:
            self._fail(at, "key", f"a key must be a text; this is the alias *{name}")
        if any(name == other.anchor for other in self._open):
            self._fail(at, "alias", f"the alias *{name} stands inside what it stands for")
        anchored = self._anchors.get(name)
        if anchored is None:
            self._fail(at, "alias", f"nothing above is named &{name}", "write the value out")
        self._count(anchored.values, at)
        self._descend(anchored.levels, at)
        self._place(anchored, None)

    def _place(self, done: _Anchored, anchor: str | None) -> None:
        """Put a finished node where it belongs."""
        if anchor:
            self._anchors[anchor] = done
        if not self._open:
            self._root = done.node
            return
        top = self._open[-1]
        top.values += done.values
        top.levels = max(top.levels, done.levels)
        top.take(done.node)

    def _count(self, values: int, at: int) -> None:
        self._values += values
        if self._values > MOST_VALUES:
            self._fail(at, "too-many-values", f"more than {MOST_VALUES:,} values, aliases followed")

    def _descend(self, levels: int, at: int) -> None:
        if len(self._open) + levels > MOST_LEVELS:
            self._fail(at, "nesting", f"nested more than {MOST_LEVELS} levels deep")

    def _refuse_tag(self, event: _NodeEvent) -> None:
        if event.tag is not None:
            tag = event.tag.replace("tag:yaml.org,2002:", "!!")
            at = _offset(event)
            self._note(at, "tag", f"the tag {quoted(tag)} is not read", "leave the tag out")

    def _refuse_empty(self, key: _Key | None, at: int) -> None:
        hint = 'give it a value or leave it out; an empty text is written ""'
        if key is None:
            self._note(at, "empty-value", "nothing is written in this item", hint)
        elif key.kept:
            text = f"nothing is written after {quoted(key.text)}"
            self._note(key.at, "empty-value", text, hint)

    def _note(self, at: int, rule: str, text: str, hint: str = "") -> None:
        place = self._lines.place(at)
        self.findings.append(Finding(place=place, rule=rule, text=text, hint=hint))
        if len(self.findings) >= MOST_FINDINGS:
            self._fail(at, "too-many-findings", "the rest is not read: too much is wrong")

    def _fail(self, at: int, rule: str, text: str, hint: str = "") -> NoReturn:
        place = self._lines.place(at)
        last = Finding(place=place, rule=rule, text=text, hint=hint)
        raise DocumentError([*self.findings, last])


def _offset(event: yaml.Event) -> int:
    """Return where an event begins; the parser marks every one of a document's."""
    return event.start_mark.index if event.start_mark else 0
