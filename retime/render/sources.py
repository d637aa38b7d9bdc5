"""From what a plan shows to what its pictures are made of, in the reading of one pass."""

from __future__ import annotations

from itertools import groupby
from typing import TYPE_CHECKING

from msgspec import Struct

from retime.picture.plates import active_area, picture_area
from retime.render.recipe import Mounted, Recipe, Source, Wanted

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Mapping

    from retime.edition.edition import Making
    from retime.light.format import PictureFormat
    from retime.light.raster import Rectangle
    from retime.plan.look import Look, Part
    from retime.plan.plan import Plan
    from retime.render.reading import Places
    from retime.render.recipe import Mix, Place

__all__ = ["Sources", "sources_of"]


class Sources(Struct, frozen=True, kw_only=True):
    """Where the frames of one deliverable stand, and where in its raster plates are put.

    ``areas`` are those of the film's pictures, by the numbers of reels in the plan's timeline;
    ``whole`` is for what stands before and after the film.
    """

    places: Places
    areas: Mapping[int, Rectangle]
    whole: Rectangle

    def mix_of(self, look: Look) -> Mix:
        """Return what one look is made of."""
        return tuple(Source(self._shown(part), part.weight) for part in look)

    def _shown(self, part: Part) -> Place | Mounted | None:
        if part.plate is not None:
            area = self.whole if part.reel is None else self.areas.get(part.reel, self.whole)
            return Mounted(part.plate, area)
        if part.frame is None or part.unit is None:
            return None
        return self.places.of(part.unit, part.frame)

    def wanted(
        self, plan: Plan, caption: Callable[[int, Look], str] | None = None
    ) -> Iterator[Wanted]:
        """Yield what a plan's output frames are made of, in order.

        ``caption`` gives what is burnt into an output frame, by its number and what it shows
        first.
        """
        if caption is not None:
            yield from self._captioned(plan, caption)
            return
        each = ((self._recipe(fields), times) for times, fields in plan.pictures())
        for recipe, alike in groupby(each, key=lambda pair: pair[0]):
            yield Wanted(sum(times for _, times in alike), recipe)

    def _captioned(self, plan: Plan, caption: Callable[[int, Look], str]) -> Iterator[Wanted]:
        output = 0
        for times, fields in plan.pictures():
            recipe = self._recipe(fields)
            for _ in range(times):
                yield Wanted(1, recipe._replace(burnt=caption(output, fields[0])))
                output += 1

    def _recipe(self, fields: tuple[Look, ...]) -> Recipe:
        """Return the recipe of an output frame: a whole one where both fields show the same."""
        mixes = tuple(self.mix_of(look) for look in fields)
        return Recipe(mixes[:1] if len(set(mixes)) == 1 else mixes)


def sources_of(making: Making, picture: PictureFormat, places: Places) -> Sources:
    """Return the sources of a deliverable with pictures of a format."""
    by_name = {
        scan.reel.name: picture_area(scan.picture, picture)
        for scan in making.scans
        if scan.picture is not None
    }
    whole = active_area(picture)
    areas = {
        number: by_name.get(reel.name, whole)
        for number, reel in enumerate(making.plan.timeline.reels)
    }
    return Sources(places=places, areas=areas, whole=whole)
