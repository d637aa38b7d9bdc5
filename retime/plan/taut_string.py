"""The steadiest way through gates: a taut string.

Time drawn over film frames is a path whose slope is how long a frame lasts. It has to pass a gate,
an earliest and a latest time, at the end of every passage. A string pulled taut between the posts
runs straight, and bends only where a post is in its way: upwards at a latest time, downwards at an
earliest. P. L. Davies and A. Kovac, "Local extremes, runs, strings and multiresolution", Annals of
Statistics 29 (2001), from memory. Passages whose time is no straight line of the frame's duration,
but grows with it, are the case of L. Duembgen and A. Kovac, "Extensions of smoothing via taut
strings", Electronic Journal of Statistics 3 (2009), 41-75: "straight" means one duration.

Why it is the steadiest. Where the duration is locally greatest, the string runs from a latest time
to an earliest one: whoever passes both gates must somewhere be as slow. Where it is locally least,
the other way about: somewhere as fast. So of all paths the string changes least in sum, whether
durations, speeds or their ratios are counted. Where it bends at all, its slowest is the fastest
possible and its fastest the slowest, so that it keeps any limits of speed that some path keeps.
Among paths with the same end it is the one whose free frames differ least from their mean, by
squares (where no limits of titles come in).
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from retime.plan.passage import Passage

if TYPE_CHECKING:
    from collections.abc import Sequence
    from fractions import Fraction

__all__ = ["Gate", "taut_string"]


class Gate(NamedTuple):
    """The earliest and the latest time at which a passage may end, in seconds, both included."""

    early: Fraction
    late: Fraction


class _Straight(NamedTuple):
    """So many passages at one frame duration, and when they end."""

    passages: int
    frame: Fraction
    ends: Fraction


def taut_string(
    begin: Fraction,
    passages: Sequence[Passage],
    gates: Sequence[Gate],
    lengths: tuple[Fraction, Fraction],
    liked: Fraction,
) -> list[Fraction]:
    """Return how long a free frame lasts in each passage, in seconds.

    The first passage begins at ``begin``; each ends within its gate. ``lengths`` are the least
    and the greatest duration of a frame, and some durations within them pass all gates. Where one
    duration throughout does, it is that which comes nearest to ``liked``.
    """
    frames: list[Fraction] = []
    before = liked
    while len(frames) < len(passages):
        done = len(frames)
        straight = _straight(begin, passages[done:], gates[done:], lengths, before)
        frames += [straight.frame] * straight.passages
        begin, before = straight.ends, straight.frame
    return frames


def _straight(
    begin: Fraction,
    passages: Sequence[Passage],
    gates: Sequence[Gate],
    lengths: tuple[Fraction, Fraction],
    before: Fraction,
) -> _Straight:
    """Return the straight run to where the string has to bend, or to its end.

    The durations that pass every gate so far narrow with each gate. Once a gate asks for longer
    frames than the earlier ones allow, the string touches that latest time which allowed least,
    and bends there; likewise with shorter ones. To the end it changes the duration ``before`` by
    as little as the gates allow.
    """
    low, high = lengths
    total = Passage()
    first = last = begin  # when all so far ends at these two durations
    lowest = highest = 0
    for number, (passage, gate) in enumerate(zip(passages, gates, strict=True), start=1):
        total += passage
        first, last = first + passage.lasts(low), last + passage.lasts(high)
        if last < gate.early:
            return _bend(highest, high, gates[highest - 1].late)
        if first > gate.late:
            return _bend(lowest, low, gates[lowest - 1].early)
        if first <= gate.early:
            low, lowest = total.least(gate.early - begin, low, high), number
            first = gate.early
        if last >= gate.late:
            high, highest = total.most(gate.late - begin, low, high), number
            last = gate.late
    frame = min(max(before, low), high)
    return _Straight(len(passages), frame, begin + total.lasts(frame))


def _bend(passages: int, frame: Fraction, ends: Fraction) -> _Straight:
    if not passages:
        raise AssertionError("no durations within the limits pass the gates")
    return _Straight(passages, frame, ends)
