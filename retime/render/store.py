"""Coded packets kept in a file until they are joined: what a piece of movies leaves behind.

A file holds the packets of one encoder, each once, and for every deliverable that they go into
which of them it shows how often. At its end stands an index, and after that where the index
begins.
"""

from __future__ import annotations

import os
import secrets
from contextlib import suppress
from fractions import Fraction
from typing import TYPE_CHECKING, NamedTuple, cast

import av
import msgspec
import xxhash
from msgspec import Struct

from retime.errors import OutputError
from retime.media.writeback import Writeback
from retime.media.writing import flush_to_disk, writing

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from av.packet import Packet
    from av.video.stream import VideoStream

__all__ = ["Store", "StoreWriter", "file_digest"]

_PLACE = 8  # bytes that say where the index begins
_BLOCK = 1 << 20
_FLUSHED = 16_000_000  # bytes: a worker waits at a piece's end for less than this many


class _Coded(NamedTuple):
    """One packet: where it is, and the times that its encoder gave it."""

    at: int
    size: int
    pts: int
    dts: int
    duration: int
    key: bool
    tick: tuple[int, int]


class _Index(Struct, frozen=True, kw_only=True):
    """``runs`` are, by deliverable, numbers of packets and how often each is shown."""

    header: bytes
    packets: list[_Coded]
    runs: dict[str, list[tuple[int, int]]]


class StoreWriter:
    """A store being written; it has its name once it is complete and on the disk.

    ``digest`` is then that of all that was written.
    """

    def __init__(self, path: Path) -> None:
        """Open the file under a name of its own."""
        self.path = path
        self._work = path.with_name(f".{path.name}.{secrets.token_hex(4)}")
        with writing(path):
            self._file = self._work.open("wb")
        self._writeback = Writeback(self._work, _FLUSHED)
        self._at = 0
        self._seen = xxhash.xxh3_128()
        self.digest = ""
        self._header = b""
        self._packets: list[_Coded] = []
        self._numbers: dict[int, int] = {}
        self._runs: dict[str, list[tuple[int, int]]] = {}

    def begin(self, order: str, header: bytes) -> None:
        """Take one more deliverable; ``header`` is what the encoder tells of its stream."""
        self._header = header
        self._runs[order] = []

    def add(self, order: str, packet: Packet[VideoStream], times: int) -> None:
        """Write a packet, once, and that a deliverable shows it ``times`` times next.

        Packets are told apart by the times that their encoder gave them.
        """
        if packet.pts is None:
            raise TypeError(packet)
        if packet.pts not in self._numbers:
            self._numbers[packet.pts] = len(self._packets)
            self._write(packet, packet.pts)
        self._runs[order].append((self._numbers[packet.pts], times))

    def _write(self, packet: Packet[VideoStream], pts: int) -> None:
        data = memoryview(packet)
        tick = Fraction(packet.time_base or 1)
        self._packets.append(
            _Coded(
                at=self._at,
                size=len(data),
                pts=pts,
                dts=pts if packet.dts is None else packet.dts,
                duration=packet.duration or 0,
                key=packet.is_keyframe,
                tick=(tick.numerator, tick.denominator),
            )
        )
        self._put(data)
        self._at += len(data)

    def _put(self, data: bytes | memoryview) -> None:
        self._seen.update(data)
        with writing(self.path):
            self._file.write(data)
        self._writeback.add(len(data))

    def finish(self) -> None:
        """Write the index, flush it all to disk, and give the file its name."""
        index = _Index(header=self._header, packets=self._packets, runs=self._runs)
        self._put(msgspec.msgpack.encode(index))
        self._put(self._at.to_bytes(_PLACE, "big"))
        self.digest = self._seen.hexdigest()
        self._writeback.stop()
        with writing(self.path):
            self._file.flush()
            os.fsync(self._file.fileno())
            self._file.close()
            self._work.replace(self.path)
            flush_to_disk(self.path.parent)

    def abandon(self) -> None:
        """Let go of the file, and remove it."""
        self._writeback.stop()
        with suppress(OSError):  # a full disk takes not even what was waiting to be written
            self._file.close()
        self._work.unlink(missing_ok=True)


class Store:
    """A complete store, read where it lies."""

    def __init__(self, path: Path) -> None:
        """Open it; raises OutputError for what is no store."""
        self.path = path
        with writing(path, "cannot be read any more"):
            self._file = path.open("rb", buffering=0)
            size = self._file.seek(0, os.SEEK_END)
        try:
            at = int.from_bytes(self._bytes(size - _PLACE, _PLACE), "big")
            index = msgspec.msgpack.decode(self._bytes(at, size - _PLACE - at), type=_Index)
        except (ValueError, msgspec.MsgspecError) as error:
            self._file.close()
            raise OutputError(path, "is no whole piece of a render", "remove it") from error
        self.header = index.header
        self._packets = index.packets
        self._runs = index.runs

    def shown(self, order: str) -> Iterator[tuple[Packet[VideoStream], int]]:
        """Yield a deliverable's packets in order, and how often each is shown."""
        for number, times in self._runs[order]:
            yield self._packet(self._packets[number]), times

    def _packet(self, coded: _Coded) -> Packet[VideoStream]:
        with writing(self.path, "is no whole piece of a render"):
            data = self._bytes(coded.at, coded.size)
        packet = cast("Packet[VideoStream]", av.Packet(data))
        packet.time_base = Fraction(*coded.tick)
        packet.pts, packet.dts, packet.duration = coded.pts, coded.dts, coded.duration
        packet.is_keyframe = coded.key
        return packet

    def _bytes(self, at: int, size: int) -> bytes:
        """Return bytes of the file; mapped into memory all that were read would count as ours."""
        if at < 0 or size < 0:
            raise ValueError(self.path)
        with writing(self.path, "cannot be read any more"):
            found = os.pread(self._file.fileno(), size, at)
        if len(found) != size:
            raise ValueError(self.path)
        return found

    def close(self) -> None:
        """Let go of the file."""
        self._file.close()


def file_digest(path: Path) -> str:
    """Return a digest of all that a file holds; raises OutputError where it cannot be read.

    It tells what a crash or a disk has spoilt, thirty times as fast as one against forgers would.
    """
    digest = xxhash.xxh3_128()
    with writing(path, "cannot be read any more"), path.open("rb", buffering=0) as file:
        while block := file.read(_BLOCK):
            digest.update(block)
    return digest.hexdigest()
