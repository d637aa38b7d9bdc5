"""SRT: a number, a line of times, lines of text, an empty line.

The format has no standard; what is read here is what its writers have in common. A line of times
begins a cue wherever it stands, as readers have it. Both commas and points are read before the
thousandths, and whatever follows the times on their line is kept.
"""

from __future__ import annotations

import re
from fractions import Fraction
from functools import partial
from typing import TYPE_CHECKING

from retime.film.rounding import half_up
from retime.follow.cues import Cue
from retime.follow.subtitle_document import Block, Encoding, SubtitleDocument, SubtitleKind
from retime.follow.subtitle_scan import ARROW, Reading, Scan
from retime.follow.subtitle_times import ClockStyle, clock_time
from retime.yamldoc.quoting import quoted

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence
    from pathlib import Path

__all__ = ["read_srt", "srt_text"]

_NUMBER = re.compile(r"\s*([0-9]+)\s*")
_TIMES = re.compile(r"\s*-?[0-9]+:[0-9]+:[0-9]+")
_TWO_TIMES = re.compile(
    r"\s*[0-9]+:[0-9]+:[0-9]+[.,][0-9]+[^0-9]{1,9}[0-9]+:[0-9]+:[0-9]+[.,][0-9]+"
)
_TAG = re.compile(r"</?[A-Za-z][^<>]*>|\{\\[^{}]*\}")
_STYLE = ClockStyle(hours=2, mark=",", places=3)
_TIME = partial(clock_time, marks=",.", places=3, hours=1, example="00:01:02,500")
_LINE = "write a line such as 00:01:02,500 --> 00:01:04,000"


def read_srt(text: str, path: Path, encoding: Encoding) -> SubtitleDocument:
    """Read SRT.

    Raises:
        DocumentError: it holds mistakes, each in a finding.
    """
    reading = _Reading(Scan(text, path, "srt"))
    reading.read()
    return reading.document(
        SubtitleKind.SRT,
        encoding,
        resolution=Fraction(1, _STYLE.per_second),
        moves=True,
        gap=2 * reading.scan.line_break,
    )


def srt_text(cues: Sequence[Cue]) -> str:
    """Write cues that stand in no SRT file yet: numbered from 1, times rounded half up."""
    return "".join(
        f"{number}\n{_written(cue.begin)} {ARROW} {_written(cue.end)}\n{cue.text}\n\n"
        for number, cue in enumerate(cues, start=1)
    )


def _written(time: Fraction) -> str:
    return _STYLE.text(half_up(time * _STYLE.per_second))


class _Reading(Reading):
    """A text while its cues are found: each from its number up to the next cue's."""

    def read(self) -> None:
        scan = self.scan
        timed = [number for number in range(len(scan)) if self._is_timed(number)]
        starts = [*self._starts(timed), len(scan)]
        self._before_cues(starts[0])
        for number, start, after in zip(timed, starts, starts[1:], strict=False):
            self._cue(start, number, after)
            self._between(number + 1, after)
        if not timed:
            scan.error(0, "there is no cue in the file", _LINE)

    def _is_timed(self, number: int) -> bool:
        """Say whether a line is one of times; an arrow among the words of a cue makes none."""
        line = self.scan.line(number)
        if ARROW not in line:
            return False
        above = self.scan.line(number - 1) if number else ""
        alone = not above.strip() or _NUMBER.fullmatch(above) is not None
        return alone or _TIMES.match(line) is not None

    def _starts(self, timed: Sequence[int]) -> Iterator[int]:
        """Yield the first line of every cue: that of its number, if it has one."""
        before = -1
        for number in timed:
            has = number - 1 > before and _NUMBER.fullmatch(self.scan.line(number - 1))
            yield number - 1 if has else number
            before = number

    def _cue(self, start: int, timed: int, after: int) -> None:
        scan = self.scan
        timing = scan.timing(timed, _TIME)
        if timing is None:
            return
        last = after - 1
        while last > timed and not scan.line(last).strip():
            last -= 1
        cue = Cue(
            begin=timing.begin,
            end=timing.end,
            text=_TAG.sub("", scan.body(timed + 1, last)),
            index=len(self.cues),
            place=scan.place(timing.fields[0].span[0]),
        )
        at = scan.start(start)
        number = _NUMBER.fullmatch(scan.line(start)) if start < timed else None
        digits = (at + number.start(1), at + number.end(1)) if number else None
        span = at, scan.stop(last)
        self.take(cue, Block(span=span, fields=timing.fields, number=digits))

    def _before_cues(self, stop: int) -> None:
        """Note words above the first cue, which no reader shows."""
        for number in range(stop):
            line = self.scan.line(number)
            if not line.strip() or _NUMBER.fullmatch(line):
                continue
            if line.startswith("WEBVTT"):
                self.scan.error(0, "this is WebVTT and no SRT", "name the file .vtt")
            elif not self._lacks_arrow(number):
                self.scan.error(self.scan.start(number), f"{quoted(line)} is part of no cue", _LINE)
            return

    def _between(self, first: int, stop: int) -> None:
        """Note what stands among the words of a cue and cannot be meant as such."""
        scan = self.scan
        blank = False
        for number in range(first, stop):
            line = scan.line(number)
            if line.strip() and not self._lacks_arrow(number) and blank:
                self._after_blank(number, scan.line(number + 1) if number + 1 < stop else "")
            blank = not line.strip()

    def _after_blank(self, number: int, below: str) -> None:
        """Note a line that an empty one parts from the words above; ``below`` is the next."""
        scan = self.scan
        if not (_NUMBER.fullmatch(scan.line(number)) and below.strip()):
            text = "an empty line stands above these words of a cue, and some readers lose them"
            scan.warn(scan.start(number), "srt-text", text)
        elif not _TWO_TIMES.match(below):
            text = f"after the number {quoted(scan.line(number).strip())} comes no line of times"
            scan.error(scan.start(number + 1), text, _LINE)

    def _lacks_arrow(self, number: int) -> bool:
        """Say whether a line is one of times but for its arrow; note it if it is."""
        line = self.scan.line(number)
        if ARROW in line or not _TWO_TIMES.match(line):
            return False
        text = f"no arrow {ARROW} stands between the times"
        self.scan.error(self.scan.start(number), text, _LINE)
        return True
