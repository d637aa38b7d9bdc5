"""Cues carried through the one map of time, and what becomes of them on the way.

Every begin and end is carried exactly. What of a cue's film does not play is taken off its ends,
a cue none of whose film plays is left out, and one whose film plays again stands again. The gap
that a cue had before the next one is kept as far as it is asked for. Everything but the carrying
itself is told.
"""

from __future__ import annotations

from bisect import bisect_left
from fractions import Fraction
from itertools import pairwise
from typing import TYPE_CHECKING, NamedTuple

from msgspec import Struct
from msgspec.structs import replace

from retime.film.clock import clock
from retime.film.rounding import half_up
from retime.follow.cues import Cue, named, warning
from retime.follow.passages import Passages, Run

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from retime.findings import Finding
    from retime.plan.timemap import TimeMap

__all__ = ["RetimeLimits", "retimed"]

_ZERO = Fraction(0)


class RetimeLimits(Struct, frozen=True, kw_only=True):
    """What is kept beyond the map, in seconds; nothing is by default.

    ``gap`` is the least between the end of a cue and the next begin, and ``shortest`` the least
    that a cue lasts, such as an output frame: on the clock of what is made, and never more than
    the source had. ``slack`` is by how much a cue can miss a cut on its own clock without meaning
    to stand on what is beyond it: half an output frame, or half its format's resolution.
    """

    gap: Fraction = _ZERO
    shortest: Fraction = _ZERO
    slack: Fraction = _ZERO


class _Carried(NamedTuple):
    """A cue as it was, and as it is now."""

    was: Cue
    cue: Cue


def retimed(
    cues: Sequence[Cue], time_map: TimeMap, limits: RetimeLimits
) -> tuple[tuple[Cue, ...], tuple[Finding, ...]]:
    """Return the cues on the clock that ``time_map`` leads to, and what there is to tell of them.

    They are in the order they had, and in that of their new times where film plays in another
    order or again. They lie between 0 and the map's duration, and overlap only where they did. An
    identity leaves them as they are.
    """
    carrying = _Carrying(Passages(time_map), limits)
    carried = [one for cue in cues for one in carrying.carried(cue)]
    if _rises(carried):
        ordered = carried
    else:
        ordered = sorted(carried, key=lambda one: one.cue.begin)
        carrying.tell_order(carried, ordered)
    spaced = _Spacing(ordered, limits, time_map.duration)
    made = tuple(spaced.cue(one) for one in ordered)
    return made, (*carrying.findings, *spaced.findings())


def _rises(carried: Sequence[_Carried]) -> bool:
    """Say whether the cues come in the order in which they came."""
    before = sorted(carried, key=lambda one: one.was.begin)
    return all(one.cue.begin <= other.cue.begin for one, other in pairwise(before))


class _Carrying:
    """Cues on their way, and the findings about them."""

    def __init__(self, passages: Passages, limits: RetimeLimits) -> None:
        self._passages = passages
        self._limits = limits
        self.findings: list[Finding] = []

    def carried(self, cue: Cue) -> Iterator[_Carried]:
        """Yield a cue where it stands: nowhere, once, or wherever its film plays."""
        runs = self._passages.runs(cue.begin, cue.end, self._limits.slack)
        self._tell(cue, runs)
        for run in runs:
            inner = tuple(_inner(time, cue, run) for time in cue.inner)
            yield _Carried(cue, replace(cue, begin=run.begin, end=run.end, inner=inner))

    def _tell(self, cue: Cue, runs: Sequence[Run]) -> None:
        words, last = named(cue.text), self._passages.source_end
        if not runs and cue.begin >= last:
            text = f"{words} begins at {clock(cue.begin)}, and the film ends at {clock(last)}"
            self._note(cue, "cue-past-end", text, "it is left out")
            return
        if not runs:
            text = f"{words} stands on film that does not play here"
            self._note(cue, "cue-lost", text, "it is left out")
            return
        lost = cue.end - cue.begin - max(run.carried + run.shared for run in runs)
        if lost > self._limits.slack and lost == cue.end - last:
            text = f"{words} ends {clock(lost)} after the film"
            self._note(cue, "cue-past-end", text, "it ends with it here")
        elif lost > self._limits.slack:
            share = max(1, half_up(100 * lost / (cue.end - cue.begin)))
            text = f"{share} % of the film under {words} does not play here, or not beside the rest"
            self._note(cue, "cue-cut", text, "it stands on what remains")
        bridged = max(run.bridged for run in runs)
        if bridged:
            text = f"{words} stands on through {clock(bridged)} of picture that its source lacks"
            self._note(cue, "cue-jump", text)
        if len(runs) > 1:
            text = f"the film under {words} plays {len(runs)} times, and so does it"
            self._note(cue, "cue-again", text)

    def tell_order(self, before: Sequence[_Carried], after: Sequence[_Carried]) -> None:
        """Tell at the first cue that is moved that there are such."""
        moved = next(one for one, other in zip(before, after, strict=True) if one is not other)
        text = "the film plays in another order here, and the cues are in its order"
        self._note(moved.was, "cue-moved", text)

    def _note(self, cue: Cue, rule: str, text: str, hint: str = "") -> None:
        self.findings.append(warning(cue.place, rule, text, hint))


def _inner(time: Fraction, cue: Cue, run: Run) -> Fraction:
    """Return a time inside a cue; one that the file has outside it stays as far outside."""
    if time < cue.begin:
        return max(_ZERO, run.begin + time - cue.begin)
    if time > cue.end:
        return run.end + time - cue.end
    return run.at(time)


class _Spacing:
    """Cues in time, each with the room it has before the next."""

    def __init__(
        self, carried: Sequence[_Carried], limits: RetimeLimits, duration: Fraction
    ) -> None:
        self._limits, self._duration = limits, duration
        shown = [one for one in carried if not one.cue.hidden]
        self._shown = sorted(shown, key=lambda one: one.cue.begin)
        self._begins = [one.cue.begin for one in self._shown]
        self._earlier: list[tuple[Cue, Fraction]] = []
        self._later: list[tuple[Cue, Fraction]] = []

    def cue(self, one: _Carried) -> Cue:
        """Return a cue with its end moved to keep its gap, or to last as long as it must."""
        was, cue = one
        if cue.hidden:
            return cue
        least = cue.begin + min(self._limits.shortest, was.end - was.begin)
        end = max(min(max(cue.end, least), self._room(one)), min(cue.end, least))
        if end == cue.end:
            return cue
        changes = self._earlier if end < cue.end else self._later
        changes.append((was, abs(end - cue.end)))
        inner = tuple(min(time, end) if time <= cue.end else time for time in cue.inner)
        return replace(cue, end=end, inner=inner)

    def _room(self, one: _Carried) -> Fraction:
        """Return how late a cue can end: a gap before the next that begins when it has ended."""
        at = bisect_left(self._begins, one.cue.end)
        while at < len(self._shown) and self._shown[at] is one:  # it begins when it ends
            at += 1
        if at == len(self._shown):
            return self._duration
        after = self._shown[at]
        apart = after.was.begin - one.was.end
        if apart >= 0:
            return after.cue.begin - min(self._limits.gap, apart)
        moved = after.was.end <= one.was.begin
        return after.cue.begin - (self._limits.gap if moved else _ZERO)

    def findings(self) -> Iterator[Finding]:
        """Yield what the spacing did, once for each kind."""
        if self._earlier:
            first, most = self._earlier[0][0], max(by for _, by in self._earlier)
            gap = clock(self._limits.gap)
            text = f"{_count(self._earlier)} earlier, by {clock(most)} at most"
            yield warning(first.place, "cue-gap", text, f"so a gap of {gap} is kept")
        if self._later:
            first, most = self._later[0][0], max(by for _, by in self._later)
            shortest = clock(self._limits.shortest)
            text = f"{_count(self._later)} later, by {clock(most)} at most"
            yield warning(first.place, "cue-short", text, f"so they last {shortest}, or try to")


def _count(changed: Sequence[object]) -> str:
    return "1 cue ends" if len(changed) == 1 else f"{len(changed)} cues end"
