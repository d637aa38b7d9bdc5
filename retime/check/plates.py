"""Stills and movies beside the film, as they should look in a deliverable, made small."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from retime.check.spool import HEIGHT, WIDTH, Small
from retime.picture.plates import active_area, picture_area, place_in
from retime.second.pictures import Mount, Source, View, look

if TYPE_CHECKING:
    from retime.edition.edition import Edition, Making
    from retime.light.raster import Rectangle
    from retime.speedmap.assembly import Plate

__all__ = ["Plates"]


class Plates:
    """The plates of one deliverable, each read when it is first asked for."""

    def __init__(self, edition: Edition, making: Making, cut: Rectangle | None) -> None:
        """Prepare to read; ``cut`` is what of the deliverable's raster is looked at."""
        self._sources, self._making, self._cut = edition.plates, making, cut
        self._seen: dict[tuple[Plate, bool], Small] = {}

    def picture(self, plate: Plate | None, *, beside: bool) -> Small:
        """Return a plate, None for black; ``beside`` the film, or in the film's own area.

        Raises ScanError where the second reader cannot read it.
        """
        if plate is None:
            return np.zeros(WIDTH * HEIGHT, np.float32)
        if (plate, beside) not in self._seen:
            self._seen[plate, beside] = self._read(plate, beside=beside)
        return self._seen[plate, beside]

    def _read(self, plate: Plate, *, beside: bool) -> Small:
        source, target = self._sources[plate.address], self._making.picture
        if target is None:
            raise TypeError("a deliverable whose scans are away")
        area = active_area(target)
        scans = [scan.picture for scan in self._making.scans if scan.picture is not None]
        if not beside and scans:
            area = picture_area(scans[0], target)
        placed = place_in(area, source.picture, target)
        mount = Mount(width=target.width, height=target.height, placed=placed)
        view = View(width=WIDTH, height=HEIGHT, mount=mount, cut=self._cut)
        seen = next(look(Source(path=source.path), view, first=plate.frame or 0, count=1))
        return seen.picture.reshape(-1).astype(np.float32)
