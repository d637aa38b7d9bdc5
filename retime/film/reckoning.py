"""Length, speed, runtime: two given, the third told, and what another convention would give."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from retime.errors import CommandError, NotationError
from retime.film.gauge import Footage, frames_per_foot, frames_per_metre
from retime.film.length import LengthUnit
from retime.film.notation import SpeedUnit
from retime.film.speed import Speed

if TYPE_CHECKING:
    from fractions import Fraction

    from retime.film.gauge import Gauge
    from retime.film.length import SpokenLength
    from retime.film.notation import SpokenSpeed

__all__ = ["Question", "Reckoned", "answer", "convention", "other"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Question:
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


@dataclass(frozen=True, slots=True, kw_only=True)
class Reckoned:
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
            "say --footage pitch (19.000 mm in 35mm) or --footage nominal (16 frames to the foot)",
        )
    return Footage.NOMINAL


def other(footage: Footage) -> Footage:
    """Return the convention that was not taken."""
    return Footage.PITCH if footage is Footage.NOMINAL else Footage.NOMINAL


def answer(question: Question, footage: Footage) -> Reckoned:
    """Return length, speed and runtime by one convention; two of the three are given.

    Raises CommandError where not two are given, or a length is given and no gauge.
    """
    given = (question.length, question.speed, question.runtime)
    if sum(one is not None for one in given) != 2:  # noqa: PLR2004
        raise CommandError("two of length, speed and runtime give the third", "state two")
    try:
        frames = question.length.frames(question.gauge, footage) if question.length else None
        speed = _speed(question, footage) if question.speed else None
    except NotationError as error:
        raise CommandError(error.text, error.hint) from error
    runtime = question.runtime
    if frames is None and speed and runtime:
        return Reckoned(frames=speed.fps * runtime, speed=speed, runtime=runtime)
    if speed is None and frames and runtime:
        return Reckoned(frames=frames, speed=Speed(frames / runtime), runtime=runtime)
    if runtime is None and frames and speed:
        return Reckoned(frames=frames, speed=speed, runtime=frames / speed.fps)
    raise AssertionError("two of three are given")


def _speed(question: Question, footage: Footage) -> Speed:
    spoken, gauge = question.speed, question.gauge
    if spoken is None:
        raise AssertionError("a speed is given")
    if not spoken.needs_length:
        return spoken.on(None, None)
    if gauge is None:
        raise NotationError(f"{spoken.text!r} needs to know the gauge", "state it: 35mm, 16mm...")
    return spoken.on(frames_per_foot(gauge, footage), frames_per_metre(gauge, footage))
