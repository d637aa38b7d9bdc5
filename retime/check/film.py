"""The film as the second reader sees it: every scan once, framed as the map says, made small."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from msgspec import Struct

from retime.check.scan_parts import parts_of
from retime.check.spool import HEIGHT, WIDTH, Spool
from retime.light.raster import Framing, Rectangle
from retime.picture.fitting import fitting_of
from retime.second.pictures import Fields, View, look

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

    from retime.check.spool import Small
    from retime.edition.edition import Edition, Making
    from retime.edition.scans import ReelScan
    from retime.speedmap.sifting import Sifting

__all__ = ["Film", "Filmed", "placed_in", "taken_of"]


def taken_of(making: Making, scan: ReelScan) -> Rectangle | None:
    """Return what of a framed scan a deliverable shows; None for all of it."""
    if scan.picture is None or making.picture is None:
        return None
    fitting = fitting_of(scan.picture, making.picture)
    return None if fitting is None else fitting.taken


def placed_in(making: Making) -> Rectangle | None:
    """Return where in a deliverable's raster its scans stand; None for all of it."""
    for scan in making.scans:
        if scan.picture is not None and making.picture is not None:
            fitting = fitting_of(scan.picture, making.picture)
            if fitting is not None:
                return fitting.placed
    return None


class Filmed(Struct, frozen=True, eq=False):
    """A reel's small pictures; ``places`` says where in the spool each frame's is.

    Where fields are kept, a frame has two, the upper one first. Film frames that are sifted from a
    transfer are found by ``sifting``.
    """

    spool: Spool
    places: Mapping[int, int]
    fields: bool
    sifting: Sifting | None = None

    def picture(self, frame: int, field: int | None) -> Small | None:
        """Return a small picture: a field's (0 the upper one), or a whole frame's; None if none."""
        if self.fields and field is None:
            upper, lower = self.picture(frame, 0), self.picture(frame, 1)
            return None if upper is None or lower is None else (upper + lower) / np.float32(2)
        place = self._place(frame, field)
        return None if place is None else self.spool.picture(place)

    def digest(self, frame: int, field: int | None) -> bytes | None:
        """Return the digest of a frame, or of a field; None if there is none."""
        if self.fields and field is None:
            return None
        place = self._place(frame, field)
        return None if place is None else self.spool.digest(place)

    def _place(self, frame: int, field: int | None) -> int | None:
        held = (frame, frame)
        if self.sifting is not None:
            if not 0 <= frame < len(self.sifting.names):
                return None
            held = self.sifting.whole(frame)
        place = self.places.get(held[field or 0])
        if place is None:
            return None
        return 2 * place + (field or 0) if self.fields else place


class Film:
    """The scans of an edition, read when they are first asked for."""

    def __init__(self, edition: Edition, seen: Callable[[], None] | None = None) -> None:
        """Prepare to read; ``seen`` is called after each picture that is read."""
        self.edition = edition
        self._scans = {scan.reel.name: scan for scan in edition.scans}
        self._seen = seen
        self._reels: dict[tuple[str, Rectangle | None, bool], Filmed] = {}

    def reel(self, name: str, taken: Rectangle | None, *, fields: bool) -> Filmed:
        """Return a reel, of which ``taken`` is shown, as whole pictures or as fields.

        Raises ScanError where the second reader cannot read the scan.
        """
        key = (name, taken, fields)
        if key not in self._reels:
            self._reels[key] = self._read(self._scans[name], taken, fields=fields)
        return self._reels[key]

    def _read(self, scan: ReelScan, taken: Rectangle | None, *, fields: bool) -> Filmed:
        framing = scan.reel.framing or Framing()
        sifting = scan.sifting
        fields = fields or (sifting is not None and bool(sifting.woven))
        view = View(
            width=WIDTH,
            height=HEIGHT,
            area=framing.area,
            rotate=framing.rotate,
            flip=framing.flip,
            cut=taken,
            fields=Fields.TOP if fields else Fields.WHOLE,
            digests=True,
        )
        spool = Spool()
        places: dict[int, int] = {}
        for source, first, count, frame in parts_of(scan):
            places |= {frame + at: len(places) + at for at in range(count)}
            for picture, digest in look(source, view, first=first, count=count):
                spool.add(picture, digest)
                if self._seen is not None:
                    self._seen()
        return Filmed(spool, places, fields, sifting)
