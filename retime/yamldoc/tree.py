"""A document as a tree of text nodes, each of which knows where it stands.

Every scalar stays the text that was written: ``1:37:12``, ``23.976``, ``012`` and ``no`` are not
numbers, clocks or switches until a model that knows what it wants reads them.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, NamedTuple, TypeAlias

from msgspec import Struct

if TYPE_CHECKING:
    from pathlib import Path

    from retime.findings import Finding, TextPlace
    from retime.yamldoc.lines import Lines

__all__ = ["Entry", "Mapping", "Node", "NodePath", "Scalar", "Sequence", "Tree"]

NodePath: TypeAlias = tuple[str | int, ...]


class Scalar(Struct, frozen=True):
    """A text; ``plain`` if it was written without quotes, ``at`` its first character's offset."""

    text: str
    plain: bool
    at: int

    @property
    def empty(self) -> bool:
        """Say whether nothing was written: no text, or a bare ``~``; ``""`` is a text."""
        return self.plain and self.text in {"", "~"}


class Sequence(Struct, frozen=True):
    """A list of nodes, in the order written."""

    items: tuple[Node, ...]
    at: int


class Entry(NamedTuple):
    """A mapping's value, and the offset of the key that names it."""

    key_at: int
    node: Node


class Mapping(Struct, frozen=True):
    """Keys and values, in the order written."""

    entries: dict[str, Entry]
    at: int


Node: TypeAlias = Scalar | Sequence | Mapping


class Tree(Struct, frozen=True, kw_only=True):
    """A document that could be read.

    ``sha256`` is the digest of its bytes. ``findings`` are mistakes that did not stop the reading
    (repeated keys, empty values): whoever takes the tree's values raises them, as
    ``retime.yamldoc.binding.validate`` does.
    """

    lines: Lines
    sha256: str
    root: Mapping
    findings: tuple[Finding, ...] = ()

    @property
    def path(self) -> Path:
        """The file that the document was read from."""
        return self.lines.path

    def place(self, path: NodePath, *, key: bool = False) -> TextPlace:
        """Return where the value at ``path`` stands, or its key.

        Steps that the tree does not have are passed over; if the last is one of them, the place is
        that of the key (or of the list's item) that should hold it, or of the text that stands
        there instead.
        """
        here, found = Entry(self.root.at, self.root), True
        for step in path:
            child = _child(here.node, step)
            found = child is not None or isinstance(here.node, Scalar)
            here = child or here
        return self.lines.place(here.node.at if found and not key else here.key_at)

    def has(self, path: NodePath) -> bool:
        """Say whether something is written at ``path``."""
        here: Entry | None = Entry(self.root.at, self.root)
        for step in path:
            here = _child(here.node, step) if here else None
        return here is not None

    def plain(self) -> dict[str, Any]:
        """Return the tree as dicts, lists and texts; an empty value is None."""
        return {key: _plain(entry.node) for key, entry in self.root.entries.items()}


def _child(node: Node, step: str | int) -> Entry | None:
    match node:
        case Mapping(entries):
            return entries.get(str(step))
        case Sequence(items) if isinstance(step, int) and 0 <= step < len(items):
            return Entry(items[step].at, items[step])
        case _:
            return None


def _plain(node: Node) -> Any:  # reading allows at most 50 levels, aliases included
    match node:
        case Scalar():
            return None if node.empty else node.text
        case Sequence(items):
            return [_plain(item) for item in items]
        case Mapping(entries):
            return {key: _plain(entry.node) for key, entry in entries.items()}
