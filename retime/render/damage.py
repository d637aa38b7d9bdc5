"""What is shown for frames of a scan that do not decode, where they are not to stop a render."""

from __future__ import annotations

import re
from contextlib import closing
from typing import TYPE_CHECKING, NamedTuple

from retime.errors import ScanError
from retime.media.facts import Form
from retime.media.reader import read_frames
from retime.picture.black import black_picture
from retime.render.damaged import Damaged

if TYPE_CHECKING:
    from collections.abc import Callable, Generator, Iterable

    from av.video.frame import VideoFrame

    from retime.media.facts import ScanFacts

__all__ = ["Damage", "DamagedFrame", "tell_damage"]

_DAMAGED = re.compile(r"frame \d+ is damaged")


class DamagedFrame(NamedTuple):
    """A frame, by its position in the scan, and how it is known to be damaged."""

    scan: str
    frame: int
    words: str

    def __str__(self) -> str:
        """Return all of it in one line."""
        return f"{self.scan}: frame {self.frame} is damaged ({self.words})"


class Damage:
    """Stands in for damaged frames, and keeps which they are."""

    def __init__(self, means: Damaged = Damaged.STOP) -> None:
        """Have found none yet."""
        self._means = means
        self.found: set[DamagedFrame] = set()

    def frames(
        self, facts: ScanFacts, first: int, last: int, *, threads: int, count: int
    ) -> Generator[VideoFrame | None]:
        """Yield frames as ``read_frames`` does, with something in the place of damaged ones.

        Only of pictures that stand alone it is known which of them are damaged; damage to others
        is raised, as is everything else.
        """
        if self._means is Damaged.STOP or not (facts.intra or facts.form is Form.SEQUENCE):
            yield from read_frames(facts, first, last, threads=threads, count=count)
            return
        at, kept = first, None
        while at <= last:
            reading = read_frames(facts, at, last, threads=threads, count=count)
            try:
                with closing(reading):
                    for frame in reading:
                        yield frame
                        kept = frame or kept
                        at += 1
            except ScanError as error:
                if not _DAMAGED.fullmatch(error.text):
                    raise
                # The decoder was ahead of what it gave, so the frames next are read one by one.
                for frame in self._singly(facts, at, last, kept):
                    yield frame
                    kept = frame or kept
                    at += 1

    def _singly(
        self, facts: ScanFacts, first: int, last: int, kept: VideoFrame | None
    ) -> Generator[VideoFrame | None]:
        """Yield frames up to the first damaged one, and what stands for that."""
        for at in range(first, last + 1):
            frame = _alone(facts, at)
            if not isinstance(frame, ScanError):
                yield frame
                kept = frame or kept
                continue
            self.found.add(DamagedFrame(str(frame.path), at, frame.detail))
            yield self._stand_in(facts, at, kept)
            return

    def _stand_in(self, facts: ScanFacts, at: int, kept: VideoFrame | None) -> VideoFrame:
        if self._means is Damaged.HOLD:
            before = at
            while kept is None and before > 0:  # a piece may begin here, and shows what all would
                before -= 1
                found = _alone(facts, before)
                kept = None if isinstance(found, ScanError) else found
            if kept is not None:
                return kept
        return black_picture(facts.picture)


def _alone(facts: ScanFacts, at: int) -> VideoFrame | ScanError | None:
    """Return one frame, None for a missing file, or the error by which it is damaged."""
    reading = read_frames(facts, at, at, threads=1)
    try:
        with closing(reading):
            return next(reading)
    except ScanError as error:
        if error.text == f"frame {at} is damaged":
            return error
        raise


def tell_damage(found: Iterable[DamagedFrame], means: Damaged, tell: Callable[[str], None]) -> None:
    """Tell every frame that something else is shown for."""
    shown = "black is shown" if means is Damaged.BLACK else "the frame before it is held"
    for one in sorted(found):
        tell(f"{one}: {shown}")
