"""Pictures out of packets, each known to be the frame it is taken for, and whole.

FFmpeg conceals damage where it can: an FFV1 slice whose checksum is wrong is filled from the
picture before and only logged. A scan is not to be repaired in silence, so what is logged while
pictures that stand alone are decoded is taken as a hint, and the pictures in question are decoded
once more, one by one, to find the one that is damaged.
"""

from __future__ import annotations

from collections import deque
from itertools import chain
from typing import TYPE_CHECKING

import av
from msgspec import Struct

from retime.errors import ScanError
from retime.media.bridge import LogTail, last_words, quiet_log

if TYPE_CHECKING:
    from collections.abc import Callable, Generator, Iterable, Iterator
    from pathlib import Path

    from av.packet import Packet
    from av.video.codeccontext import VideoCodecContext
    from av.video.stream import VideoStream

    from retime.light.format import PictureFormat

__all__ = ["Coded", "LoneDecoder", "check_picture", "damaged", "decode_in_order"]


_LOGS_DAMAGE_ALONE = {"ffv1"}  # decoders that conceal damage without marking the picture
_MARKED = "the decoder marks the picture as corrupt"
_LOGS_TRIFLES = {"mjpeg"}  # decoders that log errors over what is no picture, such as odd labels


class Coded(Struct, frozen=True, kw_only=True):
    """One coded picture that stands alone: its position in the scan, and the file it is in.

    ``packet`` is None where a file of a sequence is missing.
    """

    position: int
    path: Path
    packet: Packet[VideoStream] | None


class LoneDecoder:
    """Decodes pictures that stand alone, several at once.

    ``make`` gives a new decoder for a number of threads, 0 meaning one a core.
    """

    def __init__(
        self, make: Callable[[int], VideoCodecContext], picture: PictureFormat, threads: int
    ) -> None:
        """Open nothing yet; every picture is to be like ``picture``."""
        self._make = make
        self._picture = picture
        self._context = make(threads)
        self._heeds_log = self._context.name not in _LOGS_TRIFLES
        self._waiting: deque[Coded] = deque()

    def pictures(self, source: Iterable[Coded]) -> Iterator[av.VideoFrame | None]:
        """Yield one picture for each of ``source``, in order, and None for a hole.

        A picture's ``pts`` is its position. Raises ScanError for one that is damaged, missing,
        or of another size or pixel format than the scan's.
        """
        try:
            newest = None
            with quiet_log() as log:
                for coded in source:
                    self._waiting.append(coded)
                    if coded.packet is None:
                        yield from self._holes()
                        continue
                    coded.packet.pts = coded.packet.dts = coded.position
                    yield from self._settle(coded, self._decode(coded, coded.packet, log))
                    newest = coded
                if newest is not None:
                    yield from self._settle(newest, self._decode(newest, None, log))
            if self._waiting:
                raise self._unmatched(self._waiting[0])
        finally:
            self._context.flush_buffers()  # no thread may be left at work: see bridge

    def _decode(
        self, newest: Coded, packet: Packet[VideoStream] | None, log: LogTail
    ) -> list[av.VideoFrame]:
        try:
            frames = self._context.decode(packet)
        except av.FFmpegError as error:
            self._find_damage()
            raise damaged(newest.path, newest.position, last_words(error)) from error
        if log.moved() and self._heeds_log:
            self._find_damage()
        return frames

    def _settle(self, newest: Coded, frames: list[av.VideoFrame]) -> Iterator[av.VideoFrame | None]:
        for frame in frames:
            yield from self._holes()
            coded = self._waiting[0] if self._waiting else newest
            if frame.pts != coded.position or not self._waiting:
                raise self._unmatched(coded)
            check_picture(frame, self._picture, coded.path, coded.position)
            if frame.is_corrupt:
                raise damaged(coded.path, coded.position, _MARKED)
            self._waiting.popleft()
            yield frame
        yield from self._holes()

    def _holes(self) -> Iterator[None]:
        while self._waiting and self._waiting[0].packet is None:
            self._waiting.popleft()
            yield None

    def _unmatched(self, coded: Coded) -> ScanError:
        """Return the error for a coded picture that did not give exactly one picture."""
        self._find_damage()
        return damaged(coded.path, coded.position, "it did not give one picture")

    def _find_damage(self) -> None:
        """Decode what is under way once more, one by one; raise ScanError at the first damage."""
        for coded in self._waiting:
            if coded.packet is None:
                continue
            context = self._make(1)
            with quiet_log() as log:
                try:
                    frames = [*context.decode(coded.packet), *context.decode(None)]
                except av.FFmpegError as error:
                    words = last_words(error)
                    raise damaged(coded.path, coded.position, words) from error
                if (log.last and self._heeds_log) or len(frames) != 1:
                    raise damaged(coded.path, coded.position, log.last)


def decode_in_order(
    packets: Iterable[Packet[VideoStream]],
    context: VideoCodecContext,
    picture: PictureFormat,
    path: Path,
) -> Generator[av.VideoFrame]:
    """Yield the pictures of a whole stream whose pictures may lean on each other, in order.

    Raises ScanError naming the first frame that is damaged, as near as the decoder can say.
    """
    position = 0
    flush: tuple[Packet[VideoStream] | None, ...] = (None,)
    try:
        with quiet_log() as log:
            for packet in chain(packets, flush):
                try:
                    frames = context.decode(packet)
                except av.FFmpegError as error:
                    raise _damaged_near(path, position, last_words(error)) from error
                if log.moved() and context.name in _LOGS_DAMAGE_ALONE:
                    raise _damaged_near(path, position, log.last)
                for frame in frames:
                    check_picture(frame, picture, path, position)
                    if frame.is_corrupt:
                        raise _damaged_near(path, position, _MARKED)
                    yield frame
                    position += 1
    finally:
        context.flush_buffers()


def check_picture(frame: av.VideoFrame, picture: PictureFormat, path: Path, position: int) -> None:
    """Raise ScanError unless a picture is of the scan's raster and pixel format."""
    found = (frame.width, frame.height, frame.format.name)
    wanted = (picture.width, picture.height, picture.pixel_format)
    if found != wanted:
        raise ScanError(
            path,
            f"frame {position} is {found[0]}x{found[1]} {found[2]}, "
            f"and the scan is {wanted[0]}x{wanted[1]} {wanted[2]}",
        )


def damaged(path: Path, position: int, words: str) -> ScanError:
    """Return the error for a frame that cannot be trusted, ``words`` saying how it is known."""
    return ScanError(path, f"frame {position} is damaged", detail=words)


def _damaged_near(path: Path, position: int, words: str) -> ScanError:
    return ScanError(path, f"is damaged near frame {position}", detail=words)
