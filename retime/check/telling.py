"""What a picture shows: what was planned, something else, or what cannot be told.

A picture X is held against what is planned, E, and against each alternative A, by where it stands
on the way from one to the other: t = (X - E).(A - E) / |A - E|^2, 0 at what was planned and 1 at
the alternative. What both have in common, and what coding has done to them, does not count. The
uncertainty of t follows from the residual, whose neighbouring codes are taken to go eight together.
Where it reaches from one side of the middle to the other, the picture cannot tell the two apart.
Nor can it where the alternative leaves more than two fifths of the residual: codecs that lean on
earlier pictures let faint grain and flicker stand, and so show a little of them.
"""

from __future__ import annotations

from enum import StrEnum
from typing import TYPE_CHECKING

import numpy as np
from msgspec import Struct

if TYPE_CHECKING:
    from collections.abc import Mapping

    from retime.check.spool import Small

__all__ = ["LEFT", "Saying", "Told", "tell"]

_TOGETHER = 8
_SURE = 2.5
"""Deviations from the middle that count as sure."""
_NEAREST = 0.12
"""How near to the middle nothing is said, whatever the uncertainty: scaling and coding can mix
neighbours by a tenth."""
LEFT = 0.4
"""Of the residual that an alternative may leave, to be what is shown."""
_ALIKE = 0.01
"""Mean square difference, in codes, of pictures that are one picture."""


class Saying(StrEnum):
    """What a picture says of itself."""

    RIGHT = "right"
    WRONG = "wrong"
    CANNOT_TELL = "cannot tell"


class Told(Struct, frozen=True):
    """What is told of a picture; ``shows`` names the alternative that it shows where wrong."""

    saying: Saying
    shows: object = None


def tell(seen: Small, planned: Small, others: Mapping[object, Small]) -> Told:
    """Return what a picture shows, all given as small pictures on one scale of codes."""
    rest = seen - planned
    noise = float(rest @ rest) / len(rest)
    better: list[tuple[float, object]] = []
    unsure = False
    for name, other in others.items():
        apart = other - planned
        size = float(apart @ apart) / len(apart)
        if size < _ALIKE:
            unsure = True
            continue
        place = float(rest @ apart) / len(apart) / size
        doubt = np.sqrt(max(noise - place**2 * size, 0) * _TOGETHER / len(apart) / size)
        margin = max(_NEAREST, _SURE * doubt)
        if place > 0.5 + margin:
            left = seen - other
            better.append((float(left @ left) / len(left), name))
        elif place > 0.5 - margin:
            unsure = True
    least, shows = min(better, key=lambda one: one[0], default=(0.0, None))
    if better and least <= LEFT * noise:
        return Told(Saying.WRONG, shows)
    return Told(Saying.CANNOT_TELL if unsure or better else Saying.RIGHT)
