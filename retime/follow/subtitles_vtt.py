"""WebVTT, after the W3C's "WebVTT: The Web Video Text Tracks Format", sections 4 and 6.

Its players pass in silence over what they cannot read; here all of that is an error. A cue's
settings, its identifier, notes, styles and regions are kept where they are; the timestamps among
its words are times like its own.
"""

from __future__ import annotations

import html
import re
from fractions import Fraction
from functools import partial
from typing import TYPE_CHECKING

from retime.follow.cues import Cue
from retime.follow.subtitle_document import (
    Block,
    Encoding,
    Field,
    SubtitleDocument,
    SubtitleKind,
)
from retime.follow.subtitle_scan import ARROW, Reading, Scan
from retime.follow.subtitle_times import clock_time
from retime.yamldoc.quoting import quoted

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

__all__ = ["read_vtt"]

_HEAD = re.compile(r"WEBVTT(?:[ \t].*)?")
_NOTE = re.compile(r"NOTE(?:[ \t].*)?")
_SET_UP = re.compile(r"(?:STYLE|REGION)[ \t]*")
_STAMP = re.compile(r"<((?:[0-9]{2,4}:)?[0-5][0-9]:[0-5][0-9]\.[0-9]{3})>")
_REFERENCE = re.compile(r"&(?:#[0-9]{1,7}|#[xX][0-9A-Fa-f]{1,6}|[A-Za-z][A-Za-z0-9]{1,31});")
_TIME = partial(clock_time, marks=".", places=3, hours=0, example="00:01:02.500")
_LINE = "write a line such as 00:01:02.500 --> 00:01:04.000"


def read_vtt(text: str, path: Path, encoding: Encoding) -> SubtitleDocument:
    """Read WebVTT.

    Raises:
        DocumentError: it holds mistakes, each in a finding.
    """
    reading = _Reading(Scan(text, path, "webvtt"))
    if not encoding.codec.startswith("utf-8"):
        reading.scan.error(0, "WebVTT is written in UTF-8", "save the file as UTF-8")
    reading.read()
    return reading.document(
        SubtitleKind.VTT,
        encoding,
        resolution=Fraction(1, 1000),
        moves=True,
        gap=2 * reading.scan.line_break,
    )


class _Reading(Reading):
    """A text while its cues are found, block by block; empty lines part the blocks."""

    def read(self) -> None:
        blocks = self._parted()
        first, last = next(blocks, (0, -1))
        if first or not _HEAD.fullmatch(self.scan.line(0)):
            text = "the first line does not say that this is WebVTT"
            self.scan.error(0, text, "let it be WEBVTT")
            return
        self._head(last)
        for first, last in blocks:
            self._block(first, last)
        if not self.cues:
            self.scan.error(0, "there is no cue in the file", _LINE)

    def _parted(self) -> Iterator[tuple[int, int]]:
        """Yield the first and last lines of every block."""
        begun: int | None = None
        for number in range(len(self.scan)):
            if self.scan.line(number):
                begun = number if begun is None else begun
            elif begun is not None:
                yield begun, number - 1
                begun = None
        if begun is not None:
            yield begun, len(self.scan) - 1

    def _head(self, last: int) -> None:
        for number in range(1, last + 1):
            line = self.scan.line(number)
            if ARROW in line:
                text = "no empty line stands between the head and the first cue"
                self.scan.error(self.scan.start(number), text)
            elif line.startswith("X-TIMESTAMP-MAP"):
                text = "players of streams move all times by X-TIMESTAMP-MAP; it is left as it is"
                self.scan.warn(self.scan.start(number), "webvtt-map", text)

    def _block(self, first: int, last: int) -> None:
        scan = self.scan
        heads = range(first, min(first + 1, last) + 1)
        timed = next((number for number in heads if ARROW in scan.line(number)), None)
        if timed is not None:
            self._cue(first, timed, last)
        elif _SET_UP.fullmatch(scan.line(first)):
            if self.cues:
                text = f"{scan.line(first).strip()} after the first cue is passed over by players"
                scan.warn(scan.start(first), "webvtt-late", text)
        elif not _NOTE.fullmatch(scan.line(first)):
            text = f"{quoted(scan.line(first))} begins neither a cue nor a note"
            scan.error(scan.start(first), text, _LINE)
        for number in range(first + 1 if timed is None else timed + 1, last + 1):
            if ARROW in scan.line(number):
                text = f"{ARROW} stands among words, where no empty line is above it"
                hint = f"put an empty line above a cue; among words write --&gt; for {ARROW}"
                scan.error(scan.start(number), text, hint)

    def _cue(self, first: int, timed: int, last: int) -> None:
        scan = self.scan
        timing = scan.timing(timed, _TIME)
        if timing is None:
            return
        words = scan.body(timed + 1, last)
        stamps = list(self._stamps(timed + 1, last))
        cue = Cue(
            begin=timing.begin,
            end=timing.end,
            text=_plain(words),
            index=len(self.cues),
            place=scan.place(timing.fields[0].span[0]),
            inner=tuple(time for time, _ in stamps),
        )
        at = scan.start(first)
        block = Block(
            span=(at, scan.stop(last)),
            fields=(*timing.fields, *(field for _, field in stamps)),
            once=(at, scan.start(timed)) if first < timed else None,
        )
        self.take(cue, block)

    def _stamps(self, first: int, last: int) -> Iterator[tuple[Fraction, Field]]:
        """Yield the timestamps among a cue's words."""
        if first > last:
            return
        start, stop = self.scan.start(first), self.scan.stop(last)
        for number, found in enumerate(_STAMP.finditer(self.scan.text, start, stop), start=2):
            time, style = _TIME(found[1])
            yield time, Field(span=found.span(1), style=style, at=number)


def _plain(words: str) -> str:
    """Return a cue's words without tags, character references resolved."""
    from webvtt import Caption  # noqa: PLC0415 - a tenth of a second, only where it is needed

    return _REFERENCE.sub(lambda found: html.unescape(found[0]), Caption(text=words).text)
