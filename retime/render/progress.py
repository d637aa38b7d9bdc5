"""How far a render is: what a job tells, and whoever shows it listens to."""

from __future__ import annotations

from typing import Protocol

__all__ = ["Progress", "Silent"]


class Progress(Protocol):
    """Listens to a job; pictures are film frames that have gone by in all passes."""

    def start(self, pictures: int, note: str) -> None:
        """Take how many pictures there will be, and what is made of them."""

    def advance(self, pictures: int) -> None:
        """Take how many more have gone by."""

    def finish(self) -> None:
        """Take that all have."""


class Silent:
    """Nobody listens."""

    def start(self, pictures: int, note: str) -> None:
        """Ignore it."""

    def advance(self, pictures: int) -> None:
        """Ignore it."""

    def finish(self) -> None:
        """Ignore it."""
