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
_NOTHING = "it gives no picture"


class DamagedFrame(NamedTuple):
    """A frame by its position in the scan, how it is known to be damaged, and what is shown.

    ``scan`` is the scan as it was opened, ``file`` what of it holds the frame: of numbered files
    its own. ``held`` is the frame that is shown instead, None for black.
    """

    scan: str
    frame: int
    words: str
    file: str
    held: int | None

    def __str__(self) -> str:
        """Return all of it in one line."""
        shown = "black is shown" if self.held is None else f"frame {self.held} is held"
        return f"{self.file}: frame {self.frame} is damaged ({self.words}): {shown}"


class _Shown(NamedTuple):
    """A picture, or none for a hole, and the frame of the scan that it is, None for black."""

    frame: int | None
    picture: VideoFrame | None


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
        at = first
        kept: _Shown | None = None
        while at <= last:
            reading = read_frames(facts, at, last, threads=threads, count=count)
            try:
                with closing(reading):
                    for frame in reading:
                        yield frame
                        kept = kept if frame is None else _Shown(at, frame)
                        at += 1
            except ScanError as error:
                if not (_DAMAGED.fullmatch(error.text) or _is_empty(facts, error)):
                    raise
                # The decoder was ahead of what it gave, so the frames next are read one by one.
                for shown in self._singly(facts, at, last, kept):
                    yield shown.picture
                    kept = kept if shown.picture is None else shown
                    at += 1

    def _singly(
        self, facts: ScanFacts, first: int, last: int, kept: _Shown | None
    ) -> Generator[_Shown]:
        """Yield frames up to the first damaged one, and what stands for that."""
        for at in range(first, last + 1):
            frame = _alone(facts, at)
            if not isinstance(frame, ScanError):
                shown = _Shown(at, frame)
                yield shown
                kept = kept if frame is None else shown
                continue
            shown = self._stand_in(facts, at, kept)
            words = frame.detail or ("the file is empty" if _is_empty(facts, frame) else _NOTHING)
            held = DamagedFrame(str(facts.path), at, words, str(frame.path), shown.frame)
            self.found.add(held)
            yield shown
            return

    def _stand_in(self, facts: ScanFacts, at: int, kept: _Shown | None) -> _Shown:
        if self._means is Damaged.HOLD:
            before = at
            while kept is None and before > 0:  # a piece may begin here, and shows what all would
                before -= 1
                found = _alone(facts, before)
                if not (found is None or isinstance(found, ScanError)):
                    kept = _Shown(before, found)
            if kept is not None:
                return kept
        return _Shown(None, black_picture(facts.picture))


def _alone(facts: ScanFacts, at: int) -> VideoFrame | ScanError | None:
    """Return one frame, None for a missing file, or the error by which it is damaged."""
    reading = read_frames(facts, at, at, threads=1)
    try:
        with closing(reading):
            return next(reading)
    except ScanError as error:
        if error.text == f"frame {at} is damaged" or _is_empty(facts, error):
            return error
        raise


def _is_empty(facts: ScanFacts, error: ScanError) -> bool:
    """Tell whether a numbered file holds nothing at all."""
    return facts.form is Form.SEQUENCE and error.text == "is empty"


def tell_damage(found: Iterable[DamagedFrame], tell: Callable[[str], None]) -> None:
    """Tell every frame that something else is shown for."""
    for one in sorted(found, key=lambda one: (one.scan, one.frame)):
        tell(str(one))
