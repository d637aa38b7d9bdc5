"""Numbered files: which there are, which are missing, and what position each has."""

from __future__ import annotations

import difflib
import os
import re
from bisect import bisect_left
from itertools import pairwise
from typing import TYPE_CHECKING

from msgspec import Struct

from retime.errors import ScanError
from retime.media.bridge import last_words

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

__all__ = ["PICTURE_CODECS", "Hole", "Sequence", "is_pattern", "list_sequence"]

PICTURE_CODECS: dict[str, str] = {
    "dpx": "dpx",
    "tif": "tiff",
    "tiff": "tiff",
    "png": "png",
    "jpg": "mjpeg",
    "jpeg": "mjpeg",
    "jp2": "jpeg2000",
    "j2k": "jpeg2000",
    "j2c": "jpeg2000",
    "jpf": "jpeg2000",
    "exr": "exr",
}
"""Which decoder reads the one picture in a file of that ending."""

_FIELD = re.compile(r"%(?:0(?P<digits>[1-9]\d?))?d")
_NAMES_TOLD = 3
_NEAR = 0.4  # as difflib measures likeness: digits differ by nature


class Hole(Struct, frozen=True, kw_only=True):
    """Files missing in a row: ``first`` is a position, ``count`` how many."""

    first: int
    count: int


class Sequence(Struct, frozen=True, kw_only=True):
    """The files of a pattern; ``numbers`` are rising, the numbers in the files' names.

    Position 0 is the lowest number, and a hole counts as a position. ``bytes`` is the size of
    all files, ``changed_ns`` the sum of the times of their last changes: where any of them is
    written anew, it is another.
    """

    pattern: Path
    numbers: tuple[int, ...]
    bytes: int
    changed_ns: int = 0

    @property
    def positions(self) -> int:
        """How many frames the sequence stands for, holes included."""
        return self.numbers[-1] - self.numbers[0] + 1

    @property
    def holes(self) -> tuple[Hole, ...]:
        """Where files are missing between the lowest number and the highest."""
        start = self.numbers[0]
        return tuple(
            Hole(first=before + 1 - start, count=after - before - 1)
            for before, after in pairwise(self.numbers)
            if after > before + 1
        )

    @property
    def first_path(self) -> Path:
        """The file of position 0, which is always there."""
        return self._named(self.numbers[0])

    def path_at(self, position: int) -> Path | None:
        """Return the file of a position from 0 up to ``positions``, None in a hole."""
        number = self.numbers[0] + position
        place = bisect_left(self.numbers, number)
        there = place < len(self.numbers) and self.numbers[place] == number
        return self._named(number) if there else None

    def number_at(self, position: int) -> int:
        """Return the number that a position's file bears, or would bear."""
        return self.numbers[0] + position

    def _named(self, number: int) -> Path:
        before, digits, after = _parts(self.pattern)
        return self.pattern.with_name(f"{before}{number:0{digits}}{after}")


def is_pattern(path: Path) -> bool:
    """Tell whether a scan's path names numbered files rather than a movie."""
    return "%" in path.name


def list_sequence(pattern: Path) -> Sequence:
    """List the folder and return what the pattern matches there.

    Raises ScanError for a pattern without exactly one number field, a folder that cannot be
    listed, no match at all, and a number that is written with other padding than the pattern's.
    """
    before, digits, after = _parts(pattern)
    numbers, size, changed, names = [], 0, 0, []
    for name, status in _files(pattern):
        names.append(name)
        middle = name[len(before) : len(name) - len(after)]
        if not (name.startswith(before) and name.endswith(after) and _is_number(middle)):
            continue
        if middle != f"{int(middle):0{digits}}":
            right = f"{before}{int(middle):0{digits}}{after}"
            raise ScanError(
                pattern,
                f"the folder also holds {name}, whose number is padded otherwise",
                f"move it away or name it {right}",
            )
        numbers.append(int(middle))
        size += status.st_size
        changed += status.st_mtime_ns
    if not numbers:
        raise ScanError(pattern, "no file matches", _nearest(pattern, names))
    return Sequence(pattern=pattern, numbers=tuple(sorted(numbers)), bytes=size, changed_ns=changed)


def _parts(pattern: Path) -> tuple[str, int, str]:
    """Return what stands before the number, how many digits it has at least, what stands after."""
    field = _FIELD.search(pattern.name)
    if field is None or pattern.name.count("%") != 1:
        raise ScanError(
            pattern,
            "is no pattern for numbered files",
            "write one %d, or %06d for numbers padded to six digits, in the file's name",
        )
    return pattern.name[: field.start()], int(field["digits"] or 0), pattern.name[field.end() :]


def _files(pattern: Path) -> Iterator[tuple[str, os.stat_result]]:
    """Yield the name of every file in the pattern's folder, and what the system says of it."""
    try:
        with os.scandir(pattern.parent) as entries:
            for entry in entries:
                if entry.is_file():
                    yield entry.name, entry.stat()
    except OSError as error:
        words = last_words(error)
        raise ScanError(pattern, "its folder cannot be listed", detail=words) from error


def _is_number(text: str) -> bool:
    return text.isascii() and text.isdigit()


def _nearest(pattern: Path, names: list[str]) -> str:
    """Say which names in the folder are nearest to the pattern's."""
    wanted = _FIELD.sub("0", pattern.name)
    near = difflib.get_close_matches(wanted, sorted(names), n=_NAMES_TOLD, cutoff=_NEAR)
    return f"the nearest names there are {', '.join(near)}" if near else ""
