"""Pictures as the second reader sees them: small, of one kind, one after the other.

The program decodes, cuts out, scales (area averages) and writes raw pictures into a pipe; where
asked for, it also tells the digest of each picture as decoded, before anything is done to it.
"""

from __future__ import annotations

import os
from enum import StrEnum
from fractions import Fraction
from typing import IO, TYPE_CHECKING, NamedTuple

import numpy as np
from msgspec import Struct

from retime.errors import ScanError
from retime.light.raster import Flip, Rectangle
from retime.second.ahead import Ahead
from retime.second.program import Running

if TYPE_CHECKING:
    from collections.abc import Generator, Iterator
    from pathlib import Path

    from numpy.typing import NDArray


__all__ = [
    "Fields",
    "LookPast",
    "Mount",
    "Seen",
    "Shade",
    "Source",
    "View",
    "is_told_damaged",
    "look",
    "look_in_time",
]

_HIDDEN_ERRORS = ("error while decoding", "invalid data", "corrupt", "concealing", "mismatch")


class Shade(StrEnum):
    """What a view keeps of a picture: its luma, or its colours; FFmpeg's names."""

    LUMA = "gray"
    COLOUR = "rgb24"


class Fields(StrEnum):
    """Whether pictures are seen whole, or as their two fields, and which of these comes first."""

    WHOLE = "whole"
    TOLD = "told"
    """The one that the file says is first in time."""
    TOP = "top"
    BOTTOM = "bottom"


class Source(Struct, frozen=True, kw_only=True):
    """A movie file, or the files of a numbered sequence from one number on, without holes."""

    path: Path
    first_number: int | None = None


class Mount(Struct, frozen=True, kw_only=True):
    """Where in a black raster of a size a picture stands."""

    width: int
    height: int
    placed: Rectangle


class View(Struct, frozen=True, kw_only=True):
    """How pictures are to be seen: what part, how turned, and how small.

    ``area`` is cut out first, what is left turned clockwise by ``rotate`` degrees and flipped, that
    is put into a ``mount``, and ``cut`` is cut out of it; all three may be None. ``digests`` asks
    for the digest of each picture, or field, once it is framed. ``flags`` has pictures repeated as
    the stream's flags say; these leave the order of fields unsaid, which then has to be stated.
    ``matrix`` is FFmpeg's name of the matrix by which colours were made into Y'CbCr, for files that
    do not say.
    """

    width: int
    height: int
    shade: Shade = Shade.LUMA
    area: Rectangle | None = None
    rotate: int = 0
    flip: Flip | None = None
    mount: Mount | None = None
    cut: Rectangle | None = None
    fields: Fields = Fields.WHOLE
    flags: bool = False
    digests: bool = False
    matrix: str | None = None

    @property
    def shape(self) -> tuple[int, ...]:
        """The shape of a picture's array."""
        flat = (self.height, self.width)
        return flat if self.shade is Shade.LUMA else (*flat, 3)


class Seen(NamedTuple):
    """A picture as seen, of the view's shape in 8 bits, and its digest where that was asked."""

    picture: NDArray[np.uint8]
    digest: str | None


_STATED = {Fields.TOP: "tff", Fields.BOTTOM: "bff"}
_FRAMEHASH = ("-fps_mode", "passthrough", "-f", "framehash", "-hash", "murmur3")
_TICKS = 1_000_000  # a second
# Without the last three, white of Y'CbCr comes out as 253 and middle grey two codes too dark.
_EXACT = "area+accurate_rnd+full_chroma_int+full_chroma_inp"
_TURNS = {0: (), 90: ("transpose=clock",), 180: ("hflip", "vflip"), 270: ("transpose=cclock",)}


def look(
    source: Source, view: View, *, first: int = 0, count: int | None = None
) -> Generator[Seen]:
    """Yield pictures from number ``first`` on, ``count`` of them or all that there are.

    Raises ScanError where the program cannot read the file, or says that some of it is damaged;
    whatever could be read has been yielded by then.
    """
    read, write = os.pipe() if view.digests else (None, None)
    arguments = [*_input(source), *_outputs(view, first, count, write)]
    with Running(arguments, fds=() if write is None else (write,)) as running:
        if write is not None:
            os.close(write)
        told = _Digests(read) if read is not None else None
        yield from _pictures(running.out, view, told)
        code, words = running.done(), running.words()
        if told is not None:
            told.close()
    _check(source, code, words)


def look_in_time(source: Source, view: View) -> Generator[tuple[NDArray[np.uint8], Fraction]]:
    """Yield all pictures, each with the time that the file tells for it, to the microsecond.

    Times are in seconds and need not begin with 0. Raises ScanError as ``look`` does.
    """
    read, write = os.pipe()
    before, seen = ",".join(_before(view)) or "null", ",".join(_seen(view))
    graph = f"[0:v:0]{before},{seen},settb=1/{_TICKS},split=2[seen][timed]"
    out = ["-filter_complex", graph, "-map", "[seen]", *_raw(view), "-map", "[timed]"]
    out += [*_FRAMEHASH, "-enc_time_base", f"1:{_TICKS}", "-flush_packets", "1", f"pipe:{write}"]
    with Running([*_input(source), *out], fds=(write,)) as running:
        os.close(write)
        told = _Digests(read)
        for picture, _ in _pictures(running.out, view, None):
            ticks = told.time()
            if ticks is None:
                break
            yield picture, Fraction(ticks, _TICKS)
        code, words = running.done(), running.words()
        told.close()
    _check(source, code, words)


class LookPast:
    """Looks past what does not decode: at every picture that does, with its time and digest.

    Times are in seconds, to the microsecond, as the file has them; of two fields the first has its
    frame's. ``words`` are those of the program, once all pictures have been taken.
    """

    def __init__(self, source: Source, view: View) -> None:
        """Open nothing yet; whatever ``view`` asks, digests are told."""
        self._source, self._view = source, view
        self.words = ""

    def __iter__(self) -> Iterator[tuple[Seen, Fraction]]:
        """Yield the pictures in order."""
        read, write = os.pipe()
        before, seen = ",".join(_before(self._view)) or "null", ",".join(_seen(self._view))
        graph = f"[0:v:0]{before},settb=1/{_TICKS},split=2[whole][part];[part]{seen}[seen]"
        out = ["-filter_complex", graph, "-map", "[seen]", *_raw(self._view), "-map", "[whole]"]
        out += [*_FRAMEHASH, "-enc_time_base", f"1:{_TICKS}"]
        out += ["-flush_packets", "1", f"pipe:{write}"]
        with Running(["-copyts", *_input(self._source), *out], fds=(write,)) as running:
            os.close(write)
            told = _Digests(read)
            for picture, _ in _pictures(running.out, self._view, None):
                timed = told.timed()
                if timed is None:
                    break
                ticks, digest = timed
                yield Seen(picture, digest), Fraction(ticks, _TICKS)
            running.done()
            self.words = running.words()
            told.close()


def is_told_damaged(words: str) -> bool:
    """Tell whether the program has said that something is damaged."""
    return any(sign in words.lower() for sign in _HIDDEN_ERRORS)


def _check(source: Source, code: int, words: str) -> None:
    """Raise ScanError where the program has failed, or has said that something is damaged."""
    if code or is_told_damaged(words):
        last = next((line for line in reversed(words.splitlines()) if line.strip()), "")
        raise ScanError(
            source.path, "the ffmpeg program cannot read all of it", detail=last.strip()
        )


def _input(source: Source) -> list[str]:
    path = str(source.path.absolute())
    if source.first_number is None:
        return ["-protocol_whitelist", "file", "-i", path]
    return ["-f", "image2", "-start_number", str(source.first_number), "-i", path]


def _outputs(view: View, first: int, count: int | None, digests: int | None) -> list[str]:
    """Return the graph and what it is written to."""
    chain = [f"trim=start_frame={first}"] if first or count is not None else []
    if count is not None:
        chain = [f"trim=start_frame={first}:end_frame={first + count}"]
    chain += _before(view)
    before = ",".join(chain) or "null"
    seen = ",".join(_seen(view))
    raw = _raw(view)
    if digests is None:
        return ["-map", "0:v:0", "-vf", f"{before},{seen}", *raw]
    graph = f"[0:v:0]{before},split=2[whole][part];[part]{seen}[seen]"
    # Digests have to come as their pictures do, or each of us waits for the other.
    hashed = [*_FRAMEHASH, "-flush_packets", "1", f"pipe:{digests}"]
    return ["-filter_complex", graph, "-map", "[seen]", *raw, "-map", "[whole]", *hashed]


def _raw(view: View) -> list[str]:
    return ["-fps_mode", "passthrough", "-pix_fmt", view.shade, "-f", "rawvideo", "pipe:1"]


def _before(view: View) -> Iterator[str]:
    if view.flags:
        yield "repeatfields"
    if view.area is not None:
        yield _cut(view.area, 1)
    yield from _TURNS[view.rotate]
    if view.flip is not None:
        yield "hflip" if view.flip is Flip.HORIZONTAL else "vflip"
    if view.fields in _STATED:
        yield f"setfield={_STATED[view.fields]}"
    if view.fields is not Fields.WHOLE:
        yield "separatefields"


def _seen(view: View) -> Iterator[str]:
    lines = 1 if view.fields is Fields.WHOLE else 2
    if view.mount is not None:
        raster, placed = view.mount, view.mount.placed
        yield f"scale={placed.width}:{placed.height}:flags={_EXACT}"
        yield f"pad={raster.width}:{raster.height}:{placed.left}:{placed.top}"
    if view.cut is not None:
        yield _cut(view.cut, lines)
    matrix = "" if view.matrix is None else f":in_color_matrix={view.matrix}"
    yield f"scale={view.width}:{view.height}:flags={_EXACT}{matrix}"
    yield f"format={view.shade}"


def _cut(part: Rectangle, lines: int) -> str:
    return f"crop={part.width}:{part.height // lines}:{part.left}:{part.top // lines}:exact=1"


def _pictures(out: IO[bytes], view: View, told: _Digests | None) -> Iterator[Seen]:
    size = int(np.prod(view.shape))
    with Ahead(out, size) as blocks:
        for block in blocks:
            picture = np.frombuffer(block, np.uint8).reshape(view.shape)
            yield Seen(picture, None if told is None else told.next())


class _Digests:
    """The digests that the program tells over a pipe of its own, read as they come."""

    def __init__(self, fd: int) -> None:
        self._pipe = os.fdopen(fd, "r", encoding="ascii")

    def next(self) -> str:
        return self._row().rsplit(",", 1)[-1].strip()

    def time(self) -> int | None:
        """Return the next picture's time, in the ticks that were asked for; None at the end."""
        row = self._row()
        return int(row.split(",")[2]) if row else None

    def timed(self) -> tuple[int, str] | None:
        """Return the next picture's time and its digest; None at the end."""
        row = self._row().split(",")
        return (int(row[2]), row[-1].strip()) if len(row) > 1 else None

    def _row(self) -> str:
        return next((line for line in self._pipe if not line.startswith("#")), "")

    def close(self) -> None:
        self._pipe.close()
