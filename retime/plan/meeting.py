"""Speeds at which a film meets the cues of a recorded score.

Each cue wants the passage before it to end at its own time. From cue to cue it is reckoned when
the limits of speed let the passage end at all, and a cue out of reach is missed by as little as can
be. An earlier cue is never given up for a later one, and a later cue always keeps its own time: a
passage that begins late is shortened to catch up, as far as the limits allow.

Within what is left open a taut string (retime.plan.taut_string) chooses. Without ``smooth`` every
cue is a point, so that the string is one constant speed from each cue to the next; with it, a cue
may be passed anywhere within its tolerance, and the speed changes as little as that allows.
"""

from __future__ import annotations

from enum import StrEnum
from fractions import Fraction
from itertools import pairwise
from typing import TYPE_CHECKING

from msgspec import Struct

from retime.errors import NotationError
from retime.film.speed import Speed
from retime.plan.passage import Passage
from retime.plan.taut_string import Gate, taut_string

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence

__all__ = ["Between", "Bound", "Cue", "Meeting", "meet"]


class Between(Struct, frozen=True, kw_only=True):
    """The slowest and the fastest that the free speed may be, both included.

    A title that must not last so long as at that speed runs faster, as in every version.
    """

    slowest: Speed
    fastest: Speed

    def __post_init__(self) -> None:
        """Refuse limits that no speed keeps."""
        if self.slowest > self.fastest:
            raise NotationError(
                f"no speed is between {self.slowest} and {self.fastest} fps",
                "the slower one comes first",
            )

    @property
    def lengths(self) -> tuple[Fraction, Fraction]:
        """The least and the greatest duration of a free frame, in seconds."""
        return self.fastest.duration, self.slowest.duration


class Cue(Struct, frozen=True, kw_only=True):
    """A time of the score, in seconds of the version's true time, at which a passage ends.

    ``tolerance`` is by how many seconds the film may come early or late where it runs smoothly.
    """

    time: Fraction
    tolerance: Fraction = Fraction(0)

    def __post_init__(self) -> None:
        """Refuse a tolerance that nothing keeps."""
        if self.tolerance < 0:
            raise NotationError(
                f"a tolerance is not below 0 s, as {self.tolerance} s is", "write it without a sign"
            )


class Bound(StrEnum):
    """Why a cue cannot be met."""

    FASTEST = "fastest"
    """At the fastest speed the film still comes late."""
    SLOWEST = "slowest"
    """At the slowest speed the film still comes early."""
    FIXED = "fixed"
    """No frame between this cue and the one before is free to run otherwise."""
    AT_ONCE = "at once"
    """Nothing at all lies between the cues: one moment of the film is wanted at two times."""
    NOT_RISING = "not rising"
    """The cue's time is not after that of the cue before, which comes before it in the film."""


class Meeting(Struct, frozen=True, kw_only=True):
    """A passage as it plays, and how it meets the cue at its end.

    ``frame`` is how long a free frame lasts, ``begins`` and ``ends`` are true times of the
    version, ``late`` is by how much the cue is missed: above 0 the film comes after it. All are
    in seconds. ``bound`` is None where the cue is met, smoothly within its tolerance.
    """

    frame: Fraction
    begins: Fraction
    ends: Fraction
    late: Fraction
    bound: Bound | None

    @property
    def speed(self) -> Speed:
        """The speed of free frames."""
        return Speed(1 / self.frame)


def meet(
    begin: Fraction,
    passages: Sequence[Passage],
    cues: Sequence[Cue],
    between: Between,
    *,
    smooth: bool,
) -> tuple[Meeting, ...]:
    """Return how each passage plays, so that it ends with its cue.

    The first passage begins at ``begin``, in seconds; ``cues`` are those at the passages' ends,
    one each. Film after the last cue best goes on at the last passage's speed.

    Raises:
        ValueError: there are more passages than cues, or fewer.
    """
    wanted = [_gate(cue, smooth=smooth) for cue in cues]
    gates = list(_reached(begin, passages, wanted, between.lengths))
    whole, aim = sum(passages, Passage()), cues[-1].time if cues else begin
    liked = whole.least(aim - begin, *between.lengths)  # one speed that meets the last cue
    frames = taut_string(begin, passages, gates, between.lengths, liked)
    lasting = (passage.lasts(frame) for passage, frame in zip(passages, frames, strict=True))
    moments = list(_running(begin, lasting))
    times = [begin, *(cue.time for cue in cues)]
    return tuple(
        Meeting(
            frame=frames[number],
            begins=begins,
            ends=ends,
            late=ends - times[number + 1],
            bound=_bound(passages[number], wanted[number], ends, times[number : number + 2]),
        )
        for number, (begins, ends) in enumerate(pairwise(moments))
    )


def _gate(cue: Cue, *, smooth: bool) -> Gate:
    slack = cue.tolerance if smooth else Fraction(0)
    return Gate(cue.time - slack, cue.time + slack)


def _reached(
    begin: Fraction,
    passages: Sequence[Passage],
    wanted: Sequence[Gate],
    lengths: tuple[Fraction, Fraction],
) -> Iterator[Gate]:
    """Yield when each passage can end, as near to its gate as the gates before it let it."""
    shortest, longest = lengths
    early = late = begin
    for passage, gate in zip(passages, wanted, strict=True):
        first, last = early + passage.lasts(shortest), late + passage.lasts(longest)
        early, late = (min(max(time, first), last) for time in gate)
        yield Gate(early, late)


def _running(begin: Fraction, lasting: Iterable[Fraction]) -> Iterator[Fraction]:
    yield begin
    for seconds in lasting:
        begin += seconds
        yield begin


def _bound(
    passage: Passage, wanted: Gate, ends: Fraction, times: Sequence[Fraction]
) -> Bound | None:
    """Return why a passage does not end within its gate; ``times`` are of the cues around it."""
    before, own = times
    if wanted.early <= ends <= wanted.late:
        return None
    if passage == Passage():
        return Bound.AT_ONCE
    if own <= before and ends > wanted.late:
        return Bound.NOT_RISING
    if not passage.gives:
        return Bound.FIXED
    return Bound.FASTEST if ends > wanted.late else Bound.SLOWEST
