"""Where a part of a map is written: in the map itself, or in its table of shots."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Protocol

from msgspec import Struct

from retime.findings import TextPlace

if TYPE_CHECKING:
    from retime.yamldoc.tree import NodePath

__all__ = ["NOWHERE", "Document", "Where"]


class Document(Protocol):
    """Anything whose values know where they stand."""

    def place(self, path: NodePath, *, key: bool = False) -> TextPlace:
        """Return the place of the value at ``path``, or of its key."""


class Where(Struct, frozen=True, eq=False):
    """A path into a document that can say where its values stand.

    Two parts that say the same are equal wherever they stand, so any place equals any other.
    """

    document: Document
    path: NodePath

    def __eq__(self, other: object) -> bool:
        """Tell whether ``other`` is a place too."""
        return isinstance(other, Where)

    def __hash__(self) -> int:
        """Return what every place returns, as all are equal."""
        return hash(Where)

    def __repr__(self) -> str:
        """Return the path, without the whole document."""
        return f"Where({self.path!r})"

    def inside(self, *steps: str | int) -> Where:
        """Return the part that lies ``steps`` inside this one."""
        return Where(self.document, (*self.path, *steps))

    def of(self, *steps: str | int, key: bool = False) -> TextPlace:
        """Return the place of this part, or of what lies ``steps`` inside it, or of its key."""
        return self.document.place((*self.path, *steps), key=key)


class _Unwritten(Struct, frozen=True):
    def place(self, path: NodePath, *, key: bool = False) -> TextPlace:  # noqa: ARG002
        return TextPlace(path=Path("map"))


NOWHERE = Where(_Unwritten(), ())
"""The place of a part that was made by a program and stands in no file."""
