"""What plays between two cues, and how long it lasts when a free frame lasts so long.

The time grows with the free frame's duration in straight pieces, which bend where a title's limit
begins or ends to bind. So it can be read backwards exactly.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from fractions import Fraction
from typing import TYPE_CHECKING

from msgspec import Struct

from retime.errors import NotationError
from retime.plan.assembly import assemble
from retime.speedmap.arrangement import Inserted
from retime.speedmap.decisions import Free

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from retime.speedmap.arrangement import Item

__all__ = ["Limited", "Passage", "passage_of"]


class Limited(Struct, frozen=True, kw_only=True):
    """A shot of ``frames`` free frames that lasts ``at_least`` and ``at_most`` so many seconds."""

    frames: int
    at_least: Fraction = Fraction(0)
    at_most: Fraction | None = None

    def __post_init__(self) -> None:
        """Refuse limits that no time keeps."""
        if self.at_most is not None and self.at_most < self.at_least:
            raise NotationError(
                f"a shot of at least {self.at_least} s cannot last at most {self.at_most} s",
                "let the longest time be no shorter than the shortest",
            )

    def lasts(self, frame: Fraction) -> Fraction:
        """Return how long the shot lasts, in seconds, when a free frame lasts ``frame``."""
        least = max(self.frames * frame, self.at_least)
        return least if self.at_most is None else min(least, self.at_most)

    @property
    def bends(self) -> tuple[Fraction, ...]:
        """The durations of a free frame at which a limit begins or ends to bind."""
        most = () if self.at_most is None else (self.at_most / self.frames,)
        return (self.at_least / self.frames, *most)


class Passage(Struct, frozen=True, kw_only=True):
    """A run of film, in any order: what follows is told of its sum.

    ``free`` is how many frames run at the free speed without limits, ``limited`` are the shots
    of that speed that have some, and ``fixed`` is how many seconds everything else lasts: shots
    with speeds or times of their own, holds, stills, black.
    """

    free: int = 0
    fixed: Fraction = Fraction(0)
    limited: tuple[Limited, ...] = ()

    def __add__(self, other: Passage) -> Passage:
        """Return both passages together, at one free speed."""
        return Passage(
            free=self.free + other.free,
            fixed=self.fixed + other.fixed,
            limited=self.limited + other.limited,
        )

    @property
    def gives(self) -> bool:
        """Whether any frame runs at the free speed."""
        return bool(self.free or self.limited)

    def lasts(self, frame: Fraction) -> Fraction:
        """Return how long the passage lasts, in seconds, when a free frame lasts ``frame``."""
        own = self.fixed + self.free * frame
        return own + sum((shot.lasts(frame) for shot in self.limited), Fraction(0))

    def least(self, seconds: Fraction, low: Fraction, high: Fraction) -> Fraction:
        """Return the least frame duration in ``low``..``high`` that fills at least ``seconds``.

        It is ``high`` where none does; the time is filled exactly where any in between does.
        """
        knots = self._knots(low, high)
        return self._between(knots, bisect_left(knots, seconds, key=self.lasts), seconds)

    def most(self, seconds: Fraction, low: Fraction, high: Fraction) -> Fraction:
        """Return the greatest frame duration in ``low``..``high`` that fills at most ``seconds``.

        It is ``low`` where none does; the time is filled exactly where any in between does.
        """
        knots = self._knots(low, high)
        return self._between(knots, bisect_right(knots, seconds, key=self.lasts), seconds)

    def _knots(self, low: Fraction, high: Fraction) -> list[Fraction]:
        inside = {bend for shot in self.limited for bend in shot.bends if low < bend < high}
        return [low, *sorted(inside), high]

    def _between(self, knots: Sequence[Fraction], stop: int, seconds: Fraction) -> Fraction:
        """Return where ``seconds`` are filled before knot number ``stop``, or the nearest end."""
        if stop in {0, len(knots)}:
            return knots[0] if stop == 0 else knots[-1]
        before, after = knots[stop - 1], knots[stop]
        start = self.lasts(before)
        return before + (after - before) * (seconds - start) / (self.lasts(after) - start)


def passage_of(items: Iterable[Item]) -> Passage:
    """Return what so many neighbouring items of a version make together."""
    free, fixed = 0, Fraction(0)
    limited: list[Limited] = []
    settled: list[Item] = []
    for item in items:
        if isinstance(item, Inserted) or not isinstance(item.pace, Free):
            settled.append(item)
        elif item.exactly is not None:
            fixed += item.exactly
        elif item.at_least is None and item.at_most is None:
            free += item.count
        else:
            least = item.at_least or Fraction(0)
            limited.append(Limited(frames=item.count, at_least=least, at_most=item.at_most))
    fixed += assemble(settled, {}).duration
    return Passage(free=free, fixed=fixed, limited=tuple(limited))
