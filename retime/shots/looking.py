"""A scan looked at once from end to end, in small pictures; some are kept to be shown."""

from __future__ import annotations

from typing import TYPE_CHECKING, Protocol

import numpy as np
from av.video.reformatter import Interpolation, VideoReformatter
from msgspec import Struct

from retime.errors import ScanError
from retime.media.ahead import read_ahead
from retime.media.count import frame_count
from retime.media.countcache import users_cache
from retime.media.facts import Form
from retime.media.probe import probe
from retime.media.reader import read_frames
from retime.media.sequence import list_sequence
from retime.shots.finding import find_shots
from retime.shots.keeping import Kept
from retime.shots.measures import Eye

if TYPE_CHECKING:
    from collections.abc import Generator
    from pathlib import Path

    from numpy.typing import NDArray

    from retime.media.facts import ScanFacts
    from retime.shots.found import ScanShots

__all__ = ["COLUMNS", "ROWS", "Listener", "Looked", "Scan", "look_at", "scan_at"]

COLUMNS, ROWS = 192, 144
"""The size of the small pictures, whatever the shape of the scan's own."""

_AHEAD = 64 * COLUMNS * ROWS  # bytes of small pictures


class Listener(Protocol):
    """Is told how far the looking is."""

    def start(self, pictures: int, note: str) -> None:
        """Take how many pictures there will be."""

    def advance(self, pictures: int) -> None:
        """Take how many more have gone by."""

    def finish(self) -> None:
        """Take that all have."""


class Scan(Struct, frozen=True, kw_only=True):
    """A scan by its headers, how many frames it holds, and how many of them have no file."""

    facts: ScanFacts
    frames: int
    missing: int

    @property
    def path(self) -> Path:
        """The movie, or the pattern of numbered files."""
        return self.facts.path


class Looked(Struct, frozen=True, kw_only=True):
    """What was found in a scan, and a picture (rows, columns) to show for each of its shots."""

    scan: Scan
    found: ScanShots
    pictures: tuple[NDArray[np.uint8], ...]


def scan_at(path: Path) -> Scan:
    """Return what a scan's headers say, counted; raises ScanError for what is no scan."""
    facts = probe(path)
    frames = frame_count(facts, cache=users_cache())
    if frames < 1:
        raise ScanError(path, "holds no frames")
    missing = 0
    if facts.form is Form.SEQUENCE:
        missing = sum(hole.count for hole in list_sequence(path).holes)
    return Scan(facts=facts, frames=frames, missing=missing)


def look_at(scan: Scan, listener: Listener) -> Looked:
    """Return the shots of a scan; raises ScanError where a frame cannot be read."""
    eye, kept = Eye(), Kept()
    for number, small in enumerate(read_ahead(_small(scan), lambda one: one.nbytes, _AHEAD)):
        tiny = eye.see(small)
        kept.offer(number, small, tiny)
        listener.advance(1)
    found = find_shots(eye.measures())
    pictures = tuple(kept.nearest(shot.first, shot.last) for shot in found.shots)
    return Looked(scan=scan, found=found, pictures=pictures)


def _small(scan: Scan) -> Generator[NDArray[np.uint8]]:
    """Yield a scan's pictures made small; for a missing file the one before it once more."""
    scaler = VideoReformatter()
    before: NDArray[np.uint8] = np.zeros((ROWS, COLUMNS), np.uint8)
    for frame in read_frames(scan.facts, 0, scan.frames - 1, count=scan.frames):
        if frame is not None:
            small = scaler.reformat(
                frame, width=COLUMNS, height=ROWS, format="gray", interpolation=Interpolation.AREA
            )
            before = np.asarray(small.to_ndarray(), np.uint8)
        yield before
