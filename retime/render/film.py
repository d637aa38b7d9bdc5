"""A reel's film frames out of its scan: those that are sifted from a transfer, fields joined."""

from __future__ import annotations

from collections import deque
from contextlib import closing
from functools import partial
from typing import TYPE_CHECKING

from retime.media.packets import read_packets
from retime.picture.weave import weave
from retime.render.damage import Damage

if TYPE_CHECKING:
    from collections.abc import Callable, Generator

    from av.packet import Packet
    from av.video.frame import VideoFrame
    from av.video.stream import VideoStream

    from retime.edition.scans import ReelScan
    from retime.media.facts import ScanFacts
    from retime.speedmap.sifting import Sifting

__all__ = ["facts_of", "film_frames", "film_packets"]


def facts_of(scan: ReelScan) -> ScanFacts:
    """Return what is known of a scan's file; scans that are away are not rendered."""
    if scan.facts is None:
        raise TypeError(f"reel {scan.reel.name} has no scan")
    return scan.facts


def film_frames(
    scan: ReelScan, first: int, last: int, *, threads: int = 0, damage: Damage | None = None
) -> Generator[VideoFrame | None]:
    """Yield film frames ``first`` to ``last``, both included; None for a missing file.

    A film frame whose fields are in two scan frames is joined from them. ``threads`` are the
    decoder's, 0 for one a core; ``damage`` stands in for frames that do not decode. Raises as
    ``read_frames``.
    """
    read = partial((damage or Damage()).frames, facts_of(scan), threads=threads, count=scan.held)
    if scan.sifting is None:
        return read(first, last)
    return _sifted_frames(scan.sifting, first, last, read)


def _sifted_frames(
    sifting: Sifting,
    first: int,
    last: int,
    read: Callable[[int, int], Generator[VideoFrame | None]],
) -> Generator[VideoFrame | None]:
    wanted = [sifting.whole(frame) for frame in range(first, last + 1)]
    at, stop = min(map(min, wanted)), max(map(max, wanted))
    kept: deque[tuple[int, VideoFrame | None]] = deque()
    coming = 0
    with closing(read(at, stop)) as frames:
        for place, picture in enumerate(frames, at):
            kept.append((place, picture))
            while coming < len(wanted) and max(wanted[coming]) <= place:
                upper, lower = (_found(kept, one) for one in wanted[coming])
                yield (
                    None if upper is None or lower is None else weave(upper, lower, top_first=True)
                )
                coming += 1
            oldest = min(wanted[coming]) if coming < len(wanted) else place + 1
            while kept and kept[0][0] < oldest:
                kept.popleft()


def _found(kept: deque[tuple[int, VideoFrame | None]], place: int) -> VideoFrame | None:
    return kept[place - kept[0][0]][1]


def film_packets(scan: ReelScan, first: int, last: int) -> Generator[Packet[VideoStream]]:
    """Yield the coded pictures of film frames, none of them woven. Raises as ``read_packets``."""
    facts = facts_of(scan)
    if scan.sifting is None:
        yield from read_packets(facts, first, last, count=scan.held)
        return
    names = iter(range(first, last + 1))
    wanted = scan.told(next(names))
    for place, packet in enumerate(
        read_packets(facts, wanted, scan.told(last), count=scan.held), wanted
    ):
        if place == wanted:
            yield packet
            wanted = scan.told(next(names, last))
