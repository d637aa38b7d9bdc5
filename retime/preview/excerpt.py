"""An excerpt: a run of film frames of one reel that is looked at."""

from __future__ import annotations

from typing import TYPE_CHECKING

from msgspec import Struct

if TYPE_CHECKING:
    from retime.speedmap.model import ShotKind

__all__ = ["Excerpt", "cut"]


class Excerpt(Struct, frozen=True, kw_only=True):
    """``frames`` film frames of a reel from ``first`` on, as the house counts them.

    ``key`` is ours and names files; ``shot`` and ``kind`` are None where no one shot is shown.
    ``name`` is what a person calls the shot. ``why`` says how it was chosen.
    """

    key: str
    title: str
    name: str | None
    reel: str
    shot: str | None
    kind: ShotKind | None
    first: int
    frames: int
    why: str

    @property
    def last(self) -> int:
        """Its last film frame."""
        return self.first + self.frames - 1


def cut(first: int, last: int, most: int, about: int | None = None) -> tuple[int, int]:
    """Return the first and last of at most ``most`` frames of a run, both included.

    They lie around ``about``, or around the middle, as near to it as the run's ends allow.
    """
    if last - first + 1 <= most:
        return first, last
    middle = (first + last + 1) // 2 if about is None else about
    begin = min(max(first, middle - most // 2), last - most + 1)
    return begin, begin + most - 1
