"""Subtitle text while it is read line by line, and what is found wrong or odd in it."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, NamedTuple, NoReturn

from retime.errors import DocumentError, NotationError
from retime.findings import Finding
from retime.follow.cues import order_findings, told, warning
from retime.follow.subtitle_document import Field, SubtitleDocument
from retime.yamldoc.lines import Lines

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence
    from fractions import Fraction
    from pathlib import Path
    from typing import TypeAlias

    from retime.findings import TextPlace
    from retime.follow.cues import Cue
    from retime.follow.subtitle_document import Block, Encoding, SubtitleKind
    from retime.follow.subtitle_times import TimeStyle

    Reader: TypeAlias = Callable[[str], tuple[Fraction, TimeStyle]]

__all__ = ["ARROW", "MOST_CUES", "MOST_ERRORS", "MOST_LINES", "Reading", "Scan", "Timing"]

ARROW = "-->"
MOST_ERRORS = 100
"""A file with so many mistakes is read no further."""
MOST_CUES = 50_000
MOST_LINES = 500_000
"""A film of three hours has three thousand cues; what has more than these is something else."""

_BREAK = re.compile(r"\r\n|\n|\r")
_WORD = re.compile(r"\S+")


class Timing(NamedTuple):
    """A cue's two times and where they stand."""

    begin: Fraction
    end: Fraction
    fields: tuple[Field, Field]


class Reading:
    """A text while its cues are found."""

    def __init__(self, scan: Scan) -> None:
        """Begin with none."""
        self.scan = scan
        self.cues: list[Cue] = []
        self.blocks: list[Block] = []

    def take(self, cue: Cue, block: Block) -> None:
        """Add a cue and its block.

        Raises:
            DocumentError: it is one too many.
        """
        if len(self.cues) == MOST_CUES:
            self.scan.stop_at(block.span[0], f"the file has more than {MOST_CUES:,} cues")
        self.cues.append(cue)
        self.blocks.append(block)

    def document(
        self, kind: SubtitleKind, encoding: Encoding, *, resolution: Fraction, moves: bool, gap: str
    ) -> SubtitleDocument:
        """Return what was read; raises DocumentError where mistakes were found."""
        return SubtitleDocument(
            path=self.scan.lines.path,
            kind=kind,
            encoding=encoding,
            text=self.scan.text,
            blocks=tuple(self.blocks),
            cues=tuple(self.cues),
            resolution=resolution,
            moves=moves,
            gap=gap,
            findings=self.scan.findings(self.cues),
        )


class Scan:
    """A text by its lines, counted from 0, and the findings about it."""

    def __init__(self, text: str, path: Path, rule: str) -> None:
        """Begin to read; ``rule`` is that of every mistake in the format.

        Raises:
            DocumentError: there are more than 500,000 lines.
        """
        self.text = text
        self.rule = rule
        self.lines = Lines.of(text, path)
        first = _BREAK.search(text)
        self.line_break = first[0] if first else "\n"
        self._errors: list[Finding] = []
        self._warnings: dict[str, list[Finding]] = {}
        if len(self) > MOST_LINES:
            self.stop_at(self.start(MOST_LINES), f"the file has more than {MOST_LINES:,} lines")

    def __len__(self) -> int:
        """Return how many lines there are; the last one may be empty."""
        return len(self.lines.starts)

    def start(self, number: int) -> int:
        """Return where a line begins, as an offset into the text."""
        return self.lines.starts[number]

    def line(self, number: int) -> str:
        """Return a line without its break."""
        starts = self.lines.starts
        stop = starts[number + 1] if number + 1 < len(starts) else len(self.text)
        return self.text[starts[number] : stop].rstrip("\r\n")

    def stop(self, number: int) -> int:
        """Return where a line's text ends, as an offset."""
        return self.start(number) + len(self.line(number))

    def body(self, first: int, last: int) -> str:
        """Return the lines from ``first`` to ``last`` in one, broken by newlines."""
        return "\n".join(self.line(number) for number in range(first, last + 1))

    def place(self, offset: int) -> TextPlace:
        """Return the place of a character."""
        return self.lines.place(offset)

    def error(self, offset: int, text: str, hint: str = "") -> None:
        """Note a mistake.

        Raises:
            DocumentError: it is one too many.
        """
        place = self.place(offset)
        self._errors.append(Finding(place=place, rule=self.rule, text=text, hint=hint))
        if len(self._errors) >= MOST_ERRORS:
            self.stop_at(offset, f"after {MOST_ERRORS} mistakes the file is read no further")

    def stop_at(self, offset: int, text: str) -> NoReturn:
        """Read no further, for what is said in ``text``.

        Raises:
            DocumentError: always, with the mistakes noted before.
        """
        stop = Finding(place=self.place(offset), rule=self.rule, text=text)
        raise DocumentError([*self._errors, stop])

    def warn(self, offset: int, rule: str, text: str, hint: str = "") -> None:
        """Note what is odd and can be read."""
        found = self._warnings.setdefault(rule, [])
        found.append(warning(self.place(offset), rule, text, hint))

    def time(self, text: str, offset: int, read: Reader) -> tuple[Fraction, TimeStyle] | None:
        """Return a time that ``read`` understands; else note where it stands, and return None."""
        try:
            return read(text)
        except NotationError as error:
            self.error(offset, error.text, error.hint)
            return None

    def timing(self, number: int, read: Reader) -> Timing | None:
        """Return the times on a line with an arrow; None, and a finding, where one is none."""
        line = self.line(number)
        at = line.index(ARROW)
        begin = self._field(number, 0, line[:at].strip(), read, 0)
        words = _WORD.search(line, at + len(ARROW))
        end = self._field(number, at + len(ARROW), words[0] if words else "", read, 1)
        if begin is None or end is None:
            return None
        if not self.ordered(begin[0], end[0], end[1].span[0]):
            return None
        return Timing(begin[0], end[0], (begin[1], end[1]))

    def _field(
        self, number: int, after: int, text: str, read: Reader, at: int
    ) -> tuple[Fraction, Field] | None:
        """Return a time in a line, at or after a column, and its field."""
        offset = self.start(number) + self.line(number).index(text, after)
        found = self.time(text, offset, read)
        if found is None:
            return None
        return found[0], Field(span=(offset, offset + len(text)), style=found[1], at=at)

    def ordered(self, begin: Fraction, end: Fraction, offset: int) -> bool:
        """Say whether a cue does not end before it begins; note it if it does."""
        if end >= begin:
            return True
        self.error(offset, "the cue ends before it begins", "are the two times exchanged?")
        return False

    def findings(self, cues: Sequence[Cue]) -> tuple[Finding, ...]:
        """Return what is odd in the text and in the order of its cues, as the file is read.

        Raises:
            DocumentError: there are mistakes; all that was found is in it.
        """
        every = [one for found in self._warnings.values() for one in told(found, "of these")]
        every = sorted([*every, *order_findings(cues)], key=lambda one: one.place.order)
        if self._errors:
            raise DocumentError([*self._errors, *every])
        return tuple(every)
