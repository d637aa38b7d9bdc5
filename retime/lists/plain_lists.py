"""Plain lists: a line a shot, its first frame, perhaps its last, perhaps a name.

    # reel by reel; places are frames of the scan, feet+frames, or labels
    reel 1
    18
    58    93    Skarrow Point at dusk
    94          title  Abel Quorn had kept the lamp

A shot that has no last frame runs up to the next one. ``#`` begins a remark.
"""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from retime.errors import DocumentError, NotationError
from retime.findings import Finding, TextPlace
from retime.lists.listed import Listed, ShotList
from retime.lists.listtext import MOST_FAULTS, lines_of
from retime.lists.terms import Counted, Measure
from retime.speedmap.model import ShotKind
from retime.yamldoc.quoting import listed, quoted

if TYPE_CHECKING:
    from pathlib import Path

    from retime.lists.terms import Terms

__all__ = ["read_plain"]

_REEL = re.compile(r"\s*reel\s+(?P<name>\S.*)", re.IGNORECASE)
_PLACE = r"\d+(?:\s*\+\s*\d+|[:;]\d+[:;]\d+[:;]\d+)?(?![\w+:;])"
_LINE = re.compile(
    rf"\s*(?P<first>{_PLACE})(?:(?:\s*(?:-|\.\.|,)\s*|\s+)(?P<last>{_PLACE}))?(?P<rest>.*)"
)
_TITLE = re.compile(r"title\b[:,]?\s*", re.IGNORECASE)
_RULE = "list"
_HINT = "a line is: first frame, perhaps last frame, perhaps a name; reel NAME begins a reel"


def read_plain(data: bytes, path: Path, terms: Terms) -> ShotList:
    """Read a plain list.

    Raises:
        DocumentError: with every fault.
    """
    reading = _Reading(path, terms)
    for number, line in enumerate(lines_of(data, path), start=1):
        bare = line.partition("#")[0].rstrip()
        if bare.strip():
            reading.take(number, bare)
        if len(reading.errors) > MOST_FAULTS:
            break
    return reading.shot_list()


class _Reading:
    def __init__(self, path: Path, terms: Terms) -> None:
        self._path, self._terms = path, terms
        self._reel = terms.only
        if self._reel is None and len(terms.reels) == 1:
            self._reel = next(iter(terms.reels))
        self._measure: tuple[Measure, int] | None = None
        self._shots: list[Listed] = []
        self.errors: list[Finding] = []

    def take(self, number: int, line: str) -> None:
        """Take a line that says something."""
        reel = _REEL.fullmatch(line)
        if reel:
            self._begin(number, reel)
            return
        found = _LINE.fullmatch(line)
        if not found:
            column = len(line) - len(line.lstrip()) + 1
            self._error(number, column, f"{quoted(line.strip())} begins with no place", _HINT)
            return
        if self._reel is None:
            self._error(
                number, 1, "nothing says which reel this is of", "write a line reel NAME before it"
            )
            self._reel = ""
        if self._reel:
            self._take_shot(number, found, self._reel)

    def shot_list(self) -> ShotList:
        """Return the shots, once all lines are taken."""
        if not self._shots and not self.errors:
            place = TextPlace(path=self._path)
            self.errors.append(
                Finding(place=place, rule=_RULE, text="there is no shot in the list", hint=_HINT)
            )
        if self.errors:
            raise DocumentError(self.errors)
        return ShotList(shots=tuple(self._shots))

    def _begin(self, number: int, found: re.Match[str]) -> None:
        name = found["name"].removesuffix(":").rstrip() or found["name"]  # a line ends in no blank
        reel = self._terms.reel(name)
        if reel is None:
            called = f"--reel {quoted(name)[1:-1]}=NAME says which"
            hint = f"there are {listed(self._terms.reels)}; {called}"
            self._error(number, found.start("name") + 1, f"there is no reel {quoted(name)}", hint)
        self._reel = reel or ""

    def _take_shot(self, number: int, found: re.Match[str], reel: str) -> None:
        first = self._counted(number, found, "first", reel)
        last = self._counted(number, found, "last", reel) if found["last"] else None
        if first is None or (found["last"] and last is None):
            return
        try:
            low = self._terms.scan_frame(first, reel)
            high = None
            if last is not None:
                after = Counted(last.measure, last.frames + 1)
                high = self._terms.scan_frame(after, reel) - 1
        except NotationError as error:
            self._error(number, found.start("first") + 1, error.text, error.hint)
            return
        if high is not None and high < low:
            self._error(number, found.start("last") + 1, "the shot ends before it begins")
            return
        rest = found["rest"].strip(" \t,")
        title = _TITLE.match(rest)
        self._shots.append(
            Listed(
                reel=reel,
                first=low,
                last=high,
                place=TextPlace(path=self._path, line=number, column=found.start("first") + 1),
                kind=ShotKind.TITLE if title else ShotKind.ACTION,
                name=(rest[title.end() :] if title else rest) or None,
            )
        )

    def _counted(self, number: int, found: re.Match[str], which: str, reel: str) -> Counted | None:
        try:
            place = self._terms.counted(found[which], reel)
        except NotationError as error:
            self._error(number, found.start(which) + 1, error.text, error.hint)
            return None
        if self._measure is None:
            self._measure = place.measure, number
        if place.measure is not self._measure[0]:
            what = f"{quoted(found[which])} counts {place.measure}"
            hint = f"line {self._measure[1]} counts {self._measure[0]}: keep to one"
            self._error(number, found.start(which) + 1, what, hint)
            return None
        return place

    def _error(self, line: int, column: int, text: str, hint: str = "") -> None:
        place = TextPlace(path=self._path, line=line, column=column)
        self.errors.append(Finding(place=place, rule=_RULE, text=text, hint=hint))
