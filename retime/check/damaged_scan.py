"""A scan that the second reader cannot read all of: which pictures it gives, and which it does not.

What does not decode leaves no picture, and pictures are told by their times from then on. Only the
decoder of FFV1 gives a picture all the same, conceals what is damaged, and says when that was.
"""

from __future__ import annotations

import re
from bisect import bisect_left
from fractions import Fraction
from itertools import groupby
from typing import TYPE_CHECKING, NamedTuple

from retime.errors import ScanError
from retime.media.bridge import reading
from retime.media.sequence import PICTURE_CODECS
from retime.media.tiff_checks import DIFFERS, checksums_agree
from retime.second.packets import listed
from retime.second.pictures import Fields, LookPast, Source, is_told_damaged

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from retime.second.pictures import Seen, View

__all__ = ["Read", "differing", "read_past_damage"]

_STEP = Fraction(1, 25)  # what the program takes for the time between two numbered files
_NEAR = Fraction(1, 500_000)  # seconds: times are told to the microsecond
_CONCEALED = "CRC mismatch"
_WHEN = re.compile(r"\bat (-?\d+\.\d+) seconds")
_NO_PICTURE = "the ffmpeg program gets no picture out of it"
_EMPTY = "the file is empty"
_NO_CHECKSUM = "a slice does not match its checksum"


class Read(NamedTuple):
    """What was read: what is wrong with those that are damaged, by their numbers.

    ``words`` is what the program complains of where it cannot be told which pictures it means.
    """

    damaged: dict[int, str]
    words: str = ""


def read_past_damage(
    source: Source, view: View, wanted: range, held: int, keep: Callable[[int, Seen], None]
) -> Read:
    """Give each picture of ``wanted`` that decodes to ``keep``, by its number in the file.

    That is its place in a movie, of ``held`` pictures, or among numbered files in a row. Where the
    view is of fields, each number comes twice. Raises ScanError where a movie does not tell its
    pictures apart.
    """
    if source.first_number is None:
        return _read(source, view, wanted, keep, _numbers(source, held))
    # The program takes a file that is empty for the end of them all.
    full = [number for number in wanted if _file(source, number).stat().st_size]
    damaged = dict.fromkeys(set(wanted).difference(full), _EMPTY)
    words = ""
    for _, row in groupby(enumerate(full), lambda one: one[1] - one[0]):
        numbers = [number for _, number in row]
        read = _read_files(source, view, range(numbers[0], numbers[-1] + 1), keep)
        damaged |= read.damaged
        words = words or read.words
    return Read(damaged, "" if damaged else words)


def differing(source: Source, wanted: range) -> dict[int, str]:
    """Return those numbered files that decode, and hold other bytes than their checksums are of."""
    if source.first_number is None or PICTURE_CODECS.get(source.path.suffix[1:].lower()) != "tiff":
        return {}
    return {number: DIFFERS for number in wanted if not _agrees(_file(source, number))}


def _agrees(path: Path) -> bool:
    with reading(path):
        return checksums_agree(path.read_bytes())


def _file(source: Source, number: int) -> Path:
    """Return a numbered file, counted from the first."""
    return source.path.with_name(source.path.name % ((source.first_number or 0) + number))


def _read_files(
    source: Source, view: View, wanted: range, keep: Callable[[int, Seen], None]
) -> Read:
    """Read numbered files from one on."""
    first = wanted.start

    def kept(number: int, seen: Seen) -> None:
        keep(first + number, seen)

    part = Source(path=source.path, first_number=(source.first_number or 0) + first)
    read = _read(part, view, range(len(wanted)), kept, lambda time: round(time / _STEP))
    return Read({first + number: wrong for number, wrong in read.damaged.items()}, read.words)


def _read(
    source: Source,
    view: View,
    wanted: range,
    keep: Callable[[int, Seen], None],
    number_at: Callable[[Fraction], int],
) -> Read:
    """Read a movie, or files in a row; ``number_at`` tells a picture by its time."""
    fields = 1 if view.fields is Fields.WHOLE else 2
    looking = LookPast(source, view)
    missing = set(wanted)
    number = 0
    for at, (seen, time) in enumerate(looking):
        if at % fields == 0:
            number = number_at(time)
        if number in wanted:
            keep(number, seen)
            missing.discard(number)
    damaged = dict.fromkeys(missing, _NO_PICTURE)
    if _CONCEALED in looking.words:
        found = {number_at(Fraction(told)) for told in _WHEN.findall(looking.words)}
        damaged |= dict.fromkeys(found.intersection(wanted), _NO_CHECKSUM)
    words = ""
    if not damaged and is_told_damaged(looking.words):
        words = next(line for line in reversed(looking.words.splitlines()) if line.strip()).strip()
    return Read(damaged, words)


def _numbers(source: Source, held: int) -> Callable[[Fraction], int]:
    """Return what tells the number of a movie's picture by when it is shown."""
    packets = listed(source.path)[0]
    times = sorted(int(time) * packets.tick for time in packets.times)
    untold = ScanError(
        source.path,
        "the ffmpeg program cannot read all of it, and its times do not tell what is missing",
    )

    def number_at(time: Fraction) -> int:
        place = bisect_left(times, time - _NEAR)
        if place == len(times) or times[place] > time + _NEAR:
            raise untold
        return place

    if not packets.timed or len(set(times)) != held or len(times) != held:
        raise untold
    return number_at
