"""The speed at which a film was taken, by the frames and the frequency of a movement."""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING

from retime.evidence.quantity import Quantity, around

if TYPE_CHECKING:
    from retime.pace.counting import Paced

__all__ = ["frames_of", "implied"]


def frames_of(paced: Paced) -> Quantity:
    """Return measured frames as a figure, its bounds those of a rectangle with its uncertainty.

    It is never less than 0: what is as uncertain as that says nothing.
    """
    told = around(Fraction(paced.frames), Fraction(paced.uncertainty))
    return Quantity(
        value=told.value, low=max(told.low, Fraction(0)), high=told.high, variance=told.variance
    )


def implied(frames: Quantity, frequency: Quantity) -> Quantity:
    """Return film frames a second: frames of film to a period times periods a second.

    The bounds are those of both together, so that the speed is never told more narrowly than the
    movement itself is known, however well the frames are.
    """
    return frames * frequency
