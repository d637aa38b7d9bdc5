"""What output pictures are made of: a film frame, two that are woven, or several that are mixed."""

from __future__ import annotations

from itertools import groupby
from typing import TYPE_CHECKING, NamedTuple, TypeAlias

if TYPE_CHECKING:
    from collections.abc import Iterator
    from fractions import Fraction

    from retime.plan.look import Look
    from retime.plan.plan import Plan

__all__ = ["Mix", "Place", "Recipe", "Source", "Wanted", "frames_of", "mix_of", "wanted"]

Place: TypeAlias = tuple[int, int]
"""A reel's number and a film frame of it; places compare in playing order."""


class Source(NamedTuple):
    """A film frame, or black where it is None, and its part of a mean."""

    place: Place | None
    weight: Fraction


Mix: TypeAlias = tuple[Source, ...]
Recipe: TypeAlias = tuple[Mix, ...]
"""One mix, or those of a frame's two fields in the order of time; a mix of one is untouched."""


class Wanted(NamedTuple):
    """``times`` output frames in a row of one recipe."""

    times: int
    recipe: Recipe


def wanted(plan: Plan) -> Iterator[Wanted]:
    """Yield what a deliverable's output frames are made of, in order."""
    each = ((tuple(mix_of(look) for look in fields), times) for times, fields in plan.pictures())
    for recipe, alike in groupby(each, key=lambda pair: pair[0]):
        yield Wanted(sum(times for _, times in alike), _plain(recipe))


def mix_of(look: Look) -> Mix:
    """Return what one look is made of."""
    return tuple(
        Source(None if part.frame is None else (part.reel, part.frame), part.weight)
        for part in look
    )


def _plain(recipe: Recipe) -> Recipe:
    """Return the recipe of whole frames where two shots' fields show the same."""
    return recipe[:1] if len(set(recipe)) == 1 else recipe


def frames_of(recipe: Recipe) -> set[Place]:
    """Return the film frames that go into a recipe."""
    return {source.place for mix in recipe for source in mix if source.place is not None}
