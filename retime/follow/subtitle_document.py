"""A file of subtitles that is written again with nothing changed but its times.

The libraries that know these formats keep what they model: pysubs2 has times of whole
milliseconds and neither WebVTT's settings nor TTML's attributes, webvtt-py moves notes and styles.
So the text itself is kept, with the exact span of every time in it.
"""

from __future__ import annotations

from enum import StrEnum
from fractions import Fraction
from itertools import pairwise
from typing import TYPE_CHECKING

from msgspec import Struct

from retime.errors import OutputError
from retime.film.rounding import half_up

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence
    from pathlib import Path

    from retime.findings import Finding
    from retime.follow.cues import Cue
    from retime.follow.subtitle_times import TimeStyle

__all__ = ["Block", "Encoding", "Field", "Span", "SubtitleDocument", "SubtitleKind", "write_bytes"]

_ZERO = Fraction(0)

Span = tuple[int, int]
"""Where a piece of text begins and the character after it."""


class SubtitleKind(StrEnum):
    """The formats of subtitle files."""

    SRT = "SRT"
    VTT = "WebVTT"
    ASS = "ASS"
    TTML = "TTML"


class Encoding(Struct, frozen=True, kw_only=True):
    """How text becomes bytes; ``mark`` is the byte order mark in front."""

    codec: str
    mark: bytes = b""


class Field(Struct, frozen=True, kw_only=True):
    """Where one of a cue's times stands, and how it is written.

    ``at`` counts in ``Cue.times``. What is written is the time since another of them where
    ``since`` is not None, as in a duration.
    """

    span: Span
    style: TimeStyle
    at: int
    since: int | None = None


class Block(Struct, frozen=True, kw_only=True):
    """A cue's own text; ``fields`` rise.

    ``number`` is where its running number stands. ``once`` is what names it and may stand in a
    file only once.
    """

    span: Span
    fields: tuple[Field, ...]
    number: Span | None = None
    once: Span | None = None


class SubtitleDocument(Struct, frozen=True, kw_only=True):
    """Cues in the order of the file, one for each block; ``findings`` are its warnings.

    ``resolution`` is the smallest step of its times, in seconds. Blocks of a file that ``moves``
    stand in the order of their times, of others where they are. ``gap`` is what parts two blocks.
    """

    path: Path
    kind: SubtitleKind
    encoding: Encoding
    text: str
    blocks: tuple[Block, ...]
    cues: tuple[Cue, ...]
    resolution: Fraction
    moves: bool
    gap: str
    findings: tuple[Finding, ...] = ()

    def write(self, path: Path, cues: Sequence[Cue]) -> None:
        """Write the document with the times of ``cues``.

        Raises:
            OutputError: the file cannot be written.
        """
        write_bytes(path, self.encoded(cues))

    def encoded(self, cues: Sequence[Cue]) -> bytes:
        """Return the document with the times of ``cues``, as bytes in its own encoding.

        Times are rounded half up to the format's resolution; one that is what it was stays as it
        was written. A block that no cue has is taken out, one that several have is repeated.
        Running numbers stay, so that a cue is found again by its own, unless blocks are moved or
        repeated: then they are counted anew.
        """
        return self.encoding.mark + self._written(cues).encode(self.encoding.codec)

    def _written(self, cues: Sequence[Cue]) -> str:
        anew = any(one.index >= other.index for one, other in pairwise(cues))
        pieces: list[str] = []
        at = count = 0
        begun = False
        used: set[int] = set()
        for block, inside in zip(self.blocks, self._slots(cues), strict=True):
            between = self.text[at : block.span[0]]
            between = between if begun or not at else between.lstrip("\r\n")
            pieces.append(between if inside else between.rstrip())
            begun = begun or bool(inside or pieces[-1])
            for place, cue in enumerate(inside):
                count += 1
                pieces.append(self.gap if place else "")
                again = cue.index in used
                pieces.extend(self._block(cue, count if anew else None, again=again))
                used.add(cue.index)
            at = block.span[1]
        rest = self.text[at:]
        return "".join(pieces) + (rest if begun else rest.lstrip("\r\n"))

    def _slots(self, cues: Sequence[Cue]) -> list[list[Cue]]:
        """Return which cues stand in the place of each block."""
        slots: list[list[Cue]] = [[] for _ in self.blocks]
        places = [cue.index for cue in cues]
        if self.moves and places != sorted(places):
            kept = sorted(set(places))
            places = [kept[min(number, len(kept) - 1)] for number in range(len(cues))]
        for place, cue in zip(places, cues, strict=True):
            slots[place].append(cue)
        return slots

    def _block(self, cue: Cue, number: int | None, *, again: bool) -> Iterator[str]:
        """Yield a block's text in pieces, its times and perhaps its number being new."""
        block, was = self.blocks[cue.index], self.cues[cue.index]
        at, stop = block.span
        for (first, last), new in self._changes(block, cue, was, number, again=again):
            yield self.text[at:first]
            yield new
            at = last
        yield self.text[at:stop]

    def _changes(
        self, block: Block, cue: Cue, was: Cue, number: int | None, *, again: bool
    ) -> list[tuple[Span, str]]:
        changes = list(_new_times(block, cue.times, was.times))
        if block.number is not None and number is not None:
            changes.append((block.number, str(number)))
        if block.once is not None and again:
            changes.append((block.once, ""))
        return sorted(changes)


def write_bytes(path: Path, data: bytes) -> None:
    """Write a file.

    Raises:
        OutputError: it cannot be written.
    """
    try:
        path.write_bytes(data)
    except OSError as error:
        reason = error.strerror or str(error)
        text = f"cannot be written: {reason[:1].lower()}{reason[1:]}"
        raise OutputError(path, text) from error


def _new_times(
    block: Block, times: Sequence[Fraction], were: Sequence[Fraction]
) -> Iterator[tuple[Span, str]]:
    """Yield what is to be written for the times that are no longer what they were.

    A difference is counted from where its other end now stands, so that the two add up.
    """
    standing: dict[int | None, Fraction] = {None: _ZERO}
    for field in sorted(block.fields, key=lambda one: one.at):
        since = standing[field.since]
        if _meant(field, times) == _meant(field, were):
            standing.setdefault(field.at, times[field.at])
            continue
        steps = max(0, half_up((times[field.at] - since) * field.style.per_second))
        standing.setdefault(field.at, since + Fraction(steps, field.style.per_second))
        yield field.span, field.style.text(steps)


def _meant(field: Field, times: Sequence[Fraction]) -> tuple[Fraction, Fraction | None]:
    """Return the times that a field stands for."""
    return times[field.at], None if field.since is None else times[field.since]
