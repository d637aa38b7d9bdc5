"""A deliverable as lists tell it: strips of film in record order.

A strip is a run of output frames that shows one thing at one pace: film of one shot, one frame
held, black, or a picture that is no film.
"""

from __future__ import annotations

from enum import StrEnum
from fractions import Fraction
from typing import TYPE_CHECKING

from msgspec import Struct, field

from retime.speedmap.model import ShotKind

if TYPE_CHECKING:
    from collections.abc import Mapping

    from retime.film.speed import Rate

__all__ = ["Programme", "Scan", "Shows", "Strip"]


class Shows(StrEnum):
    """What a strip puts on the screen."""

    FILM = "film"
    HELD = "held"
    """One film frame."""
    BLACK = "black"
    PLATE = "picture"
    """A picture from a file of its own."""


class Strip(Struct, frozen=True, kw_only=True):
    """``frames`` output frames from number ``output`` of the file.

    It shows ``count`` film frames of a reel from ``first``, the lowest, in their scan's own
    numbers; ``ratio`` of them to an output frame, below 0 where they run backwards. ``speed`` is
    film frames a second as they were decided, None where no speed was. A ramp has both its ends in
    ``ramp``, its mean as ``ratio``, and ``strays`` film frames at most between what the mean shows
    and what is shown. ``sifted`` says that the scan holds repeats, which ``count`` counts too.
    ``reel`` is the one that it stands in. ``plate`` is the address of a picture, or of a movie,
    which then has a ``ratio`` of 1 and plays from its frame ``first``.
    """

    output: int
    frames: int
    reel: str
    shows: Shows = Shows.FILM
    first: int = 0
    count: int = 1
    ratio: Fraction = Fraction(0)
    speed: Fraction | None = None
    ramp: tuple[Fraction, Fraction] | None = None
    strays: int = 0
    sifted: bool = False
    shot: str | None = None
    kind: ShotKind = ShotKind.ACTION
    name: str | None = None
    plate: str | None = None

    @property
    def is_film(self) -> bool:
        """Whether the strip shows frames of a scan."""
        return self.shows in {Shows.FILM, Shows.HELD}

    @property
    def last(self) -> int:
        """The highest film frame."""
        return self.first + self.count - 1


class Scan(Struct, frozen=True, kw_only=True):
    """A reel's scan: its address as the map writes it, and how many frames it holds."""

    address: str
    frames: int


class Programme(Struct, frozen=True, kw_only=True):
    """A deliverable: its strips, what its labels are, and the scans it is made from.

    ``start`` is the number of the file's first label. ``woven`` is how many output frames hold
    fields of two film frames, of which a list names one. ``blended`` says that output frames are
    mixed of several film frames.
    """

    film: str
    deliverable: str
    rate: Rate
    drop: bool
    start: int
    strips: tuple[Strip, ...]
    scans: Mapping[str, Scan] = field(default_factory=dict)
    woven: int = 0
    blended: bool = False

    @property
    def nominal(self) -> int:
        """How many frames a second its labels count; the rate has labels."""
        return int(self.rate.nominal.fps)
