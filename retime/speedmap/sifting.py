"""Film frames sifted out of a transfer that holds repeats, or fields woven of two film frames.

Within the house, film frames of a sifted reel are counted from 0 without gaps, as those of a clean
scan are; a map, and whatever is told, names each by the scan frame in which it begins. ``sifted``
turns a map's numbers into the house's.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from itertools import pairwise
from typing import TYPE_CHECKING

from msgspec import Struct
from msgspec.structs import replace

from retime.errors import DocumentError
from retime.findings import Finding
from retime.speedmap.assembly import Assembly, Excerpt

if TYPE_CHECKING:
    from collections.abc import Mapping

    from retime.speedmap.assembly import Inset
    from retime.speedmap.following import Mark
    from retime.speedmap.model import Deliverable, Reel, Shot, SpeedMap, Version

__all__ = ["Sifting", "sifted"]


class Sifting(Struct, frozen=True, kw_only=True):
    """Which film frames a scan holds.

    ``names`` has, rising, the scan frame in which each film frame begins. ``woven`` has, by a film
    frame's number, the scan frames that hold its upper and its lower field, where that is not one
    and the same frame. ``lost`` are the scan frames in which film frames begin that are left out
    because only one of their fields is to be had.
    """

    names: tuple[int, ...]
    woven: Mapping[int, tuple[int, int]]
    lost: tuple[int, ...] = ()

    def __post_init__(self) -> None:
        """Refuse names that do not rise."""
        if not self.names or any(after <= before for before, after in pairwise(self.names)):
            raise ValueError("a film frame begins where another does, or before it")

    def since(self, scan_frame: int) -> int:
        """Return the first film frame that begins in a scan frame or after it."""
        return bisect_left(self.names, scan_frame)

    def until(self, scan_frame: int) -> int:
        """Return the last film frame that begins in a scan frame or before it, or -1."""
        return bisect_right(self.names, scan_frame) - 1

    def whole(self, frame: int) -> tuple[int, int]:
        """Return the scan frames that hold a film frame's upper and lower field."""
        return self.woven.get(frame, (self.names[frame], self.names[frame]))


def sifted(
    speed_map: SpeedMap, siftings: Mapping[str, Sifting], lasts: Mapping[str, int]
) -> SpeedMap:
    """Return a map whose numbers are those of film frames, in reels that are sifted.

    ``lasts`` are the last frames of picture of all reels, in the scans' own numbers.

    Raises:
        DocumentError: a reel, a shot or an excerpt has no film frame that begins in it.
    """
    if not siftings:
        return speed_map
    return _Sifted(speed_map, siftings, lasts).speed_map()


class _Sifted:
    """One map while its numbers are turned."""

    def __init__(
        self, speed_map: SpeedMap, siftings: Mapping[str, Sifting], lasts: Mapping[str, int]
    ) -> None:
        self._map, self._siftings, self._lasts = speed_map, siftings, lasts
        self._found: list[Finding] = []

    def speed_map(self) -> SpeedMap:
        """Return the map; every part that holds no film frame is told."""
        made = replace(
            self._map,
            reels=tuple(self._reel(reel) for reel in self._map.reels),
            others=tuple(self._reel(reel) for reel in self._map.others),
            shots=tuple(self._shot(shot) for shot in self._map.shots),
            versions={name: self._version(one) for name, one in self._map.versions.items()},
            deliverables={
                name: self._deliverable(one) for name, one in self._map.deliverables.items()
            },
        )
        if self._found:
            raise DocumentError(self._found)
        return made

    def _reel(self, reel: Reel) -> Reel:
        sifting = self._siftings.get(reel.name)
        if sifting is None:
            return reel
        first, last = self._span(sifting, reel.first, self._lasts[reel.name], reel, "the reel")
        return replace(reel, first=first, last=last, frames=len(sifting.names))

    def _shot(self, shot: Shot) -> Shot:
        sifting = self._siftings.get(shot.reel)
        if sifting is None:
            return shot
        first, last = self._span(sifting, shot.first, shot.last, shot, f"shot {shot.key}")
        return replace(shot, first=first, last=last)

    def _version(self, version: Version) -> Version:
        if version.assembly is None:
            return version
        return replace(version, assembly=self._assembly(version.assembly))

    def _deliverable(self, deliverable: Deliverable) -> Deliverable:
        marks = deliverable.chapters
        if not isinstance(marks, tuple):
            return deliverable
        return replace(deliverable, chapters=tuple(self._mark(mark) for mark in marks))

    def _mark(self, mark: Mark) -> Mark:
        sifting = self._siftings.get(mark.reel or "")
        if sifting is None or mark.frame is None:
            return mark
        return replace(mark, frame=max(0, sifting.until(mark.frame)))

    def _assembly(self, assembly: Assembly) -> Assembly:
        insets = []
        for inset in assembly.insert:
            shows = inset.shows
            sifting = self._siftings.get(shows.reel) if isinstance(shows, Excerpt) else None
            if isinstance(shows, Excerpt) and sifting is not None:
                first, last = self._span(sifting, shows.first, shows.last, inset, "the excerpt")
                shows = replace(shows, first=first, last=last)
            insets.append(replace(inset, shows=shows))
        return replace(assembly, insert=tuple(insets))

    def _span(
        self, sifting: Sifting, first: int, last: int, part: Reel | Shot | Inset, noun: str
    ) -> tuple[int, int]:
        """Return the film frames that begin within scan frames, both ends included."""
        low, high = sifting.since(first), sifting.until(last)
        if low > high:
            place = part.where.of()
            text = f"no film frame begins in {noun}, scan frames {first} to {last}"
            hint = "all of it repeats what comes before: move its bounds, or correct the cadence"
            self._found.append(Finding(place=place, rule="cadence", text=text, hint=hint))
            return 0, 0
        return low, high
