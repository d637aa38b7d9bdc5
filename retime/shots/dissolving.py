"""Dissolves: one picture goes while another comes, both seen at once for a while.

Where no cut lies between two scenes that have nothing in common, the one may have gone over into
the other. In between every picture is then a mixture of the two, the second's part growing evenly.
Scenes move, and are no longer quite what they were; a title is not, and next to one it is enough
that its lettering goes or comes evenly.
"""

from __future__ import annotations

from functools import cached_property, lru_cache
from itertools import pairwise
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
from msgspec import Struct

from retime.shots.lettering import LETTERED
from retime.shots.likeness import unlike, unlike_far
from retime.shots.views import sharpened, softened

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from numpy.typing import NDArray

    from retime.shots.sights import Sights

    Flags = NDArray[np.bool_]
    Numbers = NDArray[np.int64]
    Stack = NDArray[np.float32]
    Values = NDArray[np.floating]

__all__ = ["Dissolve", "dissolves_in"]

_REACHES = (8, 12, 18, 27, 40)  # frames to each side of a dissolve's middle
_OTHER = 0.16  # of unlikeness: what is another scene
_CHANGED = 0.6  # of a picture, the part in which most changes: something large may go by
_LEAST_CALM, _CALM = 0.1, 0.2  # of unlikeness of what is left
_LEAST_FAR = 0.09
_COMMON = 0.85  # of correlation: more, and nothing tells the two apart
_LEFT = 0.45  # of what a picture shows: more, and it is no mixture
_ASTRAY = 0.16  # the mean error of the second scene's part
_WORST, _WORST_TITLE = 0.2, 0.16  # of error
_SEEN = 0.4  # of a title's own strength
_STEP, _FURTHER = 6, 2  # frames that are compared, and by which a dissolve is made longer
_STILL = 0.015  # of unlikeness of what changes least, grain and all
_PLATEAU = 3  # frames of each scene by itself
_LENGTH, _LENGTH_TITLE = 0.04, 0.0  # of error that twice the length is worth
_SHORTEST = 4  # frames
_FINE = 40  # pictures: ramps are tried frame by frame in fewer
_TINY = 1e-6


class Dissolve(Struct, frozen=True, kw_only=True):
    """The frames that are mixed, both included; ``error`` is how uneven it is, 0 for not at all."""

    first: int
    last: int
    error: float

    @property
    def turn(self) -> int:
        """The first frame that shows more of the second scene."""
        return (self.first + self.last + 1) // 2


class _Try(NamedTuple):
    first: int
    last: int
    error: float
    worse: float


class _Ramp(NamedTuple):
    start: int
    stop: int
    error: float


class _Film:
    """Pictures from ``first`` on as rows, which are made when they are asked for."""

    def __init__(self, tiny: NDArray[np.uint8], first: int, last: int) -> None:
        self._tiny = tiny[first : last + 1]
        self._first = first

    def broad(self, begin: int, end: int) -> Stack:
        """Return pictures soft and about their own mean; the frames are both included."""
        return self._broad[begin - self._first : end + 1 - self._first]

    def sharp(self, begin: int, end: int) -> Stack:
        """Return what is sharp in pictures."""
        return self._sharp[begin - self._first : end + 1 - self._first]

    @cached_property
    def _soft(self) -> Stack:
        return softened(self._tiny)

    @cached_property
    def _broad(self) -> Stack:
        soft = self._soft
        rows, columns = soft.shape[1] // 2 * 2, soft.shape[2] // 2 * 2
        cut = soft[:, :rows, :columns]
        half = (cut[:, ::2, ::2] + cut[:, 1::2, ::2] + cut[:, ::2, 1::2] + cut[:, 1::2, 1::2]) / 4
        flat = half.reshape(len(half), -1)
        return np.asarray(flat - flat.mean(axis=1, keepdims=True), np.float32)

    @cached_property
    def _sharp(self) -> Stack:
        return sharpened(self._soft).reshape(len(self._tiny), -1)


def dissolves_in(sights: Sights, borders: Sequence[int], closed: Flags) -> tuple[Dissolve, ...]:
    """Return the dissolves between borders, the first frames of shots; none in what is closed."""
    found: list[Dissolve] = []
    for begin, stop in pairwise([0, *borders, sights.count]):
        for first, last in _open(closed, begin, stop):
            film = _Film(sights.measures.tiny, first, last)
            tries = _best_of(_tries(sights, film, first, last))
            found += [_whole(sights, one, first, last) for one in tries]
    return tuple(found)


def _whole(sights: Sights, found: _Try, first: int, last: int) -> Dissolve:
    """Return a dissolve with what of it was taken for the scenes at both ends.

    A long one goes so slowly that its middle fits too; but there everything goes on changing.
    """
    start = found.first
    while start - _STEP > first and _goes_on(sights, start - _STEP, start):
        start -= _FURTHER
    stop = found.last
    while stop + _STEP < last and _goes_on(sights, stop, stop + _STEP):
        stop += _FURTHER
    return Dissolve(first=start, last=stop, error=found.error)


def _goes_on(sights: Sights, one: int, other: int) -> bool:
    """Tell whether even what changes least has changed between two frames."""
    views = sights.views
    pairs = np.array([[one, other], [one + 1, other - 1], [one, other - 1]])
    away = unlike(views[pairs[:, 0]], views[pairs[:, 1]], _CHANGED)
    return bool(np.median(away) > _STILL)


def _open(closed: Flags, begin: int, stop: int) -> Iterator[tuple[int, int]]:
    """Yield first and last frames of what is not closed."""
    flags = np.concatenate([[True], closed[begin:stop], [True]]).astype(int)
    edges = np.flatnonzero(np.diff(flags))
    for first, end in zip(edges[0::2].tolist(), edges[1::2].tolist(), strict=True):
        yield begin + first, begin + end - 1


def _tries(sights: Sights, film: _Film, first: int, last: int) -> Iterator[_Try]:
    """Yield what may be dissolves within frames that no cut divides."""
    views = sights.views
    for reach in _REACHES:
        middles = np.arange(first + reach, last - reach + 1, max(1, reach // 5))
        if not len(middles):
            return
        middles = middles[unlike(views[middles - reach], views[middles + reach]) > _OTHER]
        for middle in middles.tolist():
            yield from _between(sights, film, middle - reach, middle + reach)


def _between(sights: Sights, film: _Film, begin: int, end: int) -> Iterator[_Try]:
    """Yield the dissolve between two frames, as the mixture tells it and as a title does."""
    found = [_mixed(film.broad(begin, end), begin)]
    titles = sights.lettering[[begin, begin + 1, begin + 2, end - 2, end - 1, end]] >= LETTERED
    if titles[:3].all() != titles[3:].all():
        found.append(_lettered(film.sharp(begin, end), begin, comes=bool(titles[3:].all())))
    for one in found:
        if one is not None and _differ(sights, one):
            yield one


def _differ(sights: Sights, found: _Try) -> bool:
    """Tell whether what is before and what is after are two scenes, wherever they have moved."""
    sides = np.arange(1, _PLATEAU + 1)
    before, after = sights.views[found.first - sides], sights.views[found.last + sides]
    calm = float(np.median(unlike(before, after, _CHANGED)))
    if calm <= _LEAST_CALM:
        return False
    far = float(np.median(unlike_far(before, after)))
    return far > _OTHER or (calm > _CALM and far > _LEAST_FAR)


def _mixed(pictures: Stack, begin: int) -> _Try | None:
    """Return the dissolve by which the first pictures are mixed with the last, if there is one."""
    ends = np.stack([pictures[:_PLATEAU].mean(axis=0), pictures[-_PLATEAU:].mean(axis=0)])
    square = ends @ ends.T
    if square[0, 1] > _COMMON * np.sqrt(square[0, 0] * square[1, 1]) + _TINY:
        return None
    parts = np.linalg.solve(square + _TINY * np.eye(2), ends @ pictures.T)
    both = parts.sum(axis=0)
    share = np.clip(parts[1] / np.where(np.abs(both) < _TINY, _TINY, both), -0.5, 1.5)
    found = _ramp(share)
    if found is None:
        return None
    start, stop, error = found
    away = np.square(pictures[start:stop] - parts.T[start:stop] @ ends).sum(axis=1)
    left = float(np.median(away / (np.square(pictures[start:stop]).sum(axis=1) + _TINY)))
    if left > _LEFT or error + left / 2 > _WORST:
        return None
    worse = error + left / 2 - _LENGTH * float(np.log2(stop - start))
    return _Try(begin + start, begin + stop - 1, error + left / 2, worse)


def _lettered(pictures: Stack, begin: int, *, comes: bool) -> _Try | None:
    """Return the dissolve in which the lettering at one end comes, or goes, if there is one."""
    ordered = pictures if comes else pictures[::-1]
    title = ordered[-_PLATEAU:].mean(axis=0)
    part = ordered @ title / (title @ title + _TINY)
    without, whole = float(np.median(part[:_PLATEAU])), float(np.median(part[-_PLATEAU:]))
    if whole - without < _SEEN:
        return None
    share = np.clip((part - without) / (whole - without), -0.5, 1.5)
    found = _ramp(share if comes else 1 - share[::-1])
    if found is None or found.error > _WORST_TITLE:
        return None
    start, stop, error = found
    worse = error - _LENGTH_TITLE * float(np.log2(stop - start))
    return _Try(begin + start, begin + stop - 1, error, worse)


def _ramp(share: Values) -> _Ramp | None:
    """Return the even ramp from 0 to 1 that fits values best, a plateau on both sides of it."""
    starts, stops, ramps = _ramps(len(share))
    astray = np.abs(ramps - share).mean(axis=1)
    best = int(astray.argmin())
    start, stop = int(starts[best]), int(stops[best])
    if astray[best] > _ASTRAY or start < _PLATEAU or stop > len(share) - _PLATEAU:
        return None
    return _Ramp(start, stop, float(astray[best]))


@lru_cache
def _ramps(count: int) -> tuple[Numbers, Numbers, Values]:
    """Return beginnings and ends of all even ramps from 0 to 1 in so many values, and the ramps."""
    coarse = 1 + count // _FINE
    pairs = [
        (start, stop)
        for start in range(1, count - _SHORTEST, coarse)
        for stop in range(start + _SHORTEST, count, coarse)
    ]
    starts, stops = np.array(pairs).T
    numbers = np.arange(count)
    ramps = (numbers - starts[:, None] + 1) / (stops - starts + 1)[:, None]
    return starts, stops, np.clip(ramps, 0, 1)


def _best_of(tries: Iterator[_Try]) -> list[_Try]:
    """Return what fits best, and of what is left what fits best where that is not.

    A part of a dissolve is nearly as even as the whole, so a longer one is taken before a shorter
    one with the same error.
    """
    chosen: list[_Try] = []
    for one in sorted(tries, key=lambda one: one.worse):
        if all(one.first > other.last + 1 or one.last < other.first - 1 for other in chosen):
            chosen.append(one)
    return sorted(chosen)
