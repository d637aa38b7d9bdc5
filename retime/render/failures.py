"""What becomes of a deliverable that fails: it stops the render, or the others go on."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterable

    from retime.errors import RetimeError

__all__ = ["Failures"]


class Failures:
    """The deliverables that failed, by name, with what went wrong first."""

    def __init__(self, names: Iterable[str] | None = None, *, keep_going: bool = False) -> None:
        """Begin with none; without ``keep_going`` the first is raised instead of kept.

        ``names`` are all that could fail, where somebody has to know that all did.
        """
        self.keep_going = keep_going
        self._names = None if names is None else frozenset(names)
        self.known: dict[str, RetimeError] = {}

    def take(self, names: Iterable[str], error: RetimeError) -> None:
        """Keep that deliverables have failed; raise the error where no other is left to make."""
        if not self.keep_going:
            raise error
        for name in names:
            self.known.setdefault(name, error)
        if self._names is not None and self._names <= self.known.keys():
            raise error
