"""ASS and SSA, the scripts of SubStation Alpha: a line of text for every event.

Lines under ``[Events]`` have the fields that the ``Format`` line there names. Styles, fonts and
everything else are kept as they are, and so are the times within a line's overrides, which count
from where it begins: fades and moves keep their pace, and karaoke too, which is told.
"""

from __future__ import annotations

import re
from fractions import Fraction
from functools import partial
from typing import TYPE_CHECKING

from retime.follow.cues import Cue
from retime.follow.subtitle_document import Block, Encoding, Field, SubtitleDocument, SubtitleKind
from retime.follow.subtitle_scan import Reading, Scan
from retime.follow.subtitle_times import clock_time
from retime.yamldoc.quoting import listed, quoted, suggestion

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

__all__ = ["read_ass"]

_SECTION = re.compile(r"\s*\[([^\]]*)\]\s*")
_NAMED = re.compile(r"\s*([A-Za-z]+):[ \t]*")
_EVENTS = "events"
_SHOWN, _HIDDEN = "dialogue", "comment"
_OTHER = frozenset({"picture", "sound", "movie", "command"})
_KNOWN = ("Format", "Dialogue", "Comment")
_NEEDED = ("start", "end", "text")
_TIMED_TAG = re.compile(r"\\(?:[kK][fot]?[0-9]|t\(|move\(|fade?\()")
_OVERRIDE = re.compile(r"\{[^{}]*\}")
_DRAWING = re.compile(r"\\p[1-9]")
_TIME = partial(clock_time, marks=".", places=2, hours=1, example="0:01:02.50")


def read_ass(text: str, path: Path, encoding: Encoding) -> SubtitleDocument:
    """Read ASS or SSA.

    Raises:
        DocumentError: it holds mistakes, each in a finding.
    """
    reading = _Reading(Scan(text, path, "ass"))
    reading.read()
    return reading.document(
        SubtitleKind.ASS,
        encoding,
        resolution=Fraction(1, 100),
        moves=False,
        gap=reading.scan.line_break,
    )


class _Reading(Reading):
    """A script while its events are found, line by line."""

    def __init__(self, scan: Scan) -> None:
        super().__init__(scan)
        self.format: list[str] = []

    def read(self) -> None:
        section: str | None = None
        sections = set()
        for number in range(len(self.scan)):
            line = self.scan.line(number)
            heading = _SECTION.fullmatch(line)
            if heading:
                section = heading[1].strip().casefold()
                sections.add(section)
            elif section == _EVENTS and line.strip() and not line.lstrip().startswith((";", "!:")):
                self._event(number, line)
            elif section == "script info" and line.strip().casefold().startswith("timer:"):
                self._timer(number, line)
        if _EVENTS not in sections:
            self.scan.error(0, "there is no section [Events]", "is this ASS?")
        elif not self.cues:
            self.scan.error(0, "there is no Dialogue line in [Events]")

    def _timer(self, number: int, line: str) -> None:
        speed = line.partition(":")[2].strip()
        if not re.fullmatch(r"0*100(?:[.,]0*)?", speed):
            text = f"the script is timed at {quoted(speed)} %, which many players do not mind"
            hint = "its times are taken as they are written"
            self.scan.warn(self.scan.start(number), "ass-timer", text, hint)

    def _event(self, number: int, line: str) -> None:
        found = _NAMED.match(line)
        name = found[1].casefold() if found else ""
        if found and name == "format":
            self._named(number, line[found.end() :])
        elif found and name in {_SHOWN, _HIDDEN}:
            self._line(number, line, found.end(), hidden=name == _HIDDEN)
        elif name in _OTHER:
            text = f"the time of a {name} is left as it is"
            self.scan.warn(self.scan.start(number), "ass-event", text)
        else:
            known = suggestion(found[1], _KNOWN) if found else f"known here: {listed(_KNOWN)}"
            self.scan.error(
                self.scan.start(number), f"{quoted(line)} is no line of [Events]", known
            )

    def _named(self, number: int, fields: str) -> None:
        self.format = [name.strip().casefold() for name in fields.split(",")]
        lacking = [name for name in _NEEDED if name not in self.format]
        if lacking or self.format[-1] != "text":
            text = f"the fields lack {listed(lacking)}" if lacking else "Text is not the last field"
            hint = "name Start, End and, last, Text"
            self.scan.error(self.scan.start(number), text, hint)
            self.format = []

    def _line(self, number: int, line: str, at: int, *, hidden: bool) -> None:
        start = self.scan.start(number)
        if not self.format:
            hint = "put a line such as Format: Layer, Start, End, Style, Text above it"
            self.scan.error(start, "no Format line above names the fields of this", hint)
            return
        parts = line[at:].split(",", len(self.format) - 1)
        if len(parts) < len(self.format):
            text = f"the line has {len(parts)} fields, and not {len(self.format)}"
            self.scan.error(start, text, "see the Format line above")
            return
        begin, end = (self._time(parts, start + at, name) for name in _NEEDED[:2])
        if begin is None or end is None or not self.scan.ordered(begin[0], end[0], end[1].span[0]):
            return
        cue = Cue(
            begin=begin[0],
            end=end[0],
            text="" if _DRAWING.search(parts[-1]) else _plain(parts[-1]),
            index=len(self.cues),
            place=self.scan.place(begin[1].span[0]),
            hidden=hidden,
        )
        fields = sorted((begin[1], end[1]), key=lambda field: field.span)
        self.take(cue, Block(span=(start, self.scan.stop(number)), fields=tuple(fields)))
        if _TIMED_TAG.search(parts[-1]):
            text = "the times in this line's overrides count from where it begins, and are kept"
            self.scan.warn(start, "ass-override", text, "see whether karaoke still fits")

    def _time(self, parts: Sequence[str], at: int, name: str) -> tuple[Fraction, Field] | None:
        """Return the time in a field; ``at`` is where the first one stands."""
        number = self.format.index(name)
        part = parts[number]
        text = part.strip()
        offset = at + sum(len(one) + 1 for one in parts[:number]) + part.index(text)
        found = self.scan.time(text, offset, _TIME)
        if found is None:
            return None
        span = offset, offset + len(text)
        return found[0], Field(span=span, style=found[1], at=_NEEDED.index(name))


def _plain(words: str) -> str:
    """Return a line's words without overrides, its own signs for breaks and spaces resolved."""
    shown = _OVERRIDE.sub("", words)
    return shown.replace(r"\N", "\n").replace(r"\n", "\n").replace(r"\h", " ")
