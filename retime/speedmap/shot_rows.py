"""A table of shots changed in place: cells and rows, the rest of it untouched."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from retime.speedmap.shotlist import CELL, read_shots
from retime.yamldoc.changes import Change, changed, line_of, newline_at
from retime.yamldoc.lines import Lines
from retime.yamldoc.reading import utf8

if TYPE_CHECKING:
    from collections.abc import Mapping
    from pathlib import Path

__all__ = ["TableRewriting"]

_PLAIN = re.compile(r'[^",\s](?:[^",]*[^",\s])?')


class TableRewriting:
    """One table's text, and the changes to be made to it; rows are numbered from 0."""

    def __init__(self, data: bytes, path: Path) -> None:
        """Take a table in which nothing is wrong."""
        self._text = utf8(data, path)
        self._starts = Lines.of(self._text, path).starts
        self._table, _ = read_shots(data, path)
        self._changes: list[Change] = []

    def result(self) -> str:
        """Return the text with all changes made."""
        return changed(self._text, self._changes)

    def set_cells(self, row: int, values: Mapping[str, str]) -> None:
        """Write other texts into cells of a row that are filled, by their columns' names."""
        self._changes += self._cells(row, values)

    def copy_row(self, row: int, values: Mapping[str, str]) -> None:
        """Put a copy of a row behind it, with other ``values`` in cells that are filled."""
        start, stop, _ = self._line(row)
        cells = [
            Change(one.start - start, one.stop - start, one.text)
            for one in self._cells(row, values)
        ]
        copy = changed(self._text[start:stop], cells)
        self._changes.append(Change(stop, stop, newline_at(self._text, start) + copy))

    def remove_row(self, row: int) -> None:
        """Take a row out, with its line."""
        start, _, after = self._line(row)
        self._changes.append(Change(start, after, ""))

    def _line(self, row: int) -> tuple[int, int, int]:
        return line_of(self._text, self._starts[self._table.rows[row].line - 1])

    def _cells(self, row: int, values: Mapping[str, str]) -> list[Change]:
        """Return the changes that put texts into a row's cells, in the quotes they have."""
        start, stop, _ = self._line(row)
        line, at = self._text[start:stop], 0
        wanted = {self._table.rows[row].cells[name][1] - 1: text for name, text in values.items()}
        changes = []
        while wanted and (found := CELL.match(line, at)):
            kind = "plain" if found["quoted"] is None else "quoted"
            text = wanted.pop(found.start(kind), None)
            if text is not None:
                held = found[kind]
                until = found.end(kind) - (len(held) - len(held.rstrip()) if kind == "plain" else 0)
                doubled = text.replace('"', '""')
                if kind == "quoted":
                    text = doubled
                elif not _PLAIN.fullmatch(text):
                    text = f'"{doubled}"'
                changes.append(Change(start + found.start(kind), start + until, text))
            if not found["end"]:
                break
            at = found.end()
        return changes
