"""What something costs as its subject grows: points that a page draws, and how straight they lie.

A render costs its frames, and its start, which it has once whatever its length; so its start is
measured by itself, and taken away before two lengths are compared.
"""

from collections.abc import Sequence
from statistics import median

import msgspec

__all__ = ["Curve", "Point", "a_frame"]


class Point(msgspec.Struct, frozen=True, kw_only=True):
    """What ``at`` so many frames, or shots, cost: ``figures``, one a run."""

    at: float
    figures: Sequence[float]

    def __post_init__(self) -> None:
        """Refuse to have nothing to tell."""
        if not self.figures:
            raise ValueError("there is no figure")

    @property
    def figure(self) -> float:
        """The median of the runs."""
        return median(self.figures)


class Curve(msgspec.Struct, frozen=True, kw_only=True):
    """Points of one kind of work, from the least ``across`` to the greatest.

    ``across`` says what is counted, ``unit`` what the cost is told in; ``start`` is what the work
    costs that has nothing to do, 0 where it was not measured.
    """

    name: str
    across: str
    unit: str
    points: Sequence[Point]
    start: float = 0


def a_frame(cost: float, start: float, frames: int) -> float:
    """Return what each frame costs beyond the start, at least a tenth part of the whole.

    On a machine that wavers a start may seem to cost more than all of a short film.
    """
    return max(cost - start, cost / 10) / frames
