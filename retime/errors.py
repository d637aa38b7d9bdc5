"""Every exception that retime raises on purpose.

RetimeError                  our own failure, exit code 3
├── InputError               what the user gave is at fault, exit code 2
│   ├── NotationError        a speed, rate, time or length that cannot be read (also a ValueError)
│   ├── DocumentError        a map, profile or list with findings that are errors
│   ├── CommandError         the command line asks for what does not exist
│   ├── ScanError            a scan cannot be used
│   └── OutputError          an output cannot be written
└── Interrupted              stopped by the user, exit code 130

Every class passes all its fields to ``super().__init__``, so that errors survive pickling
between processes.
"""

from __future__ import annotations

from enum import IntEnum
from typing import TYPE_CHECKING, ClassVar

if TYPE_CHECKING:
    from collections.abc import Iterable
    from pathlib import Path

    from retime.findings import Finding

__all__ = [
    "CommandError",
    "DocumentError",
    "Exit",
    "InputError",
    "Interrupted",
    "NotationError",
    "OutputError",
    "RetimeError",
    "ScanError",
]


class Exit(IntEnum):
    """What a command's exit code says."""

    DONE = 0
    FOUND = 1
    INPUT = 2
    FAILURE = 3
    INTERRUPTED = 130


class RetimeError(Exception):
    """Something that retime knows to be wrong; ``str`` of it is the message for a person."""

    exit_code: ClassVar[Exit] = Exit.FAILURE


class InputError(RetimeError):
    """The command line or an input is at fault."""

    exit_code = Exit.INPUT


class NotationError(InputError, ValueError):
    """A figure that cannot be read: ``text`` says what is wrong, ``hint`` what would be right."""

    def __init__(self, text: str, hint: str = "") -> None:
        """Keep both halves; a reader of documents puts the place before them."""
        super().__init__(text, hint)
        self.text = text
        self.hint = hint

    def __str__(self) -> str:
        """Return both halves in one line."""
        return f"{self.text}; {self.hint}" if self.hint else self.text


class DocumentError(InputError):
    """A document with at least one finding that is an error; all of them are carried."""

    def __init__(self, findings: Iterable[Finding]) -> None:
        """Keep the findings in the order of their places."""
        self.findings = tuple(sorted(findings, key=lambda found: found.place.order))
        super().__init__(self.findings)

    def __str__(self) -> str:
        """Return one line per finding."""
        return "\n".join(str(found) for found in self.findings)


class CommandError(InputError):
    """A command line that asks for what does not exist, or for two things at odds."""

    def __init__(self, text: str, hint: str = "") -> None:
        """Keep what is wrong and what would be right."""
        super().__init__(text, hint)
        self.text = text
        self.hint = hint

    def __str__(self) -> str:
        """Return both halves in one line."""
        return f"{self.text}; {self.hint}" if self.hint else self.text


class _FileError(InputError):
    """A file at fault: its path, what is wrong, what to do, and a library's last words."""

    def __init__(self, path: Path, text: str, hint: str = "", detail: str = "") -> None:
        """Keep all four; ``detail`` is the last line that the media library logged."""
        super().__init__(path, text, hint, detail)
        self.path = path
        self.text = text
        self.hint = hint
        self.detail = detail

    def __str__(self) -> str:
        """Return ``path: what is wrong (detail); what to do``."""
        detail = f" ({self.detail})" if self.detail else ""
        hint = f"; {self.hint}" if self.hint else ""
        return f"{self.path}: {self.text}{detail}{hint}"


class ScanError(_FileError):
    """A scan that is missing, damaged, of another kind than stated, or not to be trusted."""


class OutputError(_FileError):
    """An output that exists already, does not fit the disk, or cannot be written."""


class Interrupted(RetimeError):  # noqa: N818 - it is no error of anybody's
    """The user stopped the command."""

    exit_code = Exit.INTERRUPTED
