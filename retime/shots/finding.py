"""Everything that is found in a scan, from what was measured of its pictures."""

from __future__ import annotations

from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np

from retime.shots.cutting import cuts_in, turns_in
from retime.shots.dissolving import dissolves_in
from retime.shots.fading import darknesses_in
from retime.shots.found import FoundShot, Join, JoinKind, ScanShots
from retime.shots.leading import picture_in
from retime.shots.sights import Sights

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from numpy.typing import NDArray

    from retime.shots.dissolving import Dissolve
    from retime.shots.fading import Darkness
    from retime.shots.measures import Measures

__all__ = ["find_shots"]

_STILL, _MOVING = 0.1, 0.22  # of unlikeness from one frame to the next, in the middle of a shot
_SPARED = 3  # frames at a shot's ends that are not looked at where there are enough
_ENOUGH = 12


def find_shots(measures: Measures) -> ScanShots:
    """Return the shots, titles, joins and leaders of a scan; it has a frame at least."""
    sights = Sights(measures)
    darknesses = darknesses_in(sights)
    turns = turns_in(sights, darknesses)
    cuts = cuts_in(sights, darknesses, turns)
    borders = sorted({*(cut.frame for cut in cuts), *turns})
    dissolves = dissolves_in(sights, borders, _closed(sights.count, darknesses))
    starts = sorted({0, *borders, *(one.turn for one in dissolves)})
    joins = [
        Join(kind=JoinKind.CUT, first=cut.frame, last=cut.frame, sure=cut.sure) for cut in cuts
    ]
    joins += [*_fades(darknesses), *_dissolves(dissolves)]
    shots = [
        FoundShot(first=first, last=stop - 1, lettered=_lettered(sights, first, stop, joins))
        for first, stop in pairwise([*starts, sights.count])
    ]
    picture = picture_in(sights, shots)
    within = [
        FoundShot(
            first=max(one.first, picture.first),
            last=min(one.last, picture.last),
            lettered=one.lettered,
        )
        for one in shots
        if one.last >= picture.first and one.first <= picture.last
    ]
    return ScanShots(
        frames=sights.count,
        first=picture.first,
        last=picture.last,
        shots=tuple(within),
        joins=tuple(
            one
            for one in sorted(joins, key=lambda one: one.first)
            if picture.first < one.last and one.first <= picture.last
        ),
        head=picture.head,
        tail=picture.tail,
    )


def _closed(count: int, darknesses: Iterable[Darkness]) -> NDArray[np.bool_]:
    """Tell which frames are black, or fade."""
    closed = np.zeros(count, np.bool_)
    for one in darknesses:
        first = one.out.first if one.out is not None else one.first
        last = one.into.last if one.into is not None else one.last
        closed[first : last + 1] = True
    return closed


def _fades(darknesses: Iterable[Darkness]) -> Iterable[Join]:
    for one in darknesses:
        for kind, fade in ((JoinKind.FADE_OUT, one.out), (JoinKind.FADE_IN, one.into)):
            if fade is not None:
                sure = max(0.0, 1 - 2 * fade.error)
                yield Join(kind=kind, first=fade.first, last=fade.last, sure=sure)


def _dissolves(dissolves: Iterable[Dissolve]) -> Iterable[Join]:
    for one in dissolves:
        sure = max(0.0, 0.95 - 2 * one.error)
        yield Join(kind=JoinKind.DISSOLVE, first=one.first, last=one.last, sure=sure)


def _lettered(sights: Sights, first: int, stop: int, joins: Sequence[Join]) -> float:
    """Return how far a shot is a title, by the frames of it that are not mixed or faint."""
    whole = np.ones(stop - first, np.bool_)
    for one in joins:
        if one.kind is not JoinKind.CUT:
            whole[max(one.first - first, 0) : max(one.last + 1 - first, 0)] = False
    frames = first + np.flatnonzero(whole & ~sights.black[first:stop])
    if not len(frames):
        frames = np.arange(first, stop)
    if len(frames) > _ENOUGH:
        frames = frames[_SPARED:-_SPARED]
    lettering = float(np.median(sights.lettering[frames]))
    moves = sights.change[frames[frames > first]]
    if not len(moves):
        return lettering
    moving = float(np.clip((np.median(moves) - _STILL) / (_MOVING - _STILL), 0, 1))
    return lettering * (1 - moving)
