"""Lengths of film: feet, feet and frames, metres, frames."""

from __future__ import annotations

import re
from enum import StrEnum
from fractions import Fraction
from typing import TYPE_CHECKING

from msgspec import Struct

from retime.errors import NotationError
from retime.film.gauge import frames_per_foot, frames_per_metre
from retime.film.notation import parse_number, shown
from retime.film.rounding import ceiling_of, floor_of

if TYPE_CHECKING:
    from retime.film.gauge import Footage, Gauge

__all__ = ["LengthUnit", "SpokenLength", "feet_and_frames", "parse_length"]

_GAUGE_HINT = "state it: 35mm, 16mm, 9.5mm or the like"
_HINT = "write 1000 ft, 39+14, 300 m or 16000 frames"
_FEET_FRAMES = re.compile(r"(\d{1,9})\s*\+\s*(\d{1,3})(?:\s*ft)?", re.ASCII)


class LengthUnit(StrEnum):
    """What a spoken length counts."""

    FEET = "ft"
    FEET_AND_FRAMES = "ft+fr"
    METRES = "m"
    FRAMES = "frames"


class SpokenLength(Struct, frozen=True, kw_only=True):
    """A length as it was said; ``frames_over`` are those beyond whole feet in feet+frames."""

    amount: Fraction
    unit: LengthUnit
    text: str
    frames_over: int = 0

    def frames(self, gauge: Gauge | None, footage: Footage) -> Fraction:
        """Return the length in frames, which need not be whole unless feet+frames were said.

        Each foot of feet+frames begins with its first whole frame, as in ``feet_and_frames``.
        Raises NotationError where the unit needs a gauge and there is none, or the frames
        beyond whole feet are as many as a foot holds.
        """
        if self.unit is LengthUnit.FRAMES:
            return self.amount
        if gauge is None:
            raise NotationError(f"{shown(self.text)} needs to know the gauge", _GAUGE_HINT)
        if self.unit is LengthUnit.METRES:
            return self.amount * frames_per_metre(gauge, footage)
        per_foot = frames_per_foot(gauge, footage)
        if self.unit is LengthUnit.FEET:
            return self.amount * per_foot
        first = ceiling_of(self.amount * per_foot)
        held = ceiling_of((self.amount + 1) * per_foot) - first
        if self.frames_over >= held:
            raise NotationError(
                f"{shown(self.text)} has {self.frames_over} frames beyond whole feet",
                f"that foot of {gauge.name} holds {held}, counted from 0 ({footage})",
            )
        return Fraction(first + self.frames_over)


def parse_length(text: str) -> SpokenLength:
    """Read a length: ``1000 ft``, ``39+14`` (feet and frames), ``300 m``, ``16000 frames``."""
    written = text.strip()
    both = _FEET_FRAMES.fullmatch(written)
    if both:
        if not int(both[1]) and not int(both[2]):
            raise NotationError(f"{shown(text)} is not above 0", _HINT)
        return SpokenLength(
            amount=Fraction(both[1]),
            unit=LengthUnit.FEET_AND_FRAMES,
            text=written,
            frames_over=int(both[2]),
        )
    for ending, unit in (
        ("frames", LengthUnit.FRAMES),
        ("fr", LengthUnit.FRAMES),
        ("ft", LengthUnit.FEET),
        ("m", LengthUnit.METRES),
    ):
        if written.endswith(ending):
            number = written.removesuffix(ending).rstrip()
            amount = parse_number(number, said=text, noun="length", hint=_HINT)
            if unit is LengthUnit.FRAMES and amount.denominator != 1:
                raise NotationError(f"{shown(text)} has part of a frame", "write whole frames")
            return SpokenLength(amount=amount, unit=unit, text=written)
    raise NotationError(f"{shown(text)} is no length", _HINT)


def feet_and_frames(frames: int, per_foot: Fraction) -> str:
    """Return a number of frames as ``feet+frames``, the frames in two digits.

    Where a foot holds no whole number of frames, each foot begins with its first whole frame.
    """
    feet = floor_of(frames / per_foot)
    over = frames + floor_of(-feet * per_foot)
    return f"{feet}+{over:02}"
