"""A side of a comparison: its edition, and which files its map means.

Addresses are read from each map's own folder. What both maps write alike is one file as long as
nothing speaks against it: a map is often compared with an older copy of it in another folder, and
there the scans are copies of the same, or away.
"""

from __future__ import annotations

import os
from pathlib import Path
from typing import TYPE_CHECKING

from retime.report.differences import Meant
from retime.speedmap.assembly import Still

if TYPE_CHECKING:
    from collections.abc import Hashable, Iterator

    from retime.edition.edition import Edition
    from retime.speedmap.assembly import Plate
    from retime.speedmap.model import SpeedMap

__all__ = ["Side", "sides_of"]


def sides_of(left: Edition, right: Edition) -> tuple[Side, Side]:
    """Return both sides, whose files can be compared."""
    return Side(left), Side(right, left.speed_map)


class Side:
    """An edition whose files can be compared with those of an ``other`` map."""

    def __init__(self, edition: Edition, other: SpeedMap | None = None) -> None:
        """Take an edition, and the other side's map unless that side was made before."""
        self.edition = edition
        self._folder = edition.speed_map.folder
        self._other = None if other is None else other.folder
        self._shared = frozenset() if other is None else frozenset(_addresses(other))
        self._files: dict[str, Meant] = {}
        self._reels: dict[Hashable, str] = {}
        for reel in edition.speed_map.reels:
            self._reels.setdefault(self.file(reel.scan).key, reel.name)

    def file(self, address: str) -> Meant:
        """Return the file of an address."""
        if address not in self._files:
            here = key = os.path.realpath(self._folder / address)
            if self._other is not None and address in self._shared:
                there = os.path.realpath(self._other / address)
                key = here if _known_to_differ(here, there) else there
            self._files[address] = Meant(key, address, here)
        return self._files[address]

    def scan(self, name: str) -> Hashable:
        """Return what film of that scan is known by: the film's reel, or else the file."""
        if any(reel.name == name for reel in self.edition.speed_map.reels):
            return name
        file = self.file(self.edition.speed_map.reel(name).scan)
        return self._reels.get(file.key, file)

    def plate(self, plate: Plate | None) -> Hashable:
        """Return what a plate is known by."""
        return None if plate is None else (self.file(plate.address), plate.frame)

    def told(self, reel: str, frame: int) -> int:
        """Return the number by which a film frame is told."""
        scans = self.edition.scans
        return next((scan.told(frame) for scan in scans if scan.reel.name == reel), frame)


def _addresses(speed_map: SpeedMap) -> Iterator[str | None]:
    """Yield the addresses that a map writes."""
    for reel in (*speed_map.reels, *speed_map.others):
        yield reel.scan
        yield reel.baked.text if reel.baked else None
    for version in speed_map.versions.values():
        if version.assembly is None:
            continue
        yield from (one.plate.address for one in version.assembly.replace.values())
        for inset in version.assembly.insert:
            yield inset.shows.plate.address if isinstance(inset.shows, Still) else None
    for one in speed_map.deliverables.values():
        yield from (sound.file for sound in one.sound)
        yield from (cues.file for cues in one.subtitles)
        yield from (leader.still or leader.movie for leader in (*one.head, *one.tail))


def _known_to_differ(one: str, other: str) -> bool:
    sizes = _size(one), _size(other)
    return None not in sizes and sizes[0] != sizes[1]


def _size(path: str) -> int | None:
    try:
        return Path(path).stat().st_size if Path(path).is_file() else None
    except (OSError, ValueError):
        return None
