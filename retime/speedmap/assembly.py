"""The edition's assembly: what plays in which order, what is left out, put in, put in place.

An assembly is written for the film, for a version, or for both: a version's ``order`` takes the
place of the film's, its ``omit`` and ``insert`` are added to the film's, and its ``replace``
goes shot by shot before the film's.
"""

from __future__ import annotations

from enum import StrEnum
from typing import TYPE_CHECKING, TypeAlias

from msgspec import Struct, field

from retime.speedmap.model import ShotKind
from retime.speedmap.place import NOWHERE, Where

if TYPE_CHECKING:
    from collections.abc import Mapping
    from fractions import Fraction

    from retime.film.notation import SpokenSpeed
    from retime.speedmap.model import ShotKey

__all__ = [
    "Assembly",
    "Black",
    "Content",
    "Excerpt",
    "Inset",
    "Plate",
    "Replacement",
    "Replay",
    "Selection",
    "Side",
    "Still",
]


class Plate(Struct, frozen=True, kw_only=True):
    """A picture from a file of its own; ``frame`` counts from 0 in a movie, None in a still.

    ``address`` is relative to the map's folder.
    """

    address: str
    frame: int | None = None


class Selection(Struct, frozen=True, kw_only=True):
    """A whole reel, or shots from ``first`` to ``last`` in list order; ``text`` is as written."""

    text: str
    reel: str | None = None
    first: ShotKey | None = None
    last: ShotKey | None = None
    where: Where = NOWHERE


class Side(StrEnum):
    """On which side of what it is put beside an inset stands."""

    AFTER = "after"
    BEFORE = "before"


class Still(Struct, frozen=True, kw_only=True):
    """One picture for so many seconds of true time."""

    plate: Plate
    lasts: Fraction


class Black(Struct, frozen=True, kw_only=True):
    """Black for so many seconds of true time."""

    lasts: Fraction


class Excerpt(Struct, frozen=True, kw_only=True):
    """Frames ``first``..``last`` of another scan, that of ``reel``; both included.

    ``speed`` is None where they take that of the reel they stand in.
    """

    reel: str
    first: int
    last: int
    speed: SpokenSpeed | None = None


class Replay(Struct, frozen=True, kw_only=True):
    """Shots of the film, or a reel, at the speeds that they have."""

    of: Selection


Content: TypeAlias = Still | Black | Excerpt | Replay


class Inset(Struct, frozen=True, kw_only=True):
    """Something put into the film, beside a selection or beside another inset of that name."""

    beside: Selection | str
    side: Side
    shows: Content
    kind: ShotKind = ShotKind.ACTION
    name: str | None = None
    where: Where = NOWHERE


class Replacement(Struct, frozen=True, kw_only=True):
    """The picture in a shot's place; ``lasts`` is None where it keeps the shot's own time."""

    plate: Plate
    lasts: Fraction | None = None
    where: Where = NOWHERE


class Assembly(Struct, frozen=True, kw_only=True):
    """What a version's film is put together from; ``order`` is None for reels as written."""

    order: tuple[Selection, ...] | None = None
    omit: tuple[Selection, ...] = ()
    insert: tuple[Inset, ...] = ()
    replace: Mapping[ShotKey, Replacement] = field(default_factory=dict)

    def over(self, film: Assembly) -> Assembly:
        """Return a version's assembly laid over the film's."""
        return Assembly(
            order=film.order if self.order is None else self.order,
            omit=film.omit + self.omit,
            insert=film.insert + self.insert,
            replace={**film.replace, **self.replace},
        )
