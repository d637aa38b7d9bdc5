"""All that the deliverables of a map show, as blocks, each scan read once."""

from __future__ import annotations

from typing import TYPE_CHECKING, Self

import numpy as np

from retime.check.flash_blocks import COLUMNS, ROWS, blocks_of, mixed
from retime.check.flash_shelf import Shelf
from retime.check.flash_view import aspect_of, flash_view
from retime.check.scan_parts import parts_of
from retime.errors import ScanError
from retime.second.pictures import Source, look

if TYPE_CHECKING:
    from collections.abc import Callable
    from fractions import Fraction

    from retime.check.flash_blocks import Codes
    from retime.edition.edition import Edition, Making
    from retime.edition.scans import ReelScan
    from retime.plan.look import Look, Part
    from retime.speedmap.assembly import Plate

__all__ = ["FlashFilm"]

_BLACK = np.zeros((ROWS, COLUMNS, 3), np.uint8)


class FlashFilm:
    """The scans and plates of an edition, each read when it is first asked for.

    What is kept of them is gone when the block is left.
    """

    def __init__(self, edition: Edition, seen: Callable[[], None] | None = None) -> None:
        """Prepare to read; ``seen`` is called after each picture of a scan that is read."""
        self._scans = {scan.reel.name: scan for scan in edition.scans}
        self._plates = edition.plates
        self._seen = seen
        self._reels: dict[str, _Reel] = {}
        self._stills: dict[str, Shelf] = {}
        self._shelves: list[Shelf] = []

    def __enter__(self) -> Self:
        """Return it."""
        return self

    def __exit__(self, *_: object) -> None:
        """Let go of everything."""
        for shelf in self._shelves:
            shelf.close()

    def aspect_of(self, making: Making) -> Fraction:
        """Return width over height of the film's picture; ScanError where a scan is away."""
        scan = making.scans[0]
        if scan.picture is None:
            raise ScanError(scan.path, "is away, and flashes are found in pictures alone")
        return aspect_of(scan.picture)

    def picture(self, making: Making, shown: Look) -> Codes:
        """Return what a deliverable shows; raises ScanError where it cannot be read."""
        if len(shown) == 1:
            return self._part(making, shown[0])
        return mixed((float(part.weight), self._part(making, part)) for part in shown)

    def _part(self, making: Making, part: Part) -> Codes:
        if part.plate is not None:
            return self._plate(part.plate)
        if part.frame is None or part.reel is None:
            return _BLACK
        name = making.plan.timeline.reels[part.reel].name
        if name not in self._reels:
            self._reels[name] = _Reel(self._scans[name], self._shelf(), self._seen)
        return self._reels[name].picture(part.frame)

    def _plate(self, plate: Plate) -> Codes:
        if plate.address not in self._stills:
            source, shelf = self._plates[plate.address], self._shelf()
            view = flash_view(source.path, source.picture)
            for seen in look(Source(path=source.path), view, count=source.frames):
                shelf.add(blocks_of(seen.picture))
            self._stills[plate.address] = shelf
        return self._stills[plate.address].picture(plate.frame or 0)

    def _shelf(self) -> Shelf:
        self._shelves.append(Shelf())
        return self._shelves[-1]


class _Reel:
    """A reel's blocks by the frames of its scan."""

    def __init__(self, scan: ReelScan, shelf: Shelf, seen: Callable[[], None] | None) -> None:
        if scan.picture is None:
            raise ScanError(scan.path, "is away, and flashes are found in pictures alone")
        view = flash_view(scan.path, scan.picture, scan.reel.framing)
        self._scan, self._shelf = scan, shelf
        self._places: dict[int, int] = {}
        for source, first, count, frame in parts_of(scan):
            for at, read in enumerate(look(source, view, first=first, count=count)):
                self._places[frame + at] = len(self._shelf)
                self._shelf.add(blocks_of(read.picture))
                if seen is not None:
                    seen()

    def picture(self, frame: int) -> Codes:
        held = self._scan.told(frame)
        if held not in self._places:
            path = self._scan.path
            raise ScanError(path, f"frame {held} could not be read", "it may be cut short")
        return self._shelf.picture(self._places[held])
