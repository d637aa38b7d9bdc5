"""Subtitles timed by film frames: a table of which frames of which reel each one stands on.

CSV in UTF-8 with the columns ``reel``, ``first``, ``last`` and ``text``, in any order. Frames count
from 0 in the reel's scan, as in a map; both ends are included. A cell in double quotes may hold
commas and line breaks, and two double quotes in it mean one.
"""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from msgspec import Struct

from retime.follow.film_cues import FilmCue, FilmCueList, film_order
from retime.follow.subtitle_files import bounded, decoded
from retime.follow.subtitle_scan import ARROW, Scan
from retime.yamldoc.quoting import listed, quoted, suggestion

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

__all__ = ["film_cues_in", "read_film_cues"]

_CELL = re.compile(
    r"[ \t]*(?:\"(?P<quoted>[^\"]*(?:\"\"[^\"]*)*)\"[ \t]*|(?P<plain>[^,\r\n]*))"
    r"(?P<end>,|\r\n|\n|\r|\Z)"
)
_BREAK = re.compile(r"\r\n|\r")
_COLUMNS = ("reel", "first", "last", "text")
_FRAME = re.compile(r"[0-9]{1,9}")


class _Cell(Struct, frozen=True):
    text: str
    offset: int


def read_film_cues(path: Path) -> FilmCueList:
    """Read the table in the file at ``path``.

    Raises:
        DocumentError: it cannot be opened, is larger than 10 MB, not UTF-8 or UTF-16, or holds
            mistakes, each in a finding.
    """
    return film_cues_in(bounded(path), path)


def film_cues_in(data: bytes, path: Path) -> FilmCueList:
    """Read the table in ``data``; ``path`` names it in messages.

    Raises:
        DocumentError: as ``read_film_cues``.
    """
    reading = _Reading(Scan(decoded(data, path)[0], path, "list"))
    reading.read()
    reading.scan.findings(())
    return FilmCueList(path=path, cues=tuple(reading.cues), findings=film_order(reading.cues))


class _Reading:
    """A table while it is read, row by row."""

    def __init__(self, scan: Scan) -> None:
        self.scan = scan
        self.columns: list[str] = []
        self.cues: list[FilmCue] = []

    def read(self) -> None:
        for row in self._rows():
            if not any(cell.text for cell in row):
                continue
            if not self.columns:
                self.columns = [cell.text for cell in row]
                if not self._complete(row):
                    return
            else:
                self._row(row)
        if not self.columns:
            self.scan.error(0, "the list is empty", f"columns: {listed(_COLUMNS)}")
        elif not self.cues:
            self.scan.error(0, "there is no cue in the list")

    def _rows(self) -> Iterator[list[_Cell]]:
        text = self.scan.text
        at, row = 0, list[_Cell]()
        while at < len(text) or row:
            found = _CELL.match(text, at)
            if found is None or (found["plain"] or "").startswith('"'):
                hint = 'close it with ", and put nothing between that and the comma'
                self.scan.error(at, "a cell in quotes does not end", hint)
                return
            if found["quoted"] is None:
                row.append(_Cell(found["plain"].strip(), found.start("plain")))
            else:
                inside = _BREAK.sub("\n", found["quoted"].replace('""', '"'))
                row.append(_Cell(inside, found.start("quoted")))
            at = found.end()
            if found["end"] != ",":
                yield row
                row = []

    def _complete(self, row: list[_Cell]) -> bool:
        """Say whether the first row names the columns; note what is wrong with it."""
        names = self.columns
        for number, cell in enumerate(row):
            if cell.text in names[:number]:
                self.scan.error(cell.offset, f"the column {quoted(cell.text)} stands here twice")
            elif cell.text not in _COLUMNS:
                hint = suggestion(cell.text, _COLUMNS)
                self.scan.error(cell.offset, f"unknown column {quoted(cell.text)}", hint)
        lacking = [quoted(name) for name in _COLUMNS if name not in names]
        if lacking:
            hint = f"columns: {listed(_COLUMNS)}, divided by commas"
            self.scan.error(row[0].offset, f"there is no column {listed(lacking)}", hint)
        return set(names) == set(_COLUMNS)

    def _row(self, row: list[_Cell]) -> None:
        start = row[0].offset
        beyond = [cell for cell in row[len(self.columns) :] if cell.text]
        if beyond:
            text = f"the row has more cells than the {len(self.columns)} columns"
            self.scan.error(beyond[0].offset, text, "put a text that holds a comma in quotes")
            return
        cells = dict(zip(self.columns, row, strict=False))
        for name in _COLUMNS:
            if name not in cells or not cells[name].text.strip():
                at = cells[name].offset if name in cells else start
                self.scan.error(at, f"the cell of {quoted(name)} is empty")
                return
        first, last = self._frame(cells["first"]), self._frame(cells["last"])
        if first is None or last is None or not self._sound(first, last, cells):
            return
        cue = FilmCue(
            reel=cells["reel"].text,
            first=first,
            last=last,
            text=cells["text"].text.strip("\n"),
            index=len(self.cues),
            place=self.scan.place(start),
        )
        self.cues.append(cue)

    def _frame(self, cell: _Cell) -> int | None:
        if _FRAME.fullmatch(cell.text):
            return int(cell.text)
        hint = "write a whole number, counted from 0"
        self.scan.error(cell.offset, f"{quoted(cell.text)} is no film frame", hint)
        return None

    def _sound(self, first: int, last: int, cells: dict[str, _Cell]) -> bool:
        """Say whether a row can be a cue; note why it cannot."""
        words = cells["text"]
        if last < first:
            hint = "are the two exchanged?"
            self.scan.error(cells["last"].offset, f"the cue ends before its frame {first}", hint)
            return False
        if ARROW in words.text or any(
            not line.strip() for line in words.text.strip("\n").split("\n")
        ):
            text = f"the words of a cue hold no empty line and no {ARROW}"
            self.scan.error(words.offset, text, "subtitles could not be told apart")
            return False
        return True
