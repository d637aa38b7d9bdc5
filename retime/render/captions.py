"""What is burnt into the output frames of a reference copy."""

from __future__ import annotations

from typing import TYPE_CHECKING

from retime.film.gauge import Footage, frames_per_foot
from retime.film.length import feet_and_frames
from retime.film.timecode import label
from retime.picture.burning import TextExtent, extent_of
from retime.speedmap.footage import gauge_of
from retime.speedmap.model import BurnItem

if TYPE_CHECKING:
    from collections.abc import Iterator

    from retime.edition.edition import Edition, Making
    from retime.plan.look import Look, Part

__all__ = ["Captions"]

_BETWEEN = "  "


class Captions:
    """The captions of one deliverable.

    A frame that shows several film frames names the one with the largest part, the earlier of
    equals; of two fields, what the first shows.
    """

    def __init__(self, edition: Edition, making: Making, in_line: int) -> None:
        """Look up what holds for all output frames; ``in_line`` items go into a line."""
        self._making = making
        self._in_line = in_line
        self._items = making.deliverable.burn
        self._timeline = making.plan.timeline
        footage = edition.speed_map.footage or Footage.NOMINAL
        reels = [edition.speed_map.reel(one.name) for one in self._timeline.reels]
        self._firsts = [reel.first for reel in reels]
        self._per_foot = [
            frames_per_foot(gauge_of(edition.speed_map, one), footage) for one in reels
        ]
        self._digits = max(len(str(scan.told(scan.last))) for scan in making.scans)

    def __call__(self, output: int, look: Look) -> str:
        """Return what is burnt into an output frame."""
        part = max(look, key=lambda one: one.weight)
        told = list(self._told(output, part))
        lines = range(0, len(told), self._in_line)
        return "\n".join(_BETWEEN.join(told[at : at + self._in_line]) for at in lines)

    def extent(self) -> TextExtent:
        """Return the room that any caption takes at most."""
        extents = {extent_of(self(0, look)) for _, (look, *_) in self._making.plan.pictures()}
        return TextExtent(
            columns=max(one.columns for one in extents), lines=max(one.lines for one in extents)
        )

    def _told(self, output: int, part: Part) -> Iterator[str]:
        making = self._making
        for item in self._items:
            match item:
                case BurnItem.TIMECODE:
                    yield label(
                        making.start + output, making.plan.conform.rate, drop=making.drop_frame
                    )
                case BurnItem.VERSION:
                    yield making.deliverable.version
                case BurnItem.SHOT:
                    yield from self._shot(part)
                case _:
                    yield from self._film(item, part)

    def _shot(self, part: Part) -> Iterator[str]:
        if part.unit is None:
            return
        unit = self._timeline.units[part.unit]
        if unit.shot is not None:
            yield f"{self._timeline.reels[unit.reel].name}/{unit.shot}"
        elif unit.name is not None:
            yield unit.name

    def _film(self, item: BurnItem, part: Part) -> Iterator[str]:
        """Yield what only a film frame has; frames are set as wide as the last, to stand still."""
        if part.reel is None or part.frame is None:
            return
        if item is BurnItem.REEL:
            yield f"reel {self._timeline.reels[part.reel].name}"
        elif item is BurnItem.FRAME:
            told = self._making.told(self._timeline.reels[part.reel].name, part.frame)
            yield f"frame {told:>{self._digits}}"
        else:
            inside = max(0, part.frame - self._firsts[part.reel])
            yield f"{feet_and_frames(inside, self._per_foot[part.reel])} ft"
