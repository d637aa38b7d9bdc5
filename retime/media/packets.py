"""Coded pictures out of a movie, unopened; read ahead in a thread so that copying is not slowed.

FFmpeg's own copying reads and writes in turn; from Python each of the two would wait for the
other. A thread that reads ahead, within a bound in bytes, hides the one behind the other.
"""

from __future__ import annotations

from collections import deque
from threading import Condition, Thread
from typing import TYPE_CHECKING

from retime.errors import ScanError
from retime.media.decoding import damaged
from retime.media.demuxing import frame_packets
from retime.media.ffv1 import parse_config
from retime.media.ffv1slices import has_slice_checksums, sound_slices

if TYPE_CHECKING:
    from collections.abc import Generator, Iterator

    from av.packet import Packet
    from av.video.stream import VideoStream

    from retime.media.facts import ScanFacts

__all__ = ["READ_AHEAD", "read_packets"]

READ_AHEAD = 32_000_000
"""How many bytes of packets may wait to be taken; as many again may be in the taker's hands."""


def read_packets(
    facts: ScanFacts, first: int, last: int, *, count: int | None = None
) -> Generator[Packet[VideoStream]]:
    """Yield the packets of frames ``first`` to ``last``, inclusive, of an intra-only movie.

    With ``count``, how many frames the scan is said to hold, a file that goes on after them is
    an error too. Raises ScanError at a packet that is no key frame or whose FFV1 slices differ
    from their checksums, and where the file ends before ``last``. The file is read in a thread
    of its own, which ends with the iterator.
    """
    ahead = _ReadAhead(_sound_packets(facts, first, last, count))
    try:
        yield from ahead.taken()
    finally:
        ahead.stop()


def _sound_packets(
    facts: ScanFacts, first: int, last: int, count: int | None
) -> Generator[Packet[VideoStream]]:
    path = facts.path
    checked = facts.codec == "ffv1" and has_slice_checksums(parse_config(facts.extradata))
    for position, packet in enumerate(frame_packets(path, first, last, count), first):
        if not packet.is_keyframe or packet.is_corrupt:
            raise ScanError(path, f"frame {position} does not stand alone, or is damaged")
        if checked and not sound_slices(bytes(packet)):
            raise damaged(path, position, "a slice does not match its checksum")
        yield packet


class _ReadAhead:
    """Runs an iterator of packets in a thread, a bounded number of bytes ahead."""

    def __init__(self, source: Generator[Packet[VideoStream]]) -> None:
        self._source = source
        self._changed = Condition()
        self._ready: deque[Packet[VideoStream]] = deque()
        self._bytes = 0
        self._ended = False
        self._stopped = False
        self._failure: BaseException | None = None
        # A daemon, so that not even an iterator that nobody closes keeps the program from ending.
        self._thread = Thread(target=self._read, name="read-ahead", daemon=True)
        self._thread.start()

    def _read(self) -> None:
        try:
            for packet in self._source:
                size = packet.size
                with self._changed:
                    while self._bytes >= READ_AHEAD and not self._stopped:
                        self._changed.wait()
                    if self._stopped:
                        return
                    self._bytes += size
                    self._ready.append(packet)
                    self._changed.notify()
        except BaseException as failure:  # noqa: BLE001 - carried over and raised where it is read
            self._failure = failure
        finally:
            self._source.close()
            with self._changed:
                self._ended = True
                self._changed.notify()

    def taken(self) -> Iterator[Packet[VideoStream]]:
        """Yield the packets in order; raise what the thread raised, at its place."""
        while batch := self._batch():
            yield from batch
        if self._failure is not None:
            raise self._failure

    def _batch(self) -> deque[Packet[VideoStream]]:
        """Wait for packets and return all that are ready; empty when there will be no more."""
        with self._changed:
            while not self._ready and not self._ended:
                self._changed.wait()
            batch, self._ready, self._bytes = self._ready, deque(), 0
            self._changed.notify()
            return batch

    def stop(self) -> None:
        """End the thread, whether it has read everything or not."""
        with self._changed:
            self._stopped = True
            self._changed.notify()
        self._thread.join()
