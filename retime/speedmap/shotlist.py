"""The table of shots: CSV read so that every cell knows its line and column.

The first line names the columns, in any order. Cells are divided by commas; one in double quotes
may hold commas, and two double quotes in it mean one. Empty lines are passed over.
"""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, TypeAlias

from msgspec import Struct

from retime.findings import Finding, TextPlace
from retime.speedmap.document import ShotSection
from retime.yamldoc.quoting import listed, quoted, suggestion
from retime.yamldoc.reading import utf8

if TYPE_CHECKING:
    from pathlib import Path

    from retime.yamldoc.tree import NodePath

__all__ = ["CELL", "MOST_LINES", "ShotTable", "read_shots"]

MOST_LINES = 100_000
_LONGEST_LINE = 10_000
_MOST_FINDINGS = 200
"""A table with more is something else, and nobody reads on."""

_LINE_BREAK = re.compile(r"\r\n|\n|\r")
CELL = re.compile(r'\s*(?:"(?P<quoted>(?:[^"]|"")*)"\s*|(?P<plain>[^,]*))(?P<end>,|$)')
"""A cell of a line, with what ends it."""
_COLUMNS = tuple(ShotSection.model_fields)
_NEEDED = tuple(name for name, one in ShotSection.model_fields.items() if one.is_required())

_Cells: TypeAlias = list[tuple[str, int]]
"""A line's cells, each with the column at which it begins."""


class _Row(Struct, frozen=True):
    line: int
    cells: dict[str, tuple[str, int]]


class ShotTable(Struct, frozen=True):
    """The rows of a table; a path into it is a row's index and a column's name."""

    path: Path
    rows: tuple[_Row, ...]

    def plain(self) -> list[dict[str, str]]:
        """Return the rows as dicts; an empty cell is left out."""
        return [{name: text for name, (text, _) in row.cells.items()} for row in self.rows]

    def place(self, path: NodePath, *, key: bool = False) -> TextPlace:  # noqa: ARG002
        """Return the place of a cell, or of its row if it has none."""
        row = self._row(path)
        if row is None:
            return TextPlace(path=self.path)
        column = next((row.cells[str(step)][1] for step in path[1:] if step in row.cells), 1)
        return TextPlace(path=self.path, line=row.line, column=column)

    def has(self, path: NodePath) -> bool:
        """Say whether a cell is filled."""
        row = self._row(path)
        return row is not None and all(step in row.cells for step in path[1:])

    def _row(self, path: NodePath) -> _Row | None:
        index = path[0] if path else None
        return self.rows[index] if isinstance(index, int) and index < len(self.rows) else None


def read_shots(data: bytes, path: Path) -> tuple[ShotTable, tuple[Finding, ...]]:
    """Return the table in ``data``, and what is wrong with its lines.

    Raises:
        DocumentError: it is not UTF-8.
    """
    reading = _Reading(path)
    for number, line in enumerate(_LINE_BREAK.split(utf8(data, path)), start=1):
        if number > MOST_LINES:
            reading.note(number, 1, "table", f"the table has more than {MOST_LINES:,} lines")
            break
        if len(line) > _LONGEST_LINE:
            text = f"the line has more than {_LONGEST_LINE:,} characters"
            reading.note(number, _LONGEST_LINE + 1, "table", text)
            break
        if line.strip(" \t,"):
            reading.take(number, line)
        if len(reading.findings) > _MOST_FINDINGS:
            break
    if reading.columns is None:
        reading.note(0, 0, "table", "the table of shots is empty", f"columns: {listed(_COLUMNS)}")
    return ShotTable(path, tuple(reading.rows)), tuple(reading.findings)


class _Reading:
    """A table while it is read, line by line."""

    def __init__(self, path: Path) -> None:
        self.path = path
        self.columns: list[str | None] | None = None
        self.rows: list[_Row] = []
        self.findings: list[Finding] = []

    def note(self, line: int, column: int, rule: str, text: str, hint: str = "") -> None:
        place = TextPlace(path=self.path, line=line, column=column)
        self.findings.append(Finding(place=place, rule=rule, text=text, hint=hint))

    def take(self, number: int, line: str) -> None:
        """Take a line that is not empty: the first names the columns."""
        cells = self._cells(number, line)
        if self.columns is None:
            self.columns = self._named(number, cells)
            return
        beyond = [column for text, column in cells[len(self.columns) :] if text]
        if beyond:
            text = f"the row has more cells than the {len(self.columns)} columns"
            self.note(number, beyond[0], "table", text, "put a text that holds a comma in quotes")
        if all(name in self.columns for name in _NEEDED):
            pairs = zip(self.columns, cells, strict=False)
            self.rows.append(_Row(number, {name: cell for name, cell in pairs if name and cell[0]}))

    def _cells(self, number: int, line: str) -> _Cells:
        cells: _Cells = []
        at = 0
        while True:
            found = CELL.match(line, at)
            if found is None or (found["plain"] or "").startswith('"'):
                self.note(number, at + 1, "table", "a quoted cell does not end", 'close it with "')
                return [*cells, (line[at:].strip(), at + 1)]
            kind = "plain" if found["quoted"] is None else "quoted"
            text = found[kind].replace('""', '"') if kind == "quoted" else found[kind].strip()
            cells.append((text, found.start(kind) + 1))
            at = found.end()
            if not found["end"]:
                return cells

    def _named(self, number: int, cells: _Cells) -> list[str | None]:
        """Return the columns' names, None for one that is not read."""
        names: list[str | None] = []
        for text, column in cells:
            known = text in _COLUMNS and text not in names
            names.append(text if known else None)
            if text in names[:-1]:
                self.note(number, column, "table", f"the column {quoted(text)} stands here twice")
            elif not known:
                what = f"unknown column {quoted(text)}"
                self.note(number, column, "table", what, suggestion(text, _COLUMNS))
        lacking = [name for name in _NEEDED if name not in names]
        if lacking:
            hint = f"columns: {listed(_COLUMNS)}, divided by commas"
            what = f"there is no column {listed(quoted(name) for name in lacking)}"
            self.note(number, 1, "table", what, hint)
        return names
