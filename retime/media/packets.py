"""Coded pictures out of a movie, unopened; read ahead in a thread so that copying is not slowed.

FFmpeg's own copying reads and writes in turn; from Python each of the two would wait for the
other. A thread that reads ahead, within a bound in bytes, hides the one behind the other.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from retime.errors import ScanError
from retime.media.ahead import read_ahead
from retime.media.decoding import damaged
from retime.media.demuxing import frame_packets
from retime.media.ffv1 import parse_config
from retime.media.ffv1slices import has_slice_checksums, sound_slices

if TYPE_CHECKING:
    from collections.abc import Generator

    from av.packet import Packet
    from av.video.stream import VideoStream

    from retime.media.facts import ScanFacts

__all__ = ["READ_AHEAD", "read_packets"]

READ_AHEAD = 32_000_000
"""How many bytes of packets may wait to be taken."""


def read_packets(
    facts: ScanFacts, first: int, last: int, *, count: int | None = None
) -> Generator[Packet[VideoStream]]:
    """Yield the packets of frames ``first`` to ``last``, inclusive, of an intra-only movie.

    With ``count``, how many frames the scan is said to hold, a file that goes on after them is
    an error too. Raises ScanError at a packet that is no key frame or whose FFV1 slices differ
    from their checksums, and where the file ends before ``last``. The file is read in a thread
    of its own, which ends with the iterator.
    """
    packets = _sound_packets(facts, first, last, count)
    yield from read_ahead(packets, lambda packet: packet.size, READ_AHEAD)


def _sound_packets(
    facts: ScanFacts, first: int, last: int, count: int | None
) -> Generator[Packet[VideoStream]]:
    path = facts.path
    checked = facts.codec == "ffv1" and has_slice_checksums(parse_config(facts.extradata))
    for position, packet in enumerate(frame_packets(path, first, last, count), first):
        if not packet.is_keyframe or packet.is_corrupt:
            raise ScanError(path, f"frame {position} does not stand alone, or is damaged")
        if checked and not sound_slices(memoryview(packet)):
            raise damaged(path, position, "a slice does not match its checksum")
        yield packet
