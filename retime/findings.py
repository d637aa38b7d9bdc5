"""What is wrong, or odd, and where: the one shape in which every command tells it."""

from __future__ import annotations

from enum import StrEnum
from typing import TYPE_CHECKING, Protocol, runtime_checkable

from msgspec import Struct

if TYPE_CHECKING:
    from pathlib import Path

__all__ = ["Finding", "Place", "Severity", "TextPlace"]


class Severity(StrEnum):
    """How much a finding weighs: an error stops a command, a warning is only told."""

    ERROR = "error"
    WARNING = "warning"


@runtime_checkable
class Place(Protocol):
    """Where a finding points: anything that can say so in one line and be put in order."""

    def __str__(self) -> str:
        """Return the place as a person reads it, without a newline."""

    @property
    def order(self) -> tuple[str, int, int]:
        """Return a key that sorts findings as the file is read."""


class TextPlace(Struct, frozen=True, kw_only=True):
    """A place in a text file; line and column count from 1, 0 meaning the file as a whole."""

    path: Path
    line: int = 0
    column: int = 0

    def __str__(self) -> str:
        """Return ``path:line:column``, or the path alone for a whole file."""
        return f"{self.path}:{self.line}:{self.column}" if self.line else str(self.path)

    @property
    def order(self) -> tuple[str, int, int]:
        """Sort by file, then line, then column."""
        return str(self.path), self.line, self.column


class Finding(Struct, frozen=True, kw_only=True):
    """One thing found: ``rule`` names the check, ``hint`` says what would be right."""

    place: Place
    rule: str
    text: str
    hint: str = ""
    severity: Severity = Severity.ERROR

    def __str__(self) -> str:
        """Return ``place: what is wrong; what would be right``."""
        head = f"{self.place}: {'warning: ' if self.severity is Severity.WARNING else ''}"
        return f"{head}{self.text}; {self.hint}" if self.hint else f"{head}{self.text}"
