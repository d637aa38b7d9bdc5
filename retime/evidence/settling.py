"""What would settle it: how exact a new document would have to be to tell two speeds apart.

A document that is right, says the logarithm of a speed with the uncertainty u, and goes with one of
two speeds, is expected to support it over the other by exp(d^2 / 2), d being the difference of
their logarithms over u. For that to be 20, where the published wording turns to strong, u may be at
most the difference over sqrt(2 ln 20) = 2.45.
"""

from __future__ import annotations

from fractions import Fraction
from math import ceil, log, sqrt
from typing import TYPE_CHECKING

from msgspec import Struct

from retime.evidence.model import Kind
from retime.evidence.natural import natural_named
from retime.evidence.verdict import STRONG

if TYPE_CHECKING:
    from collections.abc import Sequence

    from retime.evidence.quantity import Quantity
    from retime.evidence.verdict import Ranked

__all__ = ["Settling", "settling"]

_FAR = sqrt(2 * log(STRONG))


class Settling(Struct, frozen=True, kw_only=True):
    """A kind of document, and how exact it would have to be.

    ``within`` is the bound to either side, in the unit of ``measure``; for motions it is None and
    ``count`` says how many people or animals that do not walk in step would have to be measured.
    """

    kind: Kind
    measure: str
    within: Fraction | None = None
    count: int | None = None


def settling(length: Quantity, order: Sequence[Ranked]) -> tuple[Settling, ...]:
    """Return what would separate the first two of at least two candidates.

    ``length`` is that of the print, in frames.
    """
    first, second = order[0].speed.fps, order[1].speed.fps
    doubt = abs(log(first / second)) / _FAR
    bound = Fraction(doubt * sqrt(3))
    middle = Fraction(sqrt(first * second))
    walk = natural_named("walk").frequency.relative
    return (
        Settling(kind=Kind.RUNTIME, measure="s", within=bound * length.value / middle),
        Settling(kind=Kind.INSTRUCTION, measure="fps", within=bound * middle),
        Settling(kind=Kind.MOTION, measure="walkers", count=ceil((walk / doubt) ** 2)),
        # The time of a swing or a fall goes with the root of the length.
        Settling(kind=Kind.MOTION, measure="% of a pendulum's length", within=200 * bound),
    )
