"""General flashes and saturated red transitions of a film, by the published limits.

The meter is given small pictures one by one, with the exact times at which they come, and keeps no
more than a second of them. What it finds is an aid and no certificate: see the cautions that every
report carries.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, TypeAlias

import numpy as np
from msgspec import Struct

from retime.check.flash_area import Area
from retime.check.flash_blocks import COLUMNS, ROWS, light_of
from retime.check.flash_limits import (
    CHANGE,
    DARKER,
    PEAK,
    QUESTIONS,
    RED_CHANGE,
    RED_DISTANCE,
    RED_SHARE,
    Kind,
    Question,
    Standard,
)
from retime.check.flash_seconds import Run, Seconds
from retime.check.flash_swings import RedTurns, Swings
from retime.light.transfer import Transfer

if TYPE_CHECKING:
    from collections.abc import Callable
    from fractions import Fraction

    from retime.check.flash_blocks import Codes, Light
    from retime.check.flash_swings import Changes, Coloured, Level

__all__ = ["Answer", "FlashMeter", "FlashReport", "changes_meter"]

_LUMINANCE = np.array([0.2126, 0.7152, 0.0722], np.float32)
"""What red, green and blue give to luminance: WCAG 2.2, relative luminance; Rec. ITU-R BT.709."""
_XYZ = np.array(
    [[0.4124, 0.3576, 0.1805], [0.2126, 0.7152, 0.0722], [0.0193, 0.1192, 0.9505]], np.float32
)
"""From linear red, green and blue of Rec. ITU-R BT.709 to CIE XYZ: IEC 61966-2-1."""
_WHITE_UV = (0.1978, 0.4683)
_RED_UV = (0.4507, 0.5229)
"""CIE 1976 u', v' of D65 and of BT.709's red."""
_COLOURLESS = 0.1 / PEAK
"""Below 0.1 cd/m2 nothing has a colour here: common practice sets black there."""
_ROUNDING = 1e-6  # of white; what is at a limit by the figures is at it

_SHAPE = (ROWS, COLUMNS)

_Meter: TypeAlias = "Callable[[Light], Changes]"


class Answer(Struct, frozen=True, kw_only=True):
    """What a film shows of one question.

    ``worst`` is the second with the most flashes, None where nothing flashes on enough of the
    area; ``failing`` are the runs of seconds that have more than three; ``series`` has, for each
    second of the film, the most flashes in any second that ends in it.
    """

    question: Question
    worst: Run | None
    failing: tuple[Run, ...]
    series: tuple[Fraction, ...]

    @property
    def passes(self) -> bool:
        """Whether no second has too many flashes."""
        return not self.failing


class FlashReport(Struct, frozen=True, kw_only=True):
    """What was found in a film, or in a deliverable of a map, which then has a ``version``.

    ``rate`` is None for pictures that come at no one rate. ``pictures`` were looked at; ``apart``
    is how far apart in seconds leading edges are always allowed.
    """

    name: str
    version: str | None = None
    rate: Fraction | None = None
    runtime: Fraction
    pictures: int
    apart: Fraction
    answers: tuple[Answer, ...]

    @property
    def passes(self) -> bool:
        """Whether every question is passed."""
        return all(answer.passes for answer in self.answers)


class FlashMeter:
    """All four questions asked of one film, picture by picture."""

    def __init__(self, aspect: Fraction, apart: Fraction) -> None:
        """Take the shape of the picture as it is displayed, and what edges are always allowed."""
        self._apart = apart
        self._asked = [
            (
                question,
                changes_meter(question),
                Seconds(Area.field(aspect) if question.field else Area.whole(), apart),
            )
            for question in QUESTIONS
        ]
        self._pictures = 0
        self._last: Codes | None = None

    def see(self, codes: Codes, time: Fraction) -> None:
        """Take the blocks of the next picture, which comes at ``time`` and stays until another.

        Times rise, from 0. A picture that is shown again need not be told again.
        """
        self._pictures += 1
        if self._last is not None and np.array_equal(codes, self._last):
            return
        self._last = codes
        shown = {curve: light_of(codes, curve) for curve in (Transfer.SRGB, Transfer.BT1886)}
        for question, meter, seconds in self._asked:
            seconds.see(meter(shown[question.transfer]), time)

    def report(
        self,
        name: str,
        runtime: Fraction,
        *,
        version: str | None = None,
        rate: Fraction | None = None,
    ) -> FlashReport:
        """Return what was found, once all pictures have been seen."""
        answers = []
        for question, _, seconds in self._asked:
            seconds.close(runtime)
            answers.append(
                Answer(
                    question=question,
                    worst=seconds.worst,
                    failing=tuple(seconds.failing),
                    series=tuple(seconds.series),
                )
            )
        return FlashReport(
            name=name,
            version=version,
            rate=rate,
            runtime=runtime,
            pictures=self._pictures,
            apart=self._apart,
            answers=tuple(answers),
        )


def changes_meter(question: Question) -> Callable[[Light], Changes]:
    """Return what tells, picture by picture, the transitions that a question asks about.

    It is given linear light, shape (rows, columns, 3), 1 being white.
    """
    if question.kind is Kind.GENERAL:
        return _general()
    return _red_by_change() if question.standard is Standard.WCAG else _red_by_chromaticity()


def _general() -> _Meter:
    swings = Swings(CHANGE - _ROUNDING, _SHAPE)

    def see(light: Light) -> Changes:
        luminance = light @ _LUMINANCE
        return swings.see(luminance, luminance < DARKER - _ROUNDING)

    return see


def _red_by_change() -> _Meter:
    """Tell transitions of (R - G - B), negatives 0, that a saturated red is part of."""
    swings = Swings(RED_CHANGE + _ROUNDING, _SHAPE)

    def see(light: Light) -> Changes:
        excess = light[..., 0] - light[..., 1] - light[..., 2]
        return swings.see(np.maximum(excess, 0), _saturated(light))

    return see


def _red_by_chromaticity() -> _Meter:
    """Tell transitions to and from a saturated red, at any luminance that has a colour."""
    turns = RedTurns(RED_DISTANCE, _RED_UV, _SHAPE)

    def see(light: Light) -> Changes:
        coloured = light @ _LUMINANCE >= _COLOURLESS
        u, v = _chromaticity(light, coloured)
        return turns.see(_saturated(light) & coloured, u, v)

    return see


def _saturated(light: Light) -> Coloured:
    red = light[..., 0]
    return np.asarray((red > 0) & (red >= (RED_SHARE - _ROUNDING) * light.sum(axis=-1)))


def _chromaticity(light: Light, coloured: Coloured) -> tuple[Level, Level]:
    """Return CIE 1976 u' and v'; what has no colour is taken as white."""
    xyz = light @ _XYZ.T
    x, y, z = xyz[..., 0], xyz[..., 1], xyz[..., 2]
    whole = np.where(coloured, x + 15 * y + 3 * z, 1)
    u = np.where(coloured, 4 * x / whole, np.float32(_WHITE_UV[0]))
    v = np.where(coloured, 9 * y / whole, np.float32(_WHITE_UV[1]))
    return u.astype(np.float32), v.astype(np.float32)
