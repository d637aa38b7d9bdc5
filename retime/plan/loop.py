"""Loops: what plays back and forth where a shot is held, so that grain and weave live.

The film runs forward to the end of the loop, back and forth within it for as long as the hold
lasts, and on from where it was: no picture ever follows one that was not its neighbour on the
film. A hold rarely is a whole number of turns, so the last turn is as short as it has to be; one
frame over stands where that one turns, and what is left of a frame lengthens the last.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from retime.film.rounding import floor_of

if TYPE_CHECKING:
    from collections.abc import Iterator
    from fractions import Fraction

__all__ = ["LoopRun", "loop_runs", "loop_window"]


class LoopRun(NamedTuple):
    """``frames`` in a row from ``first``, up or down, that last ``duration`` seconds each."""

    first: int
    frames: int
    backward: bool
    duration: Fraction


def loop_window(first: int, last: int, loop: int) -> tuple[int, int]:
    """Return the loop's first and last frame: about a shot's middle, and inside the shot."""
    count = min(loop, last - first + 1)
    low = (first + last) // 2 - (count - 1) // 2
    return low, low + count - 1


def loop_runs(low: int, high: int, duration: Fraction, hold: Fraction) -> Iterator[LoopRun]:
    """Yield what plays after frame ``high`` for ``hold`` seconds, in the order of time.

    A frame lasts ``duration`` seconds. ``hold`` lasts at least a frame, and ``high`` is above
    ``low``.
    """
    slots = floor_of(hold / duration)
    rest = hold - slots * duration
    turns, left = divmod(slots, 2 * (high - low))
    half, over = divmod(left, 2)
    for _ in range(turns):
        yield from _turn(low, high, duration)
    yield from _turn(high - half, high, duration, over=over)
    if rest:
        yield LoopRun(high, 1, False, rest)


def _turn(low: int, high: int, duration: Fraction, *, over: int = 0) -> Iterator[LoopRun]:
    """Yield one turn: from below ``high`` down to ``low``, ``over`` times more there, and up."""
    down = high - low
    if down:
        yield LoopRun(high - 1, down, True, duration)
    if over:
        yield LoopRun(low, 1, False, duration)
    if down:
        yield LoopRun(low + 1, down, False, duration)
