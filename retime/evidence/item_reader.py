"""One item while it is read: its figures come to numbers, and what is wrong gathers."""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING, TypeVar

from msgspec import Struct

from retime.errors import NotationError
from retime.evidence.document import ItemSection, MeasuredSection, OfPrintSection
from retime.evidence.families import LENGTH, by_metres
from retime.evidence.figures import FINEST, Figure
from retime.evidence.lengths import frames_of, shots_named
from retime.evidence.measures import Measures
from retime.evidence.quantity import Quantity, exactly
from retime.findings import Finding, Severity
from retime.yamldoc.quoting import listed, quoted

if TYPE_CHECKING:
    from collections.abc import Sequence

    from retime.evidence.families import Family
    from retime.evidence.lengths import Part
    from retime.findings import TextPlace
    from retime.speedmap.model import Shot
    from retime.speedmap.place import Where

__all__ = ["Film", "ItemReader", "Told"]

_T = TypeVar("_T")


class Film(Struct, frozen=True, kw_only=True):
    """What a file says of the film that its items speak of.

    ``length`` is that of the scanned print in frames, None where it could not be read. ``shots``
    are the map's, None where no map is named; ``whole`` is False where a map could not be read.
    """

    measures: Measures
    length: Quantity | None
    shots: tuple[Shot, ...] | None = None
    whole: bool = True


class Told(Struct, frozen=True, kw_only=True):
    """What a figure comes to, and how it was said."""

    quantity: Quantity
    said: str


class ItemReader:
    """Reads the figures of one item.

    Whatever is asked of it is None once what is wrong has been told, in ``findings``. ``remarks``
    stop nothing. ``metres`` are the places of figures told in metres, with the convention that was
    taken.
    """

    def __init__(self, section: ItemSection, where: Where, film: Film) -> None:
        """Take the item that stands at ``where``."""
        self.findings: list[Finding] = []
        self.remarks: list[Finding] = []
        self.metres: list[tuple[Measures, TextPlace]] = []
        self._section, self._where, self._film = section, where, film
        self.measures = film.measures
        if isinstance(section, MeasuredSection):
            self.measures = Measures(
                gauge=section.gauge or film.measures.gauge,
                footage=section.footage or film.measures.footage,
            )

    def tell(self, rule: str, text: str, hint: str, *path: str | int, key: bool = False) -> None:
        """Tell what is wrong with the value at ``path``, or with its key."""
        place = self._where.of(*path, key=key)
        found = Finding(place=place, rule=rule, text=text, hint=hint)
        if found not in self.findings:  # a tolerance of many figures is read with each
            self.findings.append(found)

    def remark(self, rule: str, text: str, hint: str, *path: str | int) -> None:
        """Tell what is odd about the value at ``path``."""
        place = self._where.of(*path)
        found = Finding(place=place, rule=rule, text=text, hint=hint, severity=Severity.WARNING)
        self.remarks.append(found)

    def main(
        self, figure: Figure[_T], family: Family[_T], *path: str | int, alone: bool = False
    ) -> Told | None:
        """Return what the item says by the figure at ``path``, which needs a tolerance.

        It is the figure's own, or the item's; ``alone`` if the item's belongs to others.
        """
        shared = None if alone else self._section.within
        name = quoted(str(path[-1]))
        if not figure.bounded and shared is None:
            what = f"{name} says {figure.text} and not within what"
            hint = f"a document is never exact: write {family.bounds}"
            self.tell("tolerance", what, hint, *path)
            return None
        if shared is not None:
            if figure.bounded:
                what = f"{name} has a tolerance of its own, and there is within besides"
                self.tell("tolerance", what, "keep one of the two", *path)
                return None
            try:
                figure = figure.within(family.tolerance(shared), shared)
            except NotationError as error:
                self.tell("tolerance", error.text, f"write {family.bounds}", "within")
                return None
        told = self.other(figure, family, *path)
        if told is None:
            return None
        if told.high - told.low < 2 * FINEST * told.value:
            what = f"{quoted(figure.text)} is within less than 0.05 %"
            self.tell("tolerance", what, "no document is this exact", *path)
            return None
        return Told(quantity=told, said=figure.text)

    def other(self, figure: Figure[_T], family: Family[_T], *path: str | int) -> Quantity | None:
        """Return what the figure at ``path`` comes to, exactly if it has no tolerance."""
        try:
            told = family.comes_to(figure, self.measures)
        except NotationError as error:
            self.tell("figures", error.text, error.hint, *path)
            return None
        if by_metres(figure):
            self.metres.append((self.measures, self._where.of(*path)))
        return told

    def length(self) -> Quantity | None:
        """Return how many frames the document's print had: its own, or the scanned one's."""
        section = self._section
        if not isinstance(section, OfPrintSection):
            return self._film.length
        beside = [key for key in ("absent", "added") if getattr(section, key) is not None]
        if section.length is not None:
            for key in beside:
                what = f"{quoted(key)} is told of the scanned print, and a length stands here"
                self.tell("length", what, "leave one of the two out", key, key=True)
            length = self.other(section.length, LENGTH, "length")
            return None if beside else length
        absent, added = self._parts(section.absent, "absent"), self._parts(section.added, "added")
        if self._film.length is None or absent is None or added is None:
            return None
        left = self._film.length - absent + added
        if left.low <= 0:
            what = f"nothing may be left of the print's {float(self._film.length.value):g} frames"
            self.tell("length", what, "is a document's own length meant?", beside[0], key=True)
            return None
        return left

    def _parts(self, parts: Part | list[Part] | None, key: str) -> Quantity | None:
        """Return how many frames the parts hold that stand under ``key``."""
        if isinstance(parts, list):
            held = [self._part(part, key, at) for at, part in enumerate(parts)]
        else:
            held = [] if parts is None else [self._part(parts, key)]
        found = [one for one in held if one is not None]
        return sum(found, start=exactly(Fraction(0))) if len(found) == len(held) else None

    def _part(self, part: Part, *path: str | int) -> Quantity | None:
        try:
            frames = frames_of(part, self.measures, self._film.shots)
        except NotationError as error:
            if self._film.whole:
                self.tell("length", error.text, error.hint, *path)
            return None
        if isinstance(part, Figure) and by_metres(part):
            self.metres.append((self.measures, self._where.of(*path)))
        return frames

    def shots(self, text: str, *path: str | int) -> Quantity | None:
        """Return how many frames the shots hold that the text at ``path`` names."""
        try:
            return exactly(shots_named(text, self._film.shots))
        except NotationError as error:
            if self._film.whole:
                self.tell("shots", error.text, error.hint, *path)
            return None

    def only(self, section: object, keys: Sequence[str], *path: str | int) -> str | None:
        """Return the one of ``keys`` that a section at ``path`` has."""
        given = [key for key in keys if getattr(section, key.replace("-", "_")) is not None]
        if len(given) == 1:
            return given[0]
        what = f"one of {listed(quoted(key) for key in keys)} belongs here, and "
        what += "none is written" if not given else f"{len(given)} are written"
        self.tell("kinds", what, "", *path, *given[1:2], key=bool(given))
        return None

    def beside(self, section: object, given: str, keys: Sequence[str], *path: str | int) -> None:
        """Refuse ``keys`` that say nothing beside ``given``."""
        for key in keys:
            if getattr(section, key.replace("-", "_")) is not None:
                what = f"{quoted(key)} says nothing beside {quoted(given)}"
                self.tell("kinds", what, "leave it out", *path, key, key=True)
