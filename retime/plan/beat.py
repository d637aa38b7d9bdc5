"""Rules that say which slot of a stretch each pulse of a piece shows."""

from __future__ import annotations

from bisect import bisect_left
from itertools import accumulate
from typing import TYPE_CHECKING

from msgspec import Struct

from retime.plan.residues import Listed, Residues

if TYPE_CHECKING:
    from collections.abc import Iterator

    from retime.plan.residues import Numbers

__all__ = ["Beat", "Lags", "Runs", "still"]


class Lags(Struct, frozen=True, kw_only=True):
    """How far first showings stand from their slots' starts, in ``scale``-ths of a pulse.

    Measured from the piece's first pulse, as if slot 0 began with it.
    """

    numbers: Numbers
    scale: int


class Beat(Struct, frozen=True, kw_only=True):
    """Output frame k of a piece shows slot floor((step k + phase) / beat): a constant speed.

    ``step`` film frames pass in ``beat`` pulses; a ``step`` of 0 is one slot throughout.
    ``phase`` is 0 or more.
    """

    step: int
    beat: int
    phase: int

    def slot(self, k: int) -> int:
        """Return the slot that pulse ``k`` of the piece shows."""
        return (self.step * k + self.phase) // self.beat

    def advanced(self, k: int) -> Beat:
        """Return the rule of what is left once ``k`` pulses are cut off in front."""
        return Beat(step=self.step, beat=self.beat, phase=self.phase + self.step * k)

    def distinct(self, count: int) -> int:
        """Return how many slots ``count`` pulses show."""
        if self.step > self.beat:
            return count
        return self.slot(count - 1) - self.slot(0) + 1

    def runs(self, count: int) -> Iterator[tuple[int, int]]:
        """Yield each slot shown and how often, over ``count`` pulses."""
        if self.step == 0:
            yield self.slot(0), count
            return
        k, step, beat, phase = 0, self.step, self.beat, self.phase
        while k < count:
            slot = (step * k + phase) // beat
            after = min(count, -((phase - (slot + 1) * beat) // step))
            yield slot, after - k
            k = after

    def latest_repeat(self, count: int) -> int | None:
        """Return the last k that shows the slot of k - 1, or None."""
        if self.step > self.beat:
            return None
        # k - slot(k) only grows, and by one at every repeat.
        behind = bisect_left(
            range(count), count - 1 - self.slot(count - 1), key=lambda k: k - self.slot(k)
        )
        return behind or None

    def lags(self, count: int, *, fresh: bool) -> Lags | None:
        """Return the lags of every slot first shown in the piece, its first if it is ``fresh``.

        None where there are none.
        """
        step, beat, phase = self.step, self.beat, self.phase
        if step == 0:
            return Lags(numbers=Listed(numbers=(0,)), scale=1) if fresh else None
        opening = phase // beat
        # The slot that opens the piece may have begun well before the piece does.
        also = -beat * opening if fresh else None
        if step > beat:
            n, a, b, m = count - 2, step, phase + step, beat
        else:
            n = self.slot(count - 1) - opening - 1
            a, b, m = -beat, phase - beat * (opening + 1), step
        if n < 0 and not fresh:
            return None
        return Lags(numbers=Residues(n=n, a=a, b=b, m=m, less=phase, also=also), scale=step)


class Runs(Struct, frozen=True, kw_only=True):
    """A ramp: slot by slot, ``starts`` in ``scale``-ths of a pulse, and run lengths.

    ``counts[i]`` pulses show slot ``first + i``; a slot may have none.
    """

    first: int
    counts: tuple[int, ...]
    starts: tuple[int, ...]
    scale: int

    def slot(self, k: int) -> int:
        """Return the slot that pulse ``k`` of the piece shows."""
        for slot, total in enumerate(accumulate(self.counts), self.first):
            if k < total:
                return slot
        raise IndexError(k)

    def advanced(self, k: int) -> Runs:
        """Return the rule of what is left once ``k`` pulses are cut off in front."""
        counts = list(self.counts)
        at = 0
        while at < len(counts) and k >= counts[at]:
            k -= counts[at]
            at += 1
        if at < len(counts):
            counts[at] -= k
        return Runs(
            first=self.first + at,
            counts=tuple(counts[at:]),
            starts=self.starts[at:],
            scale=self.scale,
        )

    def distinct(self, count: int) -> int:
        """Return how many slots ``count`` pulses show."""
        return sum(1 for _ in self.runs(count))

    def runs(self, count: int) -> Iterator[tuple[int, int]]:
        """Yield each slot shown and how often, over ``count`` pulses."""
        for slot, run in enumerate(self.counts, self.first):
            if count <= 0:
                return
            if run:
                yield slot, min(run, count)
            count -= run

    def latest_repeat(self, count: int) -> int | None:
        """Return the last k that shows the slot of k - 1, or None."""
        found, k = None, 0
        for _, run in self.runs(count):
            k += run
            if run > 1:
                found = k - 1
        return found

    def lags(self, count: int, *, fresh: bool) -> Lags | None:
        """Return the lags of every slot first shown in the piece, its first if it is ``fresh``.

        None where there are none.
        """
        k, numbers = 0, []
        for slot, run in self.runs(count):
            if k or fresh:
                numbers.append(k * self.scale - self.starts[slot - self.first])
            k += run
        return Lags(numbers=Listed(numbers=numbers), scale=self.scale) if numbers else None


def still(slot: int) -> Beat:
    """Return the rule that shows one slot throughout."""
    return Beat(step=0, beat=1, phase=slot)
