"""What counts as a flash, and how many are too many: the published limits, each with its source.

- Web Content Accessibility Guidelines 2.2 (W3C 2023), "general flash and red flash thresholds": a
  general flash is a pair of opposing changes of relative luminance by 10 % or more of the maximum,
  the darker image being below 0.80; a red flash a pair of opposing transitions involving a
  saturated red. More than three of either within any one second fail, unless the combined area of
  flashes occurring concurrently is no more than 25 % of any 10 degree visual field. A transition
  runs from a peak to the valley beside it, or the other way.
- Rec. ITU-R BT.1702-3 (2023), Guideline on flashes: 20 cd/m2 or more, the darker image being below
  160 cd/m2; any transition to or from a saturated red; more than three flashes, which are six
  transitions, in one second on more than 25 % of the screen. Flashes whose leading edges are 360 ms
  apart (334 ms where pictures come at 60 Hz) are always allowed. With a peak of 200 cd/m2, which
  SDR is taken to have (Jordan and Vanderheiden, ACM TACCESS 17(3), 2024), both say the same of
  luminance.

A second is half-open: what begins it is in it, and what begins the next is not. Seven transitions
in a second are three flashes and a half, and count as too many: a flicker of 3.4 flashes a second
never has four whole ones in one.
"""

from __future__ import annotations

from enum import StrEnum
from fractions import Fraction
from typing import TYPE_CHECKING

from msgspec import Struct

from retime.light.transfer import Transfer

if TYPE_CHECKING:
    from retime.film.speed import Rate

__all__ = [
    "BEYOND",
    "CHANGE",
    "DARKER",
    "FEWEST",
    "PEAK",
    "QUESTIONS",
    "RED_CHANGE",
    "RED_DISTANCE",
    "RED_SHARE",
    "SHARE",
    "Kind",
    "Question",
    "Standard",
    "edges_apart",
]

CHANGE = 0.10
"""Of the maximum relative luminance: 20 of 200 cd/m2."""
DARKER = 0.80
"""The darker image has to be below this relative luminance: 160 of 200 cd/m2."""
PEAK = 200
"""The luminance of white in cd/m2."""
FEWEST = 6
"""Transitions in a second that are still allowed: three flashes."""
BEYOND = Fraction(FEWEST, 2)
"""Flashes in a second that are still allowed."""
SHARE = 4
"""More than one part in so many has to flash: 25 %."""

RED_SHARE = 0.8
"""A red is saturated from this share of red light in all light on: WCAG 2.2, both definitions."""
RED_CHANGE = 20 / 320
"""(R - G - B) x 320 has to change by more than 20, what is negative being 0: WCAG 2.2, after
Harding and Binnie 2002."""
RED_DISTANCE = 0.2
"""How far two states have to be apart, one of them a saturated red, in the CIE 1976 UCS diagram:
WCAG 2.2, after ISO 9241-391."""


class Standard(StrEnum):
    """Whose limits."""

    WCAG = "WCAG 2.2"
    BROADCAST = "Rec. ITU-R BT.1702-3"


class Kind(StrEnum):
    """What flashes."""

    GENERAL = "general"
    RED = "red"


class Question(Struct, frozen=True, kw_only=True):
    """What is asked of a film: one kind of flash by one standard.

    ``transfer`` is the curve by which codes are shown, sRGB being that of WCAG's own definition of
    relative luminance and BT.1886 that of a television. Where ``field`` holds, the area is that of
    any visual field of 10 degrees, else that of the whole picture.
    """

    standard: Standard
    kind: Kind
    transfer: Transfer
    field: bool

    @property
    def name(self) -> str:
        """The question in words: ``general flashes, WCAG 2.2``."""
        return f"{self.kind} flashes, {self.standard}"


QUESTIONS = tuple(
    Question(standard=standard, kind=kind, transfer=transfer, field=standard is Standard.WCAG)
    for standard, transfer in (
        (Standard.WCAG, Transfer.SRGB),
        (Standard.BROADCAST, Transfer.BT1886),
    )
    for kind in Kind
)

_SIXTIES = (30, 60)


def edges_apart(rate: Rate | None) -> Fraction:
    """Return from how many seconds between their leading edges on flashes are always allowed.

    BT.1702-3 allows 334 ms where pictures come at 60 Hz; that is taken for rates of 30 and 60, and
    their 1000/1001 kin, alone. Films at 24 are shown at both, and so take the longer 360 ms.
    """
    sixty = rate is not None and rate.nominal.fps in _SIXTIES
    return Fraction(334, 1000) if sixty else Fraction(360, 1000)
