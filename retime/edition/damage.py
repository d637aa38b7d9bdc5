"""What a deliverable shows in the place of frames of its scans that do not decode.

Whoever renders past damage leaves the list of it beside the deliverable, and whoever checks reads
it there.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from msgspec import Struct

if TYPE_CHECKING:
    from collections.abc import Collection, Iterator
    from pathlib import Path

    from retime.edition.scans import ReelScan
    from retime.plan.plan import Plan

__all__ = [
    "DamageList",
    "OutputRun",
    "Shown",
    "StandIn",
    "film_frames_in",
    "list_path",
    "outputs_showing",
]


class OutputRun(NamedTuple):
    """Output frames of a file in a row, counted from 0, both ends included.

    ``timecode`` is the first one's label, empty where the rate has no labels.
    """

    first: int
    last: int
    timecode: str = ""


class StandIn(Struct, frozen=True, kw_only=True):
    """A film frame of which something does not decode, what is shown instead, and where.

    ``frame`` is the film frame as it is told everywhere, ``scan_frame`` the frame of its scan that
    is damaged, counted from 0; the two differ where fields are joined. ``scan`` is the file that
    holds it, ``wrong`` how it is known to be damaged. ``held`` is the frame of the scan that is
    shown instead, None for black.
    """

    reel: str
    frame: int
    scan: str
    scan_frame: int
    wrong: str
    held: int | None
    outputs: tuple[OutputRun, ...]

    @property
    def key(self) -> tuple[str, int, int]:
        """By what it is told from others: reel, film frame, and frame of the scan."""
        return self.reel, self.frame, self.scan_frame


class DamageList(Struct, frozen=True, kw_only=True):
    """All that stands in for damaged frames in one file, and which file that is."""

    film: str
    version: str
    deliverable: str
    file: str
    map_sha256: str
    damaged: tuple[StandIn, ...]


Shown = tuple[str, int]
"""A reel by its name, and a film frame as the house counts it."""


def list_path(deliverable: Path) -> Path:
    """Return the file beside a deliverable that its list is written to."""
    return deliverable.with_name(f"{deliverable.name}.damage.json")


def film_frames_in(scan: ReelScan, damaged: Collection[int]) -> Iterator[tuple[int, int]]:
    """Yield the film frames that lie in frames of a scan, each with the frame that it lies in.

    ``damaged`` are frames of the scan; a film frame whose fields lie in two comes twice.
    """
    if scan.sifting is None:
        yield from ((frame, frame) for frame in sorted(damaged))
        return
    known = frozenset(damaged)
    for frame in range(len(scan.sifting.names)):
        yield from ((frame, held) for held in sorted(known.intersection(scan.sifting.whole(frame))))


def outputs_showing(
    plan: Plan, wanted: Collection[Shown], outputs: range
) -> dict[Shown, list[tuple[int, int]]]:
    """Return in which runs of ``outputs`` film frames are shown, counted from the first of them.

    An output frame shows a film frame if that, or a field or a share of it, goes into it.
    """
    frames = frozenset(wanted)
    found: dict[Shown, list[tuple[int, int]]] = {}
    stop = 0
    for times, fields in plan.pictures():
        first, stop = stop, stop + times
        begin, end = max(first, outputs.start), min(stop, outputs.stop)
        if begin >= end:
            continue
        for shown in {
            (plan.timeline.reels[part.reel].name, part.frame)
            for look in fields
            for part in look
            if part.reel is not None and part.frame is not None
        } & frames:
            runs = found.setdefault(shown, [])
            run = begin - outputs.start, end - 1 - outputs.start
            if runs and runs[-1][1] + 1 == run[0]:
                run = runs.pop()[0], run[1]
            runs.append(run)
    return found
