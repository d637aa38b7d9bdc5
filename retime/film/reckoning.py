"""Length, speed, runtime: two given, the third told, and what another convention would give."""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING

from msgspec import Struct

from retime.errors import CommandError, NotationError
from retime.film.gauge import Footage, frames_per_foot, frames_per_metre
from retime.film.length import LengthUnit, SpokenLength
from retime.film.notation import SpeedUnit, SpokenSpeed, shown
from retime.film.speed import Speed

if TYPE_CHECKING:
    from retime.film.gauge import Gauge

__all__ = ["Question", "Reckoned", "answer", "answer_by_other", "convention", "other"]

_GAUGE_HINT = "say --gauge 35mm, --gauge 16mm or the like"


class Question(Struct, frozen=True, kw_only=True):
    """What is given; ``runtime`` in seconds, ``footage`` None where nothing was chosen."""

    length: SpokenLength | None = None
    speed: SpokenSpeed | None = None
    runtime: Fraction | None = None
    gauge: Gauge | None = None
    footage: Footage | None = None

    @property
    def by_length(self) -> bool:
        """Whether anything given is measured in feet or metres."""
        long = self.length is not None and self.length.unit is not LengthUnit.FRAMES
        return long or (self.speed is not None and self.speed.needs_length)

    @property
    def by_metres(self) -> bool:
        """Whether anything given is measured in metres."""
        long = self.length is not None and self.length.unit is LengthUnit.METRES
        return long or (self.speed is not None and self.speed.unit is SpeedUnit.METRES_PER_MINUTE)


class Reckoned(Struct, frozen=True, kw_only=True):
    """All three, in frames, frames per second, and seconds."""

    frames: Fraction
    speed: Speed
    runtime: Fraction


def convention(question: Question) -> Footage:
    """Return the convention that is taken: feet are nominal unless said, metres must choose."""
    if question.footage is not None:
        return question.footage
    if question.by_metres:
        raise CommandError(
            "metres need to know by which convention they turn into frames",
            "say --footage pitch (from frame to frame, 19.000 mm in 35mm) "
            "or --footage nominal (by the foot, 16 frames in 35mm)",
        )
    return Footage.NOMINAL


def other(footage: Footage) -> Footage:
    """Return the convention that was not taken."""
    return Footage.PITCH if footage is Footage.NOMINAL else Footage.NOMINAL


def answer(question: Question, footage: Footage) -> Reckoned:
    """Return length, speed and runtime by one convention; two of the three are given.

    Raises CommandError where not two are given, or feet or metres are and no gauge is;
    NotationError where the frames of feet+frames are more than that foot holds.
    """
    match question.length, question.speed, question.runtime:
        case None, SpokenSpeed() as spoken, Fraction() as runtime:
            speed = _speed(spoken, question.gauge, footage)
            return Reckoned(frames=speed.fps * runtime, speed=speed, runtime=runtime)
        case SpokenLength() as length, None, Fraction() as runtime:
            frames = _frames(length, question.gauge, footage)
            return Reckoned(frames=frames, speed=Speed(frames / runtime), runtime=runtime)
        case SpokenLength() as length, SpokenSpeed() as spoken, None:
            frames = _frames(length, question.gauge, footage)
            speed = _speed(spoken, question.gauge, footage)
            return Reckoned(frames=frames, speed=speed, runtime=frames / speed.fps)
    raise CommandError(
        "two of length, speed and runtime give the third", "give exactly two of them"
    )


def answer_by_other(question: Question, taken: Footage) -> Reckoned | None:
    """Return what the convention not taken gives.

    None where what is given exists by the convention taken alone: 0+16 in 35mm by pitch.
    """
    try:
        return answer(question, other(taken))
    except NotationError:
        return None


def _frames(length: SpokenLength, gauge: Gauge | None, footage: Footage) -> Fraction:
    if gauge is None and length.unit is not LengthUnit.FRAMES:
        raise CommandError(f"{shown(length.text)} needs to know the gauge", _GAUGE_HINT)
    return length.frames(gauge, footage)


def _speed(spoken: SpokenSpeed, gauge: Gauge | None, footage: Footage) -> Speed:
    if not spoken.needs_length:
        return spoken.on(None, None)
    if gauge is None:
        raise CommandError(f"{shown(spoken.text)} needs to know the gauge", _GAUGE_HINT)
    return spoken.on(frames_per_foot(gauge, footage), frames_per_metre(gauge, footage))
