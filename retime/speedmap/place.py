"""Where a part of a map is written: in the map itself, or in its table of shots."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Protocol

from retime.findings import TextPlace

if TYPE_CHECKING:
    from retime.yamldoc.tree import NodePath

__all__ = ["NOWHERE", "Document", "Where"]


class Document(Protocol):
    """Anything whose values know where they stand."""

    def place(self, path: NodePath, *, key: bool = False) -> TextPlace:
        """Return the place of the value at ``path``, or of its key."""


@dataclass(frozen=True, slots=True)
class Where:
    """A path into a document that can say where its values stand."""

    document: Document
    path: NodePath

    def inside(self, *steps: str | int) -> Where:
        """Return the part that lies ``steps`` inside this one."""
        return Where(self.document, (*self.path, *steps))

    def of(self, *steps: str | int, key: bool = False) -> TextPlace:
        """Return the place of this part, or of what lies ``steps`` inside it, or of its key."""
        return self.document.place((*self.path, *steps), key=key)


@dataclass(frozen=True, slots=True)
class _Unwritten:
    def place(self, path: NodePath, *, key: bool = False) -> TextPlace:  # noqa: ARG002
        return TextPlace(path=Path("map"))


NOWHERE = Where(_Unwritten(), ())
"""The place of a part that was made by a program and stands in no file."""
