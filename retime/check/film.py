"""The film as the second reader sees it: every scan once, framed as the map says, made small."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from msgspec import Struct, field

from retime.check.damaged_scan import differing, read_past_damage
from retime.check.scan_parts import parts_of
from retime.check.spool import HEIGHT, WIDTH, Spool
from retime.errors import ScanError
from retime.light.raster import Framing, Rectangle
from retime.media.facts import Form
from retime.picture.fitting import fitting_of
from retime.second.pictures import Fields, View, look

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

    from retime.check.spool import Small
    from retime.edition.edition import Edition, Making
    from retime.edition.scans import ReelScan
    from retime.second.pictures import Seen, Source
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
    transfer are found by ``sifting``. ``damaged`` are frames of the scan that do not decode, with
    what is wrong, ``words`` what the second reader complains of where it cannot be told which
    those are. ``instead`` are frames for which others of the scan are shown, None being black.
    """

    spool: Spool
    places: Mapping[int, int]
    fields: bool
    sifting: Sifting | None = None
    damaged: Mapping[int, str] = field(default_factory=dict)
    words: str = ""
    instead: Mapping[int, int | None] = field(default_factory=dict)

    def lacks(self, frame: int) -> bool:
        """Tell whether it is not known what stands for some of a damaged frame."""
        for held in self._held(frame):
            shown = self.instead.get(held, held)
            there = shown is None or shown in self.places
            if not there and (held in self.damaged or held in self.instead):
                return True
        return False

    def picture(self, frame: int, field: int | None) -> Small | None:
        """Return a small picture: a field's (0 the upper one), or a whole frame's; None if none."""
        if self.fields and field is None:
            upper, lower = self.picture(frame, 0), self.picture(frame, 1)
            return None if upper is None or lower is None else (upper + lower) / np.float32(2)
        held = self._held(frame)
        if held and self.instead.get(held[field or 0], 0) is None:
            return np.zeros(WIDTH * HEIGHT, np.float32)
        place = self._place(frame, field)
        return None if place is None else self.spool.picture(place)

    def digest(self, frame: int, field: int | None) -> bytes | None:
        """Return the digest of a frame, or of a field; None if there is none."""
        if self.fields and field is None:
            return None
        place = self._place(frame, field)
        return None if place is None else self.spool.digest(place)

    def _held(self, frame: int) -> tuple[int, ...]:
        """Return the frames of the scan that hold a film frame's two fields; nothing if none."""
        if self.sifting is None:
            return frame, frame
        return self.sifting.whole(frame) if 0 <= frame < len(self.sifting.names) else ()

    def _place(self, frame: int, field: int | None) -> int | None:
        held = self._held(frame)
        if not held:
            return None
        shown = self.instead.get(held[field or 0], held[field or 0])
        place = None if shown is None else self.places.get(shown)
        return None if place is None else place + (field or 0 if self.fields else 0)


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

    def told_damaged(self, name: str) -> tuple[Mapping[int, str], str]:
        """Return what is known to be damaged of a reel's scan, and what is only complained of."""
        read = next((one for (reel, *_), one in self._reels.items() if reel == name), None)
        return ({}, "") if read is None else (read.damaged, read.words)

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
        reading = _Reading(scan, view, self._seen)
        for source, first, count, frame in parts_of(scan):
            reading.read(source, first, count, frame)
        return Filmed(
            reading.spool, reading.places, fields, sifting, reading.damaged, reading.words
        )


class _Reading:
    """One scan while it is read: a file at a time, past what does not decode of it."""

    def __init__(self, scan: ReelScan, view: View, seen: Callable[[], None] | None) -> None:
        self._view, self._seen = view, seen
        # Of pictures that lean on each other nobody knows which are damaged.
        facts = scan.facts
        self._alone = facts is not None and (facts.intra or facts.form is Form.SEQUENCE)
        self._held = scan.held
        self._times = 1 if view.fields is Fields.WHOLE else 2
        self.spool = Spool()
        self.places: dict[int, int] = {}
        self.damaged: dict[int, str] = {}
        self.words = ""

    def read(self, source: Source, first: int, count: int, frame: int) -> None:
        """Read ``count`` pictures from number ``first`` on, which is that frame of the scan."""
        wanted, by = range(first, first + count), frame - first
        if not self._read_whole(source, wanted, by):
            self._read_past_damage(source, wanted, by)
        self._leave_out(differing(source, wanted), by)

    def _read_whole(self, source: Source, wanted: range, by: int) -> bool:
        """Read what all decodes; tell whether it does."""
        begin, count = self.spool.count, len(wanted)
        try:
            for picture, digest in look(source, self._view, first=wanted.start, count=count):
                self.spool.add(picture, digest)
                if self._seen is not None:
                    self._seen()
        except ScanError:
            if not self._alone:
                raise
            return False
        if self._alone and self.spool.count - begin != self._times * count:
            return False
        self.places |= {number + by: begin + self._times * at for at, number in enumerate(wanted)}
        return True

    def _read_past_damage(self, source: Source, wanted: range, by: int) -> None:
        def keep(number: int, seen: Seen) -> None:
            self.places.setdefault(number + by, self.spool.count)
            self.spool.add(seen.picture, seen.digest)

        read = read_past_damage(source, self._view, wanted, self._held, keep)
        self.words = self.words or read.words
        self._leave_out(read.damaged, by)

    def _leave_out(self, damaged: Mapping[int, str], by: int) -> None:
        for number, words in damaged.items():
            self.damaged.setdefault(number + by, words)
            self.places.pop(number + by, None)
