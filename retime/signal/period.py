"""The period of a movement, from several series that see it in different ways.

A series votes for a period when it is like itself after so many frames, by its autocorrelation,
and when waves of that period explain more of it than chance would, by its spectrum: the one sees
that what comes again is the same, the other how regularly it comes. Votes for one period are taken
together, and its length is then fitted to all who voted.

Two feet make a stride of two steps, a pendulum passes the middle twice in a swing: so halves and
doubles of the period are told beside it, and which is meant is for the user to say.
"""

from __future__ import annotations

from math import log
from typing import TYPE_CHECKING

import numpy as np
from msgspec import Struct, structs

from retime.signal.refining import refined
from retime.signal.series import likeness, peak_near, peaks_of, prepared, shared_by
from retime.signal.waves import evidence_for

if TYPE_CHECKING:
    from collections.abc import Sequence

    from retime.signal.series import Series

__all__ = ["FEWEST", "SHORTEST", "Other", "Period", "Unclear", "find_period"]

SHORTEST = 3.0
"""The shortest period that is looked for, in frames: four fast strides a second at 12 fps."""
FEWEST = 12
"""The fewest frames in which a period is looked for."""

_PERIODS = 1.9  # so many have to be seen
_ALIKE = 0.25  # a series that is less like itself does not vote
_ALIKE_ONCE = 1.6  # nor where this, over how many periods are seen, is not reached
_BEYOND_CHANCE = 8.5  # e^-8.5: once in 4,900
_SAME = 0.08  # periods that differ by less are one
_RIVAL = 0.5  # of the weight of the votes for what is told
_NEARLY = 0.7  # of the height of the highest peak
_OTHERS = {
    0.5: "half of it: one step, if this is a stride of two; one way, if this is there and back",
    2.0: "two of it: the stride, if this is a step; there and back, if this is one way",
}


class Unclear(Struct, frozen=True, kw_only=True):
    """Why no period can be told, in a sentence without a full stop."""

    reason: str


class Other(Struct, frozen=True, kw_only=True):
    """A period that may be meant instead.

    ``strength`` is how alike the series that is most so is after it, up to 1; ``words`` say what
    it may be.
    """

    frames: float
    strength: float
    words: str


class Period(Struct, frozen=True, kw_only=True):
    """``frames`` of film to a period, and the standard ``uncertainty`` of that, in frames.

    ``strength`` is how alike the film is from period to period, up to 1. ``confidence``, 0 to 1,
    is that, less where few of them are ``seen`` and where few of the series agree; it is no
    probability. ``others`` are periods that may be meant instead.
    """

    frames: float
    uncertainty: float
    strength: float
    confidence: float
    seen: float
    others: tuple[Other, ...]


class _Vote(Struct, frozen=True, kw_only=True):
    """What a series says: a period, how alike it is after it, and the evidence for that."""

    series: int
    period: float
    alike: float
    evidence: float


def find_period(series: Sequence[Series]) -> Period | Unclear:
    """Return the period of the movement that several series see.

    Each is of shape (frames,) or (frames, values), one row a film frame, all of the same frames.
    Raises ValueError for series of different lengths.
    """
    lengths = {len(one) for one in series}
    if len(lengths) != 1:
        raise ValueError(f"series of {sorted(lengths)} frames")
    (frames,) = lengths
    if frames < FEWEST:
        return Unclear(reason=f"{frames} frames are too few to see a movement come again")
    moving = [one for one in map(prepared, series) if one is not None]
    if not moving:
        return Unclear(reason="nothing moves")
    longest = frames / _PERIODS
    likenesses = [likeness(one, min(int(longest * 1.2) + 2, frames - 4)) for one in moving]
    votes = [
        vote
        for place, (one, like) in enumerate(zip(moving, likenesses, strict=True))
        if (vote := _vote(place, one, like, longest)) is not None
    ]
    if not votes:
        return Unclear(reason="nothing comes again after the same number of frames")
    first = max((_agreeing(votes, seed.period) for seed in votes), key=_weight)
    kin = _kin(votes, first[0].period)
    if _evidence(kin, moving) - log(len(moving)) < _BEYOND_CHANCE:
        return Unclear(reason="what seems to come again is no more than chance brings about")
    agreed = _agreeing(kin, _whole(kin, likenesses))
    found = _told(agreed, len(kin) / len(moving), moving)
    others = (*_others(found.frames, likenesses, longest), *_rivals(votes, kin, agreed))
    return structs.replace(found, others=others)


def _vote(place: int, series: Series, like: Series, longest: float) -> _Vote | None:
    """Return what a prepared series says, None where it says nothing.

    Of a period and its multiples, which are all alike, it is the shortest that is told.
    """
    peaks = peaks_of(like, SHORTEST, longest)
    highest = max((height for _, height in peaks), default=0.0)
    for lag, alike in peaks:
        if alike < max(_NEARLY * highest, _ALIKE, _ALIKE_ONCE * lag / len(series)):
            continue
        period = refined([series], [1.0], lag).frames
        evidence = evidence_for(series, period)
        if evidence > 0:
            return _Vote(series=place, period=period, alike=alike, evidence=evidence)
    return None


def _agreeing(votes: Sequence[_Vote], period: float) -> list[_Vote]:
    """Return the votes for about a period, that which is nearest first."""
    near = [one for one in votes if _differ(one.period, period) < _SAME]
    return sorted(near, key=lambda one: _differ(one.period, period))


def _kin(votes: Sequence[_Vote], period: float) -> list[_Vote]:
    """Return the votes for a period, its half and its double."""
    return [
        one
        for one in votes
        if any(_differ(one.period, times * period) < _SAME for times in (0.5, 1, 2))
    ]


def _evidence(kin: Sequence[_Vote], moving: Sequence[Series]) -> float:
    """Return the evidence of several votes: that of each, as far as the others do not hold it.

    A frame that shook makes all series jump alike, and that is not to count for each of them.
    """
    told = 0.0
    witnesses: list[Series] = []
    for vote in sorted(kin, key=lambda one: -one.evidence):
        series = moving[vote.series]
        told += vote.evidence * min((1 - shared_by(series, one) for one in witnesses), default=1.0)
        witnesses.append(series)
    return told


def _whole(kin: Sequence[_Vote], likenesses: Sequence[Series]) -> float:
    """Return the shortest of the periods after which all that was seen is nearly as it was."""
    pooled = np.mean([likenesses[one.series] for one in kin], axis=0)
    heights = []
    for one in kin:
        peak = peak_near(pooled, one.period, within=_SAME)
        heights.append((one.period, -1.0 if peak is None else peak[1]))
    highest = max(height for _, height in heights)
    return min(period for period, height in heights if height >= min(_NEARLY * highest, highest))


def _differ(one: float, other: float) -> float:
    return abs(log(one / other))


def _weight(votes: Sequence[_Vote]) -> float:
    return sum(one.evidence * one.alike for one in votes)


def _told(agreed: Sequence[_Vote], share: float, moving: Sequence[Series]) -> Period:
    """Return the period on which votes agree, so great a share of the series being its kin."""
    members = [moving[one.series] for one in agreed]
    weights = [one.alike for one in agreed]
    begin = sum(one.period * one.alike for one in agreed) / sum(weights)
    found = refined(members, weights, begin)
    seen = len(members[0]) / found.frames
    strength = min(sum(weights) / len(weights), 1.0)
    return Period(
        frames=found.frames,
        uncertainty=found.uncertainty,
        strength=strength,
        confidence=strength * (1 - 2 ** (1 - seen)) * (1 + share) / 2,
        seen=seen,
        others=(),
    )


def _others(period: float, likenesses: Sequence[Series], longest: float) -> list[Other]:
    """Return the half and the double of a period, where any series is at all alike after it."""
    found = []
    for times, said in _OTHERS.items():
        if not SHORTEST <= times * period <= longest:
            continue
        peaks = [peak_near(like, times * period, within=_SAME) for like in likenesses]
        strength = max((peak[1] for peak in peaks if peak is not None), default=0.0)
        if strength > 0:
            found.append(Other(frames=times * period, strength=min(strength, 1.0), words=said))
    return found


def _rivals(votes: Sequence[_Vote], kin: Sequence[_Vote], agreed: Sequence[_Vote]) -> list[Other]:
    """Return the period of another movement, if much of what is seen has one."""
    rest = [one for one in votes if one not in kin and not _manifold(one, agreed[0])]
    if not rest:
        return []
    rival = max((_agreeing(rest, seed.period) for seed in rest), key=_weight)
    if _weight(rival) < _RIVAL * _weight(agreed):
        return []
    strength = min(sum(one.alike for one in rival) / len(rival), 1.0)
    words = "another movement: a part of what moves in the box comes again after this"
    return [Other(frames=rival[0].period, strength=strength, words=words)]


def _manifold(one: _Vote, other: _Vote) -> bool:
    """Tell whether one period is a few times another, or a simple part of it."""
    ratio = one.period / other.period
    return any(_differ(ratio, above / below) < _SAME for above in (1, 2, 3) for below in (1, 2, 3))
