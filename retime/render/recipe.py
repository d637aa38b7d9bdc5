"""What output pictures are made of: a film frame, two that are woven, or several that are mixed."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple, TypeAlias

from retime.render.reading import Place

if TYPE_CHECKING:
    from fractions import Fraction

    from retime.light.raster import Rectangle
    from retime.speedmap.assembly import Plate

__all__ = ["Mix", "Mounted", "Place", "Recipe", "Source", "Wanted", "frames_of"]


class Mounted(NamedTuple):
    """A plate, and the part of a deliverable's raster that it is put into."""

    plate: Plate
    area: Rectangle


class Source(NamedTuple):
    """A film frame, a plate, or black where it is None, and its part of a mean."""

    shows: Place | Mounted | None
    weight: Fraction


Mix: TypeAlias = tuple[Source, ...]


class Recipe(NamedTuple):
    """One mix, or those of a frame's two fields in the order of time; a mix of one is untouched.

    ``burnt`` is what is written over it, if anything is.
    """

    mixes: tuple[Mix, ...]
    burnt: str = ""


class Wanted(NamedTuple):
    """``times`` output frames in a row of one recipe."""

    times: int
    recipe: Recipe


def frames_of(recipe: Recipe) -> set[Place]:
    """Return the film frames that go into a recipe."""
    return {
        source.shows
        for mix in recipe.mixes
        for source in mix
        if source.shows is not None and not isinstance(source.shows, Mounted)
    }
