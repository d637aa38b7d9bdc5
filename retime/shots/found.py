"""What is found in a scan: shots, how they meet, and where the picture begins and ends."""

from __future__ import annotations

from enum import StrEnum

from msgspec import Struct

__all__ = ["FoundShot", "Join", "JoinKind", "Leader", "LeaderKind", "ScanShots"]


class JoinKind(StrEnum):
    """How one shot goes over into the next."""

    CUT = "cut"
    DISSOLVE = "dissolve"
    FADE_OUT = "fade-out"
    FADE_IN = "fade-in"


class Join(Struct, frozen=True, kw_only=True):
    """How shots meet, over which frames, both included, and how sure that is, 0 to 1.

    A cut's frames are both that after it.
    """

    kind: JoinKind
    first: int
    last: int
    sure: float


class FoundShot(Struct, frozen=True, kw_only=True):
    """A shot's frames, both included; ``lettered`` is how far it is taken for a title, 0 to 1."""

    first: int
    last: int
    lettered: float

    @property
    def title(self) -> bool:
        """Whether it is taken for a title."""
        return self.lettered >= 0.5  # noqa: PLR2004 - the middle

    @property
    def sure(self) -> float:
        """How sure its kind is, from 0 for even odds to 1."""
        return abs(2 * self.lettered - 1)


class LeaderKind(StrEnum):
    """What a piece of leader is."""

    BLACK = "black"
    WHITE = "white"
    STILL = "still"
    PUNCH = "punch"


class Leader(Struct, frozen=True, kw_only=True):
    """A piece of leader, its frames both included."""

    kind: LeaderKind
    first: int
    last: int


class ScanShots(Struct, frozen=True, kw_only=True):
    """All that was found in a scan of so many ``frames``.

    ``first`` and ``last`` are those of picture; ``shots`` lie between them without a gap.
    ``joins`` are how they meet, in order; ``head`` and ``tail`` what leader is made of.
    """

    frames: int
    first: int
    last: int
    shots: tuple[FoundShot, ...]
    joins: tuple[Join, ...]
    head: tuple[Leader, ...]
    tail: tuple[Leader, ...]
