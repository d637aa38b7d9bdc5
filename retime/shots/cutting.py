"""Cuts: where another picture begins and stays.

A first look marks every change between two pictures that is large. A second look decides about
the stretches between marks, one after the other: a stretch that shows what was seen before it,
moved, is no shot of its own; a few pictures after which the scene goes on are a flash, a jump at a
splice or dirt, unless they are lettering; and only what stays is a shot.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from retime.shots.lettering import LETTERED
from retime.shots.sights import MARKED

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from retime.shots.fading import Darkness
    from retime.shots.sights import Sights

    Flags = NDArray[np.bool_]

__all__ = ["Cut", "cuts_in", "turns_in"]

_STILL_MARKED = 0.05  # of change between pictures of lettering: what may be a cut
_BESIDE = 0.4  # of a larger change two frames away: what is no more than dirt
_ABOVE = 3.0  # times what changes around
_AROUND = 6
_NEAR = 3  # frames from black
_SHORT = 7  # frames: what may be a flash
_AHEAD = 14  # frames in which a scene that was interrupted goes on
_STANDS = 2  # frames: one alone is no shot
_KEPT = 5  # frames of the shot so far that are looked back at
_SURE = 0.25  # of change: a cut that is as clear as most
_MOSTLY = 0.5


class Cut(NamedTuple):
    """A frame before which there is a cut, and how sure that is, 0 to 1."""

    frame: int
    sure: float


class _Stretch(NamedTuple):
    first: int
    last: int

    @property
    def length(self) -> int:
        return self.last - self.first + 1


def cuts_in(
    sights: Sights, darknesses: Sequence[Darkness], turns: Sequence[int]
) -> tuple[Cut, ...]:
    """Return the cuts of a scan, in order; none where one shot fades into black, and one out."""
    if not sights.count:
        return ()
    marks = _marks(sights, _unmarked(sights, darknesses))
    found: list[Cut] = []
    begin = 0
    for stop in [*turns, sights.count]:
        if stop > begin:
            within = [mark for mark in marks if begin < mark < stop]
            found += _Cutting(sights, begin, stop, within).cuts()
            begin = stop
    return tuple(found)


def turns_in(sights: Sights, darknesses: Sequence[Darkness]) -> tuple[int, ...]:
    """Return the first frames of the shots that come out of black into which another has gone.

    One side may be no even fade; then there is no cut on the other either.
    """
    unmarked = _unmarked(sights, darknesses)
    marks = np.array([0, *_marks(sights, unmarked), sights.count])
    turns = []
    for one in darknesses:
        lone = (one.out is None) != (one.into is None)
        near = (marks >= one.first - _NEAR) & (marks <= one.last + 1 + _NEAR)
        if (one.out and one.into) or (lone and one.last >= one.first and not near.any()):
            turns.append((one.first + one.last + 1) // 2)
    return tuple(turns)


def _unmarked(sights: Sights, darknesses: Sequence[Darkness]) -> Flags:
    """Tell which frames lie in fades and in black, where changes mean nothing."""
    flags = np.zeros(sights.count + 1, np.bool_)
    for one in darknesses:
        flags[one.first + 1 : one.last + 1] = True
        if one.out is not None:
            flags[one.out.first : one.first + (one.last >= one.first)] = True
        if one.into is not None:
            flags[one.last + 1 + (one.last < one.first) : one.into.last + 1] = True
    return flags


class _Cutting:
    def __init__(self, sights: Sights, begin: int, stop: int, marks: Sequence[int]) -> None:
        self._sights = sights
        starts = [begin, *marks]
        stops = [*starts[1:], stop]
        self._stretches = [
            _Stretch(first, stop - 1) for first, stop in zip(starts, stops, strict=True)
        ]

    def cuts(self) -> list[Cut]:
        found: list[Cut] = []
        shot = self._sample(self._stretches[0])
        place = 1
        while place < len(self._stretches):
            one = self._stretches[place]
            if self._same(shot, one):
                shot = self._further(shot, one)
                place += 1
                continue
            again = self._again(shot, place)
            if again is not None and not self._real(place, again):
                shot = self._further(shot, self._stretches[again])
                place = again + 1
                continue
            first, place = self._begin(place)
            found.append(Cut(first, self._sureness(first)))
            shot = self._sample(self._stretches[place - 1])
        return found

    def _again(self, shot: Sequence[int], place: int) -> int | None:
        """Return the stretch soon after a short one in which the scene before it goes on."""
        first = self._stretches[place].first
        if self._stretches[place].length > _SHORT:
            return None
        for later in range(place + 1, len(self._stretches)):
            one = self._stretches[later]
            if one.first - first > _AHEAD:
                return None
            if self._same(shot, one):
                return later
            if one.length > _SHORT:
                return None
        return None

    def _real(self, place: int, again: int) -> bool:
        """Tell whether what stands between two stretches of a scene is more than a flaw."""
        between = self._stretches[place:again]
        return any(one.length >= _STANDS and self._lettered(one) for one in between)

    def _begin(self, place: int) -> tuple[int, int]:
        """Return where the shot begins that a stretch is the beginning of, and the stretch after.

        Single odd pictures before it, and blank ones, are its own: cameras start so.
        """
        first = self._stretches[place].first
        while place + 1 < len(self._stretches):
            one = self._stretches[place]
            if one.length > _SHORT or (one.length >= _STANDS and not self._washed(one)):
                break
            if self._lettered(one) and one.length >= _STANDS:
                break
            place += 1
        return first, place + 1

    def _lettered(self, one: _Stretch) -> bool:
        return bool(np.median(self._sights.lettering[one.first : one.last + 1]) >= LETTERED)

    def _washed(self, one: _Stretch) -> bool:
        return bool(self._sights.blank[one.first : one.last + 1].mean() > _MOSTLY)

    def _same(self, shot: Sequence[int], one: _Stretch) -> bool:
        sample = self._sample(one, front=True)
        return self._sights.alike(shot, sample)

    def _sample(self, one: _Stretch, *, front: bool = False) -> list[int]:
        """Return a few frames of a stretch, nearest to the one end or the other."""
        frames = range(one.first, one.last + 1)
        if front:
            return [*dict.fromkeys([*frames[:3], *frames[4:5], *frames[7:8]])]
        return [*frames[-_KEPT:]][::-1][:4]

    def _further(self, shot: Sequence[int], one: _Stretch) -> list[int]:
        """Return frames to look back at: the newest, and some from before."""
        newest = self._sample(one)
        return [*newest, *shot][:_KEPT]

    def _sureness(self, first: int) -> float:
        return min(1.0, float(self._sights.change[first]) / _SURE)


def _marks(sights: Sights, unmarked: Flags) -> list[int]:
    """Return the frames that are unlike the one before, far more than others around them."""
    change, lettering = sights.change, sights.lettering
    around = np.pad(change, _AROUND, mode="reflect") if len(change) > _AROUND else None
    marks = []
    for frame in range(1, sights.count):
        still = min(lettering[frame - 1], lettering[frame]) >= LETTERED
        least = _STILL_MARKED if still else MARKED
        if unmarked[frame] or change[frame] < least:
            continue
        if still and change[frame] < _BESIDE * change[max(frame - 2, 0) : frame + 3].max():
            continue
        if around is not None:
            window = around[frame : frame + 2 * _AROUND + 1]
            if change[frame] < _ABOVE * np.median(window):
                continue
        marks.append(frame)
    return marks
