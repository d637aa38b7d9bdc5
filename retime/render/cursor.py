"""Where a deliverable stands in its plan while the scans go by."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterable

    from retime.plan.plan import Showing

__all__ = ["Cursor"]


class Cursor:
    """Walks a plan's showings as film frames arrive in playing order."""

    def __init__(self, showings: Iterable[Showing]) -> None:
        """Stand before the first showing."""
        self._showings = iter(showings)
        self._next = next(self._showings, None)

    def black(self) -> int:
        """Take the black that comes next; return for how many output frames."""
        return self._take(None)

    def take(self, reel: int, frame: int) -> int:
        """Take a film frame's showing; return for how many output frames, 0 if it is not next."""
        return self._take((reel, frame))

    def wants(self, reel: int, frame: int) -> bool:
        """Tell whether a film frame, or black and then it, is what comes next."""
        return self._next is not None and (self._next.frame is None or self._is(reel, frame))

    @property
    def done(self) -> bool:
        """Whether every showing has been taken."""
        return self._next is None

    def _is(self, reel: int, frame: int) -> bool:
        return self._next is not None and (self._next.reel, self._next.frame) == (reel, frame)

    def _take(self, wanted: tuple[int, int] | None) -> int:
        taken = 0
        while self._next is not None and (
            self._next.frame is None if wanted is None else self._is(*wanted)
        ):
            taken += self._next.times
            self._next = next(self._showings, None)
        return taken
