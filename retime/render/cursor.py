"""Where a deliverable stands in its plan while the scans go by."""

from __future__ import annotations

from bisect import bisect_right
from collections import deque
from operator import itemgetter
from typing import TYPE_CHECKING

from retime.render.recipe import frames_of

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence

    from retime.render.recipe import Place, Recipe, Wanted

__all__ = ["Cursor"]


class Cursor:
    """Walks the pictures that a plan wants as film frames arrive in playing order."""

    def __init__(
        self, pictures: Iterable[Wanted], loops: Sequence[tuple[Place, Place]] = ()
    ) -> None:
        """Stand before the first of a deliverable's pictures.

        ``loops`` are spans of film frames that come back after others of the span.
        """
        self._coming = iter(pictures)
        self._loops = loops
        self._seen: deque[tuple[Wanted, set[Place]]] = deque()
        self._see_one()

    @property
    def recipe(self) -> Recipe | None:
        """What the picture that comes next is made of; None after the last."""
        return self._seen[0][0].recipe if self._seen else None

    def take(self) -> int:
        """Take the picture that comes next; return for how many output frames it is."""
        times = self._seen.popleft()[0].times
        if not self._seen:
            self._see_one()
        return times

    def ready(self, place: Place | None) -> Iterator[Wanted]:
        """Take what needs no film frame after ``place``; everything that is left where it is None.

        Black needs none at all.
        """
        while self._seen:
            picture, frames = self._seen[0]
            if place is not None and frames and max(frames) > place:
                return
            self.take()
            yield picture

    def wants(self, place: Place) -> bool:
        """Tell whether any picture to come is made of a film frame."""
        horizon = self._horizon(place)
        while self._seen and not any(one > horizon for one in self._seen[-1][1]):
            if not self._see_one():
                break
        return any(place in frames for _, frames in self._seen)

    def oldest(self) -> Place | None:
        """Return the first film frame that is still needed, as far as can be seen."""
        return min((min(frames) for _, frames in self._seen if frames), default=None)

    def _horizon(self, place: Place) -> Place:
        """Return the film frame after which ``place`` does not come back."""
        at = bisect_right(self._loops, place, key=itemgetter(0)) - 1
        return max(place, self._loops[at][1]) if at >= 0 else place

    def _see_one(self) -> bool:
        picture = next(self._coming, None)
        if picture is None:
            return False
        self._seen.append((picture, frames_of(picture.recipe)))
        return True
