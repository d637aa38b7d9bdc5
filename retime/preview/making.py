"""Makes a preview's files: each film frame is decoded once, for all that shows it."""

from __future__ import annotations

import os
from collections import deque
from concurrent.futures import ThreadPoolExecutor, wait
from contextlib import ExitStack, closing, contextmanager
from threading import Event
from typing import TYPE_CHECKING, NamedTuple, TypeVar

from av.video.frame import VideoFrame
from msgspec import Struct

from retime.errors import CommandError, ScanError
from retime.interrupts import uninterrupted
from retime.light.transfer import Transfer, from_tag
from retime.media.ahead import read_ahead
from retime.preview.clips import ClipMaker
from retime.preview.flashing import (
    HIGH_RANGE,
    Flashing,
    blocks_in,
    flashes_in,
    flashing_of,
    not_run,
)
from retime.preview.pictures import JpegWriter, Shrinker, delivered_format, narrowed, shown_size
from retime.preview.seeking import frames_of

if TYPE_CHECKING:
    from collections.abc import Generator, Iterator, Sequence
    from concurrent.futures import Future
    from pathlib import Path

    from retime.check.flash_blocks import Codes
    from retime.edition.scans import ReelScan
    from retime.film.speed import Speed
    from retime.preview.deliveries import Delivery
    from retime.preview.excerpt import Excerpt
    from retime.preview.pictures import Coded
    from retime.preview.subject import Subject
    from retime.render.progress import Progress

__all__ = ["Made", "Work", "delivered_name", "make", "picture_name", "to_be_made"]

_AHEAD = 3
"""How many pictures are decoded before they are wanted."""
_LOOK = 0.2  # seconds for which a wait may hold an interrupt back
_T = TypeVar("_T")
_WAITING = 24
"""How many small pictures wait to be coded."""
_MOST_BYTES = 600_000_000
"""What the pictures of an excerpt may take in memory."""


class Work(Struct, frozen=True, kw_only=True):
    """What is to be made; ``width`` is the most that a picture is wide."""

    subject: Subject
    excerpts: Sequence[Excerpt]
    deliveries: Sequence[Delivery]
    fastest: Speed
    width: int


class Made(Struct, frozen=True, kw_only=True):
    """The files that were made, with their sizes, those of each excerpt's pictures, and flashes."""

    files: dict[str, int]
    sizes: dict[str, tuple[int, int]]
    flashing: Flashing


class _Small(NamedTuple):
    """One film frame: its codes as delivered, its blocks for the flash check, its file's size."""

    coded: Coded
    blocks: Codes
    bytes: int


def to_be_made(work: Work) -> int:
    """Return how many pictures are read and written in all."""
    rendered = sum(one.showing.frames for one in work.deliveries)
    return sum(one.frames for one in work.excerpts) + rendered


def picture_name(excerpt: Excerpt, number: int) -> str:
    """Return the name of an excerpt's picture, within the folder."""
    return f"pictures/{excerpt.key}/{number:05}.jpg"


def delivered_name(delivery: Delivery) -> str:
    """Return the name of a delivered excerpt, within the folder."""
    return f"delivered/{delivery.name}"


def make(work: Work, folder: Path, progress: Progress) -> Made:
    """Make every file in a folder that is there and empty.

    Raises CommandError where an excerpt is more than memory holds, ScanError, OutputError, or what
    the user's interrupt raised, once nothing is at work any more.
    """
    with _pools() as pools:
        return _Making(work, folder, progress, pools).made()


class _Pools(NamedTuple):
    """Threads that make pictures and those that make movies; ``stopped`` tells them to stop."""

    pictures: ThreadPoolExecutor
    movies: ThreadPoolExecutor
    stopped: Event


@contextmanager
def _pools() -> Iterator[_Pools]:
    workers = os.cpu_count() or 1
    stopped = Event()
    pools = _Pools(ThreadPoolExecutor(workers), ThreadPoolExecutor(workers), stopped)
    try:
        yield pools
    finally:
        stopped.set()
        for pool in (pools.pictures, pools.movies):
            pool.shutdown(wait=True, cancel_futures=True)


class _Making:
    """The work on one preview."""

    def __init__(self, work: Work, folder: Path, progress: Progress, pools: _Pools) -> None:
        self._work, self._folder, self._progress, self._pools = work, folder, progress, pools
        self._files: dict[str, int] = {}
        self._sizes = {excerpt.key: self._sized(excerpt) for excerpt in work.excerpts}
        self._failing: list[str] = []
        self._rendering: deque[list[tuple[Delivery, Future[int]]]] = deque()

    def made(self) -> Made:
        """Make it all."""
        (self._folder / "delivered").mkdir()
        for excerpt in self._work.excerpts:
            self._excerpt(excerpt)
            while len(self._rendering) > 1:
                self._rendered()
        while self._rendering:
            self._rendered()
        return Made(files=self._files, sizes=self._sizes, flashing=self._flashing())

    def _excerpt(self, excerpt: Excerpt) -> None:
        """Read an excerpt, and have what is rendered of it begun."""
        scan, size = self._scan(excerpt), self._sizes[excerpt.key]
        (self._folder / picture_name(excerpt, 0)).parent.mkdir(parents=True)
        small = self._read(excerpt, scan, size)
        maker = ClipMaker(delivered_format(size), self._transfer(scan), self._pools.stopped)
        pictures = [one.coded for one in small]
        with uninterrupted():
            self._rendering.append(
                [
                    (one, self._pools.movies.submit(self._render, maker, one, pictures))
                    for one in self._work.deliveries
                    if one.excerpt.key == excerpt.key
                ]
            )
        if not _of_high_range(scan) and flashes_in(
            [one.blocks for one in small], delivered_format(size), self._work.fastest
        ):
            self._failing.append(excerpt.title)

    def _sized(self, excerpt: Excerpt) -> tuple[int, int]:
        """Return the size at which an excerpt is shown; CommandError where memory is too small."""
        picture = self._scan(excerpt).picture
        if picture is None:
            raise TypeError(f"reel {excerpt.reel} has no scan")
        width, height = shown_size(picture, self._work.width)
        if excerpt.frames * width * height * 3 // 2 > _MOST_BYTES:
            raise CommandError(
                f"{excerpt.frames} pictures of {width}x{height} are too many to be kept in memory",
                "say less with --seconds or --width",
            )
        return width, height

    def _scan(self, excerpt: Excerpt) -> ReelScan:
        scan = self._work.subject.scan_named(excerpt.reel)
        if scan is None:
            raise TypeError(f"there is no reel {excerpt.reel}")
        return scan

    def _read(self, excerpt: Excerpt, scan: ReelScan, size: tuple[int, int]) -> list[_Small]:
        """Decode an excerpt and write its pictures; a missing file's is that before it."""
        shrinker = Shrinker(scan, size)
        writer = JpegWriter(shrinker.made)
        waiting: deque[Future[_Small]] = deque()
        done: list[_Small] = []
        with ExitStack() as open_ones:
            frames = read_ahead(_shrunk(scan, excerpt, shrinker), lambda _: 1, _AHEAD)
            open_ones.enter_context(closing(frames))
            for number, frame in enumerate(frames):
                path = self._folder / picture_name(excerpt, number)
                with uninterrupted():
                    begun = self._pools.pictures.submit(_small, writer, frame, path)
                waiting.append(begun)
                if len(waiting) > _WAITING:
                    done.append(_result(waiting.popleft()))
                self._progress.advance(1)
        done += map(_result, waiting)
        for number, one in enumerate(done):
            self._files[picture_name(excerpt, number)] = one.bytes
        return done

    def _render(self, maker: ClipMaker, delivery: Delivery, pictures: Sequence[Coded]) -> int:
        path = self._folder / delivered_name(delivery)
        return maker.make(path, pictures, delivery.showing.runs, delivery.rate)

    def _rendered(self) -> None:
        """Wait for what is rendered of the oldest excerpt that is under way."""
        for delivery, rendering in self._rendering.popleft():
            self._files[delivered_name(delivery)] = _result(rendering)
            self._progress.advance(delivery.showing.frames)

    def _transfer(self, scan: ReelScan) -> Transfer:
        """Return the curve that pictures are mixed by: a screen's, where nothing says another."""
        tag = None if scan.picture is None else from_tag(scan.picture.transfer)
        return self._work.subject.transfer or tag or Transfer.BT1886

    def _flashing(self) -> Flashing:
        scans = self._work.subject.scans
        if any(map(_of_high_range, scans)):
            return not_run("it knows the limits of standard dynamic range alone")
        return flashing_of(self._failing, len(self._work.excerpts), self._work.fastest)


def _result(future: Future[_T]) -> _T:
    """Wait for what a future comes to; raises what it raised, and an interrupt soon."""
    while True:
        with uninterrupted():
            if wait((future,), timeout=_LOOK).done:
                return future.result()


def _of_high_range(scan: ReelScan) -> bool:
    return scan.picture is not None and scan.picture.transfer in HIGH_RANGE


def _shrunk(scan: ReelScan, excerpt: Excerpt, shrinker: Shrinker) -> Generator[VideoFrame]:
    """Yield an excerpt's film frames as they are shown; a missing one is that before it.

    Those that are missing at the very beginning are the first one that is there.
    """
    shown: VideoFrame | None = None
    missing = 0
    with closing(frames_of(scan, excerpt.first, excerpt.last)) as frames:
        for frame in frames:
            if frame is not None:
                shown = shrinker.shrink(frame)
            if shown is None:
                missing += 1
                continue
            for _ in range(missing):
                yield _copied(shown)
            missing = 0
            yield shown if frame is not None else _copied(shown)
    if missing:
        raise ScanError(scan.path, "has no file for any frame of an excerpt", "name other frames")


def _copied(frame: VideoFrame) -> VideoFrame:
    """Return a picture of its own: encoders, of which several are at work, write into pictures."""
    return VideoFrame.from_ndarray(frame.to_ndarray(), format=frame.format.name)


def _small(writer: JpegWriter, frame: VideoFrame, path: Path) -> _Small:
    writer.write(frame, path)
    return _Small(coded=narrowed(frame), blocks=blocks_in(frame), bytes=path.stat().st_size)
