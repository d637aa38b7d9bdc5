"""Tables of shots, CSV or TSV, with named columns in any order.

Places are frames of the scan, feet+frames, or labels, one kind a table. ``first`` and ``last`` are
both included, ``in`` and ``out`` leave the out's frame out, ``length`` counts from first or in,
or from where the row before has ended. Columns of other names are told and not carried over.
"""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, NamedTuple, TypeAlias

from retime.errors import DocumentError, NotationError
from retime.findings import Finding, Severity, TextPlace
from retime.lists.listed import Listed, ShotList
from retime.lists.listtext import MOST_FAULTS, lines_of
from retime.lists.terms import Counted, Measure
from retime.speedmap.model import ShotKind
from retime.yamldoc.quoting import listed, quoted

if TYPE_CHECKING:
    from pathlib import Path

    from retime.lists.terms import Terms

__all__ = ["COLUMNS", "read_table"]

COLUMNS = ("reel", "first", "last", "in", "out", "length", "shot", "kind", "name")
"""The columns that are read."""

_BEGINS, _ENDS = ("first", "in"), ("last", "out", "length")
_RULE = "table"
_DIVIDERS = {";": "semicolons", ",": "commas", "\t": "tabs"}
_DIVIDED = {",": "commas (by tabs in a .tsv, or with --as tsv)", "\t": "tabs (by commas in a .csv)"}


class _Cell(NamedTuple):
    text: str
    column: int


_Row: TypeAlias = dict[str, _Cell]


def read_table(data: bytes, path: Path, terms: Terms, *, tabs: bool = False) -> ShotList:
    """Read a table whose cells are divided by commas, or by ``tabs``.

    Raises:
        DocumentError: with every fault.
    """
    reading = _Reading(path, terms, "\t" if tabs else ",")
    for number, line in enumerate(lines_of(data, path), start=1):
        if line.strip(" \t,"):
            reading.take(number, line)
        if len(reading.errors) > MOST_FAULTS:
            break
    return reading.shot_list()


class _Reading:
    def __init__(self, path: Path, terms: Terms, divider: str) -> None:
        self._path, self._terms, self._divider = path, terms, divider
        quoted_cell = r'"(?P<quoted>(?:[^"]|"")*)"[ ]*'
        self._cell = re.compile(
            rf"[ ]*(?:{quoted_cell}|(?P<plain>[^{divider}]*))(?P<end>{divider}|$)"
        )
        self._columns: list[str | None] | None = None
        self._shots: list[Listed] = []
        self._measure: tuple[Measure, int] | None = None
        self._stops: dict[str, int] = {}
        self._empty = 0
        self.errors: list[Finding] = []
        self._warnings: list[Finding] = []

    def take(self, number: int, line: str) -> None:
        """Take a line that is not empty; the first names the columns."""
        cells = self._cells(number, line)
        if cells is None:
            return
        if self._columns is None:
            self._columns = self._named(number, cells)
            return
        if any(cell.text for cell in cells[len(self._columns) :]):
            text = f"the row has more cells than the {len(self._columns)} columns"
            hint = "put a text that holds a comma in quotes"
            self._error(number, cells[len(self._columns)].column, text, hint)
            return
        pairs = zip(self._columns, cells, strict=False)
        row = {name: cell for name, cell in pairs if name and cell.text}
        if row and not self._lacking():
            self._take_row(number, row)

    def shot_list(self) -> ShotList:
        """Return the shots, once all lines are taken."""
        if self._columns is None:
            place = TextPlace(path=self._path)
            self.errors.append(Finding(place=place, rule=_RULE, text="the table is empty"))
        elif not self._shots and not self.errors:
            self._error(1, 1, "the table has no row that is a shot")
        if self.errors:
            raise DocumentError([*self._warnings, *self.errors])
        if self._empty:
            rows = "row that names" if self._empty == 1 else "rows that name"
            self._warn(0, f"{self._empty} {rows} no frames not carried over")
        return ShotList(shots=tuple(self._shots), findings=tuple(self._warnings))

    def _cells(self, number: int, line: str) -> list[_Cell] | None:
        cells: list[_Cell] = []
        at = 0
        while True:
            found = self._cell.match(line, at)
            if found is None or (found["plain"] or "").startswith('"'):
                self._error(number, at + 1, "a quoted cell does not end", 'close it with "')
                return None
            kind = "plain" if found["quoted"] is None else "quoted"
            text = found[kind].replace('""', '"') if kind == "quoted" else found[kind].strip()
            cells.append(_Cell(text, found.start(kind) + 1))
            at = found.end()
            if not found["end"]:
                return cells

    def _named(self, number: int, cells: list[_Cell]) -> list[str | None]:
        names: list[str | None] = []
        unknown: list[str] = []
        for cell in cells:
            name = cell.text.lower()
            if name in COLUMNS and name in names:
                self._error(number, cell.column, f"the column {quoted(name)} stands here twice")
            names.append(name if name in COLUMNS else None)
            if name and name not in COLUMNS:
                unknown.append(quoted(cell.text))
        self._columns = names
        lacking = self._lacking()
        if lacking:
            hint = self._otherwise_divided(cells) or f"columns that are read: {listed(COLUMNS)}"
            self._error(number, 1, lacking, hint)
        elif unknown:
            what = f"not carried over: {'column' if len(unknown) == 1 else 'columns'} "
            self._warn(number, what + listed(unknown))
        return names

    def _otherwise_divided(self, cells: list[_Cell]) -> str | None:
        """Return a hint where the line of names seems to be divided by something else."""
        for sign, found in _DIVIDERS.items():
            if sign != self._divider and len(cells) == 1 and sign in cells[0].text:
                return f"columns are divided by {_DIVIDED[self._divider]}, and here are {found}"
        return None

    def _lacking(self) -> str | None:
        names = self._columns or ()
        if not any(name in names for name in (*_BEGINS, "length")):
            return 'no column says where a shot begins: "first" or "in"'
        for one, other in (_BEGINS, _ENDS[:2]):
            if one in names and other in names:
                return f"the columns {quoted(one)} and {quoted(other)} say the same thing"
        if "reel" not in names and self._terms.only is None:
            return 'there is no column "reel", and no --reel says which all of it is of'
        return None

    def _take_row(self, number: int, row: _Row) -> None:
        if not any(name in row for name in (*_BEGINS, *_ENDS)):
            self._empty += 1  # black, a card, a head: no film of a scan
            return
        reel = self._reel(number, row)
        if reel is None:
            return
        span = self._span(number, row, reel)
        if span is None:
            return
        kind = self._kind(number, row)
        begin = next((row[name] for name in (*_BEGINS, *_ENDS) if name in row), None)
        place = TextPlace(path=self._path, line=number, column=begin.column if begin else 1)
        shot, name = row.get("shot"), row.get("name")
        self._shots.append(
            Listed(
                reel=reel,
                first=span[0],
                last=span[1],
                place=place,
                shot=shot.text if shot else None,
                kind=kind,
                name=name.text if name else None,
            )
        )

    def _reel(self, number: int, row: _Row) -> str | None:
        cell = row.get("reel")
        if cell is None and self._terms.only is None:
            self._error(number, 1, "the row names no reel")
            return None
        reel = self._terms.reel(cell.text if cell else "")
        if reel is None and cell is not None:
            called = f"--reel {quoted(cell.text)[1:-1]}=NAME says which"
            hint = f"there are {listed(self._terms.reels)}; {called}"
            self._error(number, cell.column, f"there is no reel {quoted(cell.text)}", hint)
        return reel

    def _kind(self, number: int, row: _Row) -> ShotKind:
        cell = row.get("kind")
        try:
            return ShotKind(cell.text.lower()) if cell else ShotKind.ACTION
        except ValueError:
            text = cell.text if cell else ""
            hint = "it is action or title"
            self._error(number, cell.column if cell else 1, f"{quoted(text)} is no kind", hint)
            return ShotKind.ACTION

    def _span(self, number: int, row: _Row, reel: str) -> tuple[int, int | None] | None:
        """Return the first and last scan frame of a row's shot; told where they cannot be."""
        begin = next((row[name] for name in _BEGINS if name in row), None)
        end = next((name for name in _ENDS if name in row), None)
        if begin is None and "length" not in row:
            self._error(number, 1, "the row does not say where its shot begins")
            return None
        first: Counted | None = None
        if begin is not None:
            first = self._counted(number, begin, reel)
            if first is None:
                return None
        stop = None
        if end is not None:
            place = self._counted(number, row[end], reel)
            if place is None:
                return None
            stop = self._stop(end, first, place, reel)
        return self._framed(number, (first, stop), (begin, row.get(end or "")), reel)

    def _stop(self, end: str, first: Counted | None, place: Counted, reel: str) -> Counted:
        """Return the place after a shot's last frame."""
        if end == "length":
            begins = first.frames if first else self._stops.get(reel, self._begin(reel, place))
            return Counted(place.measure, begins + place.frames)
        return Counted(place.measure, place.frames + (end == "last"))

    def _begin(self, reel: str, place: Counted) -> int:
        """Return where the first length of a reel begins, in its own measure."""
        return self._terms.known(reel).first if place.measure is Measure.FRAMES else 0

    def _framed(
        self,
        number: int,
        ends: tuple[Counted | None, Counted | None],
        cells: tuple[_Cell | None, _Cell | None],
        reel: str,
    ) -> tuple[int, int | None] | None:
        first, stop = ends
        if first is None and stop is not None:
            first = Counted(stop.measure, self._stops.get(reel, self._begin(reel, stop)))
        if first is None:
            return None
        column = next((cell.column for cell in cells[::-1] if cell), 1)
        try:
            low = self._terms.scan_frame(first, reel)
            if stop is None:
                return low, None
            self._stops[reel] = stop.frames
            high = self._terms.scan_frame(stop, reel) - 1
        except NotationError as error:
            self._error(number, cells[0].column if cells[0] else column, error.text, error.hint)
            return None
        if high < low:
            self._error(number, column, "the shot ends before it begins")
            return None
        return low, high

    def _counted(self, number: int, cell: _Cell, reel: str) -> Counted | None:
        """Read a place; the first of a table says what all of it is counted in."""
        try:
            place = self._terms.counted(cell.text, reel)
        except NotationError as error:
            self._error(number, cell.column, error.text, error.hint)
            return None
        if self._measure is None:
            self._measure = place.measure, number
        if place.measure is not self._measure[0]:
            what = f"{quoted(cell.text)} counts {place.measure}"
            hint = f"line {self._measure[1]} counts {self._measure[0]}: keep to one"
            self._error(number, cell.column, what, hint)
            return None
        return place

    def _warn(self, line: int, text: str) -> None:
        place = TextPlace(path=self._path, line=line, column=min(line, 1))
        self._warnings.append(
            Finding(place=place, rule=_RULE, text=text, severity=Severity.WARNING)
        )

    def _error(self, line: int, column: int, text: str, hint: str = "") -> None:
        place = TextPlace(path=self._path, line=line, column=column)
        self.errors.append(Finding(place=place, rule=_RULE, text=text, hint=hint))
