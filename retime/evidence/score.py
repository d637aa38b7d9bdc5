"""How the sections of a score fit together: one speed, several, and what sticks out.

Each section says that its frames lasted its minutes, and so implies a speed. ``runs`` tells which
sections share one: all of them, or two or three runs with a speed each, and which stick out. A
section that sticks out reads as footage that was cut from this print, or added to it.

A speed is the mean of its sections' logarithms, each weighed by the inverse square of its
uncertainty. Where sections differ from the speed of their run by more than they state, the
uncertainties of speeds and of what is missing or added are as many times wider.
"""

from __future__ import annotations

from enum import StrEnum
from fractions import Fraction
from math import exp, log, sqrt
from typing import TYPE_CHECKING

from msgspec import Struct

from retime.evidence.quantity import Quantity, between
from retime.evidence.runs import Point, mean_of, runs_of, scatter_of

if TYPE_CHECKING:
    from collections.abc import Sequence

__all__ = ["ScoreFit", "Section", "SectionFit", "Standing", "fit_score"]


class Section(Struct, frozen=True, kw_only=True):
    """A section of a score: how many frames it goes with, and for how many seconds it lasts."""

    name: str
    frames: Quantity
    seconds: Quantity

    @property
    def speed(self) -> Quantity:
        """The speed that it implies."""
        return self.frames / self.seconds


class Standing(StrEnum):
    """How a section stands to the speed of its run."""

    FITS = "fits"
    MISSING = "missing"
    """The music lasts longer than the print's frames do: footage was cut from this print."""
    ADDED = "added"
    """The frames last longer than the music: footage was added, or music was cut."""


class SectionFit(Struct, frozen=True, kw_only=True):
    """A section beside the speed of its run; ``frames`` is what is missing or added, else None."""

    section: Section
    standing: Standing
    frames: Quantity | None = None


class ScoreFit(Struct, frozen=True, kw_only=True):
    """What all sections say together.

    ``runs`` are the speeds of runs of sections, with the index of the first section of each, where
    several are more probable than one; else there is one run. ``speed`` is that of the one run; of
    several it is anything from the slowest to the fastest. ``scatter`` is by how much more the
    sections differ from the speed of their run than they state, 1 where they do not.
    """

    speed: Quantity
    scatter: float
    sections: tuple[SectionFit, ...]
    runs: tuple[tuple[int, Quantity], ...]

    @property
    def one_speed(self) -> bool:
        """Say whether one speed fits all sections but those that stick out."""
        return len(self.runs) == 1


def fit_score(sections: Sequence[Section]) -> ScoreFit:
    """Return how sections, at least one, fit together; every one's time has a tolerance."""
    points = [_point(section.speed) for section in sections]
    runs = runs_of(points)
    fitting = [run.points(points) for run in runs]
    scatter = scatter_of(fitting)
    speeds = [_speed(inside, scatter) for inside in fitting]
    return ScoreFit(
        speed=_overall(speeds),
        scatter=scatter,
        sections=tuple(
            _beside(sections[i], speed, scatter, fits=i in run.kept)
            for run, speed in zip(runs, speeds, strict=True)
            for i in range(run.first, run.stop)
        ),
        runs=tuple((run.first, speed) for run, speed in zip(runs, speeds, strict=True)),
    )


def _point(speed: Quantity) -> Point:
    return Point(log(speed.value), speed.relative)


def _speed(points: Sequence[Point], scatter: float) -> Quantity:
    """Return the common speed of points, its bounds those of a rectangle in the logarithm."""
    at, doubt = mean_of(points)
    wide = doubt * scatter
    half = sqrt(3) * wide
    return Quantity(
        value=Fraction(exp(at)),
        low=Fraction(exp(at - half)),
        high=Fraction(exp(at + half)),
        variance=Fraction(exp(at) * wide) ** 2,
    )


def _overall(speeds: Sequence[Quantity]) -> Quantity:
    """Return one speed for several: anything from the slowest to the fastest."""
    if len(speeds) == 1:
        return speeds[0]
    return between(min(one.low for one in speeds), max(one.high for one in speeds))


def _beside(section: Section, speed: Quantity, scatter: float, *, fits: bool) -> SectionFit:
    if fits:
        return SectionFit(section=section, standing=Standing.FITS)
    lasting, held = _widened(section.seconds, scatter), _widened(section.frames, scatter)
    missing = speed * lasting - held
    if missing.value > 0:
        return SectionFit(section=section, standing=Standing.MISSING, frames=missing)
    return SectionFit(section=section, standing=Standing.ADDED, frames=-missing)


def _widened(figure: Quantity, scatter: float) -> Quantity:
    """Return a figure, 0 or above, that is stated ``scatter`` times too exactly."""
    by = Fraction(scatter)
    return Quantity(
        value=figure.value,
        low=max(Fraction(0), figure.value - by * (figure.value - figure.low)),
        high=figure.value + by * (figure.high - figure.value),
        variance=by**2 * figure.variance,
    )
