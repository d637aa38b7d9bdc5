"""Counts a Matroska file's frames by its block headers, without reading the pictures.

Measured against demuxing: 60 times faster at 1 MB a frame, and more at more.

Element layout: RFC 8794 (EBML). Element names, block headers and key flags: RFC 9559 (Matroska).
"""

from __future__ import annotations

import os
from contextlib import suppress
from typing import TYPE_CHECKING

from msgspec import Struct

from retime.errors import ScanError
from retime.media.bridge import check_file, reading

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

__all__ = ["BlockCount", "block_times", "count_blocks"]

_EBML, _SEGMENT, _CLUSTER = 0x1A45DFA3, 0x18538067, 0x1F43B675
_TRACKS, _TRACK_ENTRY, _TRACK_NUMBER, _TRACK_TYPE = 0x1654AE6B, 0xAE, 0xD7, 0x83
_SIMPLE_BLOCK, _BLOCK_GROUP, _BLOCK, _REFERENCE_BLOCK = 0xA3, 0xA0, 0xA1, 0xFB
_VOID, _CRC = 0xEC, 0xBF
# What a segment holds; SeekHead, Info, Cues, Attachments, Chapters and Tags do not count.
_NOT_COUNTED = {0x114D9B74, 0x1549A966, 0x1C53BB6B, 0x1941A469, 0x1043A770, 0x1254C367}
_IN_SEGMENT = {_CLUSTER, _TRACKS} | _NOT_COUNTED
_TIMESTAMP = 0xE7  # of a cluster
# Position, PrevSize, SilentTracks, EncryptedBlock.
_IN_CLUSTERS = {0xA7, 0xAB, 0x5854, 0xAF}
_VIDEO = 1  # TrackType
_KEY, _LACING = 0x80, 0x06  # flags in a block's header; the first in a SimpleBlock alone
_HEAD = 32  # the longest element head and block header together
_WINDOW = 4096
_LARGEST_TRACKS = 1 << 24
_LONGEST_NUMBER = 8  # bytes: RFC 8794, section 7.2


class BlockCount(Struct, frozen=True, kw_only=True):
    """How many frames the video track holds, and how many of them are key frames."""

    frames: int
    key_frames: int


def count_blocks(path: Path) -> BlockCount:
    """Walk a Matroska file and count its one video track's frames.

    Raises ScanError with the byte where the file ends too early or makes no sense.
    """
    size = check_file(path).st_size
    with reading(path), path.open("rb", buffering=0) as file:
        return _Walk(path, file.fileno(), size).count()


def block_times(path: Path, count: int) -> list[int] | None:
    """Return the times of the first ``count`` frames of the one video track, fewer if it has fewer.

    They are in the file's own unit, and None where several frames stand in one block. Raises
    ScanError as ``count_blocks``.
    """
    size = check_file(path).st_size
    with reading(path), path.open("rb", buffering=0) as file:
        return _TimedWalk(path, file.fileno(), size).times(count)


class _Walk:
    """One walk through one file."""

    def __init__(self, path: Path, handle: int, size: int) -> None:
        self._path = path
        self._handle = handle
        self._size = size
        self._window = b""
        self._window_at = 0
        self._frames: dict[int, int] = {}
        self._keys: dict[int, int] = {}
        self._video: int | None = None
        self._cluster_time = 0

    def count(self) -> BlockCount:
        ident, body, end = self._element(0, self._size)
        if ident != _EBML:
            raise self._damaged(0, "is no Matroska file")
        ident, body, end = self._element(end, self._size)
        while ident in {_VOID, _CRC}:
            ident, body, end = self._element(end, self._size)
        if ident != _SEGMENT:
            raise self._damaged(body, "has no segment where one should be")
        video = self._walk_segment(body, end)
        return BlockCount(frames=self._frames.get(video, 0), key_frames=self._keys.get(video, 0))

    def _walk_segment(self, at: int, segment_end: int) -> int:
        """Count every track's blocks and return the video track's number.

        Clusters and what stands beside them are walked in one loop: a cluster of unknown size
        ends where something begins that stands in no cluster.
        """
        limit = segment_end
        in_cluster = False
        while at < segment_end:
            if at == limit:
                limit, in_cluster = segment_end, False
            place = at
            ident, body, at = self._element(at, limit)
            if ident in _IN_SEGMENT and (not in_cluster or limit == segment_end):
                in_cluster = ident == _CLUSTER
                if in_cluster:
                    limit, at = at, body
                elif ident == _TRACKS:
                    self._video = self._video_track(body, at)
            elif ident == _SIMPLE_BLOCK and in_cluster:
                self._count_block(body, at, simple=True)
            elif ident == _BLOCK_GROUP and in_cluster:
                self._count_group(body, at)
            elif ident == _TIMESTAMP and in_cluster:
                self._cluster_time = self._value((body, at))
            else:
                self._check_idle(place, ident, in_cluster=in_cluster)
        if self._video is None:
            raise ScanError(self._path, "holds no list of tracks")
        return self._video

    def _check_idle(self, place: int, ident: int, *, in_cluster: bool) -> None:
        """Raise ScanError for what is not known where it stands."""
        if not (ident in {_VOID, _CRC} or (ident in _IN_CLUSTERS and in_cluster)):
            raise self._damaged(place, "holds nothing that Matroska knows there")

    def _count_block(self, body: int, end: int, *, simple: bool, key: bool = False) -> None:
        """Add one block's frames to its track's."""
        head = self._bytes(body, _HEAD)
        track, used = _coded_number(head)
        if not used or body + used + 3 > end:
            raise self._damaged(body, "has a block too short for its header")
        flags = head[used + 2]
        frames = head[used + 3] + 1 if flags & _LACING else 1
        self._frames[track] = self._frames.get(track, 0) + frames
        if key or (simple and flags & _KEY):
            self._keys[track] = self._keys.get(track, 0) + frames

    def _count_group(self, body: int, end: int) -> None:
        """Count a BlockGroup, whose block is a key frame if it refers to no other."""
        children = dict(self._children(body, end))
        if _BLOCK not in children:
            raise self._damaged(body, "has a block group without a block")
        key = _REFERENCE_BLOCK not in children
        self._count_block(*children[_BLOCK], simple=False, key=key)

    def _video_track(self, body: int, end: int) -> int:
        """Return the number of the one video track."""
        if end - body > _LARGEST_TRACKS:
            raise self._damaged(body, "has a list of tracks too long to be one")
        found = []
        for ident, (start, stop) in self._children(body, end):
            if ident != _TRACK_ENTRY:
                continue
            fields = dict(self._children(start, stop))
            if _TRACK_NUMBER in fields and self._value(fields.get(_TRACK_TYPE)) == _VIDEO:
                found.append(self._value(fields[_TRACK_NUMBER]))
        if len(found) != 1:
            raise ScanError(self._path, f"holds {len(found)} video tracks", "a scan holds one")
        return found[0]

    def _children(self, at: int, end: int) -> Iterator[tuple[int, tuple[int, int]]]:
        """Yield the elements of a stretch: name, and where its body starts and stops."""
        while at < end:
            ident, body, at = self._element(at, end)
            yield ident, (body, at)

    def _value(self, place: tuple[int, int] | None) -> int:
        """Return an unsigned integer element's value, 0 for none."""
        if place is None:
            return 0
        begin, end = place
        if end - begin > _LONGEST_NUMBER:
            raise self._damaged(begin, "has a number of more than eight bytes")
        return int.from_bytes(self._bytes(begin, end - begin), "big")

    def _element(self, at: int, limit: int) -> tuple[int, int, int]:
        """Return an element's name, where its body starts, and where it stops.

        A segment or cluster of unknown size stops at ``limit``, as far as can be told.
        """
        head = self._bytes(at, _HEAD)
        width = 9 - head[0].bit_length() if head and head[0] else 0
        if not 1 <= width <= 4:  # noqa: PLR2004 - RFC 9559: names are of one to four bytes
            raise self._damaged(at, "holds nothing that Matroska knows there")
        ident = int.from_bytes(head[:width], "big")
        size, used = _coded_number(head[width:])
        if not used:
            raise self._damaged(at, "breaks off in an element's head")
        body = at + width + used
        if size == (1 << (7 * used)) - 1:  # all ones: unknown
            if ident not in {_SEGMENT, _CLUSTER}:
                raise self._damaged(at, "has an element of unknown size that may not be so")
            return ident, body, limit
        if body + size > self._size:
            raise self._damaged(
                at,
                f"has an element that needs {body + size - self._size} bytes more than there are",
            )
        if body + size > limit:
            raise self._damaged(at, "has an element that reaches out of the one around it")
        return ident, body, body + size

    def _bytes(self, at: int, count: int) -> bytes:
        """Return ``count`` bytes from a place in the file, fewer at its end."""
        start = at - self._window_at
        if start < 0 or start + count > len(self._window):
            self._window = os.pread(self._handle, max(_WINDOW, count), at)
            self._window_at, start = at, 0
        return self._window[start : start + count]

    def _damaged(self, at: int, text: str) -> ScanError:
        return ScanError(self._path, f"{text}, at byte {at}", "the file is damaged or truncated")


class _Enough(Exception):  # noqa: N818 - it is no error: all that was asked for is known
    """The walk need not go on."""


class _TimedWalk(_Walk):
    """A walk that notes when the video track's frames are, and ends when it knows enough."""

    def times(self, count: int) -> list[int] | None:
        self._times: list[int] = []
        self._wanted = count
        self._laced = False
        with suppress(_Enough):
            self.count()
        return None if self._laced else self._times

    def _count_block(self, body: int, end: int, *, simple: bool, key: bool = False) -> None:
        super()._count_block(body, end, simple=simple, key=key)
        head = self._bytes(body, _HEAD)
        track, used = _coded_number(head)
        if track != self._video:
            return
        self._laced = bool(head[used + 2] & _LACING)
        # RFC 9559, 10.1: a signed number of two bytes, counted from the cluster's.
        inside = int.from_bytes(head[used : used + 2], "big", signed=True)
        self._times.append(self._cluster_time + inside)
        if self._laced or len(self._times) == self._wanted:
            raise _Enough


def _coded_number(data: bytes) -> tuple[int, int]:
    """Return a variable-size integer and how many bytes it takes, 0 where it breaks off."""
    width = 9 - data[0].bit_length() if data and data[0] else 0
    if not 0 < width <= len(data):
        return 0, 0
    value = int.from_bytes(data[:width], "big")
    return value & ((1 << (7 * width)) - 1), width
