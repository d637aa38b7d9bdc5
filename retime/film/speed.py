"""Speeds of film and rates of deliverables: two measures that are never mixed."""

from __future__ import annotations

from fractions import Fraction

from msgspec import Struct

__all__ = ["Ramp", "Rate", "Speed"]

_NTSC = 1001


class Speed(Struct, frozen=True, order=True):
    """Film frames per second of screen time; ``fps`` > 0."""

    fps: Fraction

    def __post_init__(self) -> None:
        """Refuse a speed at which no film moves."""
        if self.fps <= 0:
            raise ValueError(f"a speed is above 0, not {self.fps}")

    @property
    def duration(self) -> Fraction:
        """How long one film frame lasts, in seconds."""
        return 1 / self.fps

    def __str__(self) -> str:
        """Return the number of frames per second as an exact text."""
        return str(self.fps)


class Rate(Struct, frozen=True, order=True):
    """A deliverable's whole frames per second, interlaced ones too; ``fps`` > 0."""

    fps: Fraction

    def __post_init__(self) -> None:
        """Refuse a rate at which nothing is shown."""
        if self.fps <= 0:
            raise ValueError(f"a rate is above 0, not {self.fps}")

    @property
    def is_fractional(self) -> bool:
        """Whether the rate is N x 1000/1001 for a whole N."""
        return self.fps.denominator != 1 and (self.fps * _NTSC / 1000).denominator == 1

    @property
    def nominal(self) -> Rate:
        """N for a rate of N x 1000/1001, else the rate itself."""
        return Rate(self.fps * _NTSC / 1000) if self.is_fractional else self

    def __str__(self) -> str:
        """Return the number of frames per second as an exact text."""
        return str(self.fps)


class Ramp(Struct, frozen=True):
    """A change of speed over a run of frames, the frames' durations changing evenly."""

    first: Speed
    last: Speed

    def duration(self, i: int, count: int) -> Fraction:
        """Return how long frame ``i`` of ``count`` lasts, in seconds: a + (b - a) i/(count - 1)."""
        a, b = self.first.duration, self.last.duration
        return a if count == 1 else a + (b - a) * Fraction(i, count - 1)

    def elapsed(self, i: int, count: int) -> Fraction:
        """Return how long the first ``i`` of ``count`` frames last together, in seconds."""
        a, b = self.first.duration, self.last.duration
        if count == 1:
            return a * i
        return a * i + (b - a) * Fraction(i * (i - 1), 2 * (count - 1))

    def __str__(self) -> str:
        """Return the ramp as a map writes it."""
        return f"{self.first} fps -> {self.last} fps"
