"""From a document's tree to its sections, keeping what can be kept of one that has mistakes.

A document with a mistake is refused, but all its mistakes are to be told at once. So what cannot be
read is left out, or something stands in for it, and the rest is judged too.
"""

from __future__ import annotations

from copy import deepcopy
from typing import TYPE_CHECKING, Any

from msgspec import Struct

from retime.evidence.document import FORMAT, SECTION_OF, HeadSection, ItemSection
from retime.evidence.model import Kind
from retime.findings import Finding
from retime.yamldoc.binding import examine
from retime.yamldoc.quoting import listed, quoted, suggestion

if TYPE_CHECKING:
    from collections.abc import Iterable

    from retime.evidence.document import AnySection
    from retime.findings import TextPlace
    from retime.speedmap.place import Where
    from retime.yamldoc.binding import Fault
    from retime.yamldoc.tree import NodePath, Tree

__all__ = ["Drafting"]

_STAND_INS: dict[str, Any] = {
    "format": FORMAT,
    "film": "film",
    "gauge": "35mm",
    "footage": "nominal",
    "candidates": ["20 fps"],
    "evidence": [],
}
_BESIDE: dict[str, Any] = {"id": "item", "trust": "1", "source": "source"}
"""Stand-ins for what of an item nothing else hangs on."""

_SPARED = {"note", "group", "about"}
"""What of an item may be left out, and nothing else hangs on."""

_SHARED = set(ItemSection.model_fields)


class _Inside(Struct, frozen=True):
    """A part of a tree as a document of its own."""

    tree: Tree
    path: NodePath

    def place(self, path: NodePath, *, key: bool = False) -> TextPlace:
        return self.tree.place((*self.path, *path), key=key)

    def has(self, path: NodePath) -> bool:
        return self.tree.has((*self.path, *path))


class Drafting:
    """One document while it is held against its shape.

    ``lost`` are the keys of its head that could not be read.
    """

    def __init__(self, tree: Tree) -> None:
        """Take what reading found wrong with the text."""
        self.findings: list[Finding] = list(tree.findings)
        self.lost: set[str] = set()
        self._tree = tree

    def head(self) -> HeadSection | None:
        """Return the document without its wrong parts, if there is one without them."""
        plain = self._tree.plain()
        head, faults = examine(HeadSection, plain, self._tree)
        self._tell_faults(faults)
        for fault in faults:
            name = str(fault.path[0])
            self.lost.add(name)
            if name in _STAND_INS:
                plain[name] = _STAND_INS[name]
            else:
                plain.pop(name, None)
        if faults:
            head, _ = examine(HeadSection, plain, self._tree)
        if head is not None and not head.evidence and "evidence" not in self.lost:
            self._tell(("evidence",), "there is no evidence", "write at least one item")
        return head

    def item(self, plain: Any, where: Where) -> AnySection | None:
        """Return an item held against the shape of its kind, None where that fails.

        Something stands in for what is wrong with it, where nothing else hangs on that.
        """
        inside = _Inside(self._tree, where.path)
        wanted = self._wanted(plain, where)
        if wanted is None:
            if isinstance(plain, dict):
                shared = {key: told for key, told in plain.items() if key in _SHARED}
                self._tell_faults(examine(ItemSection, shared, inside)[1])
            return None
        section, faults = examine(wanted, plain, inside)
        self._tell_faults(faults)
        if faults and all(_aside(fault) for fault in faults):
            section, _ = examine(wanted, _mended(plain, faults), inside)
        return section

    def _wanted(self, plain: Any, where: Where) -> type[AnySection] | None:
        """Return the shape of an item's kind, None once what is wrong is told."""
        kind = plain.get("kind") if isinstance(plain, dict) else None
        if kind in list(Kind):
            return SECTION_OF[Kind(kind)]
        if plain is None or (isinstance(plain, dict) and "kind" in plain and kind is None):
            return None  # an empty value, which reading has told
        if not isinstance(plain, dict):
            self._tell(where.path, "this is no item", "write {id: ..., kind: ..., ...}")
        elif isinstance(kind, str):
            what = f"{quoted(kind)} is no kind of evidence"
            self._tell((*where.path, "kind"), what, suggestion(kind, list(Kind)))
        else:
            what = '"kind" is missing' if kind is None else "this is no kind of evidence"
            self._tell((*where.path, "kind"), what, f"known here: {listed(Kind)}")
        return None

    def _tell(self, path: NodePath, text: str, hint: str) -> None:
        place = self._tree.place(path)
        self.findings.append(Finding(place=place, rule="items", text=text, hint=hint))

    def _tell_faults(self, faults: Iterable[Fault]) -> None:
        self.findings += (fault.finding for fault in faults if not fault.told)


def _aside(fault: Fault) -> bool:
    """Say whether nothing else of an item hangs on what is wrong."""
    return fault.superfluous or (bool(fault.path) and fault.path[0] in {*_SPARED, *_BESIDE})


def _mended(plain: dict[str, Any], faults: Iterable[Fault]) -> dict[str, Any]:
    """Return an item without what is wrong, wherever in it that stands."""
    copied: dict[str, Any] = deepcopy(plain)
    for fault in faults:
        name = str(fault.path[0])
        if fault.superfluous:
            inner: Any = copied
            for step in fault.path[:-1]:
                inner = inner[step]
            inner.pop(fault.path[-1], None)
        elif name in _BESIDE:
            copied[name] = _BESIDE[name]
        else:
            copied.pop(name, None)
    return copied
