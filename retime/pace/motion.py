"""What moves: a movement known by its name, a pendulum of a length, a fall from a height."""

from __future__ import annotations

from enum import StrEnum
from typing import TYPE_CHECKING

from msgspec import Struct

from retime.errors import NotationError
from retime.evidence.families import DISTANCE
from retime.evidence.figures import bounds_of
from retime.evidence.natural import fall, natural_named, pendulum
from retime.film.notation import shown

if TYPE_CHECKING:
    from retime.evidence.quantity import Quantity

__all__ = ["Law", "Motion", "parse_motion"]

_HINT = 'write "pendulum 0.99 m within 1 %", or "fall 4.9 m within 2 %"'


class Law(StrEnum):
    """By what the frequency of a movement is known: an evidence file's key for it."""

    NATURAL = "natural"
    PENDULUM = "pendulum"
    FALL = "fall"


class Motion(Struct, frozen=True, kw_only=True):
    """A movement: ``said`` is what stands behind its ``law`` in an evidence file.

    ``frequency`` is how many of what is ``counted`` there are to a second.
    """

    law: Law
    said: str
    counted: str
    frequency: Quantity
    source: str

    @property
    def falls(self) -> bool:
        """Whether it happens once, and is no period."""
        return self.law is Law.FALL

    def __str__(self) -> str:
        """Return the movement in words."""
        return self.said if self.law is Law.NATURAL else f"{self.law} of {self.said}"


_LAWS = {
    Law.PENDULUM: (
        pendulum,
        "swing there and back",
        "1/(2 pi sqrt(length/g)): textbook, small swings",
    ),
    Law.FALL: (fall, "fall", "1/sqrt(2 height/g): textbook, the air left aside"),
}


def parse_motion(text: str) -> Motion:
    """Read a movement: ``walk``, ``pendulum 0.99 m within 1 %``...; raises NotationError."""
    written = " ".join(text.split())
    name, _, size = written.partition(" ")
    if name.lower() in _LAWS:
        return _by_law(Law(name.lower()), size.removeprefix("of "), written)
    natural = natural_named(written)
    return Motion(
        law=Law.NATURAL,
        said=natural.name,
        counted=natural.counted,
        frequency=natural.frequency,
        source=natural.source,
    )


def _by_law(law: Law, size: str, written: str) -> Motion:
    if not size:
        what = "how long is the pendulum" if law is Law.PENDULUM else "from how high is the fall"
        raise NotationError(f"{shown(written)} does not say {what}", _HINT)
    reckon, counted, source = _LAWS[law]
    length = bounds_of(DISTANCE.figure(size), lambda metres: metres)
    return Motion(law=law, said=size, counted=counted, frequency=reckon(length), source=source)
