"""An evidence file read: text in, ``Evidence`` out, or every mistake at once."""

from __future__ import annotations

from typing import TYPE_CHECKING

from msgspec import structs

from retime.errors import DocumentError, NotationError
from retime.evidence.drafting import Drafting
from retime.evidence.families import LENGTH, by_metres
from retime.evidence.implied import implied_by
from retime.evidence.item_reader import Film, ItemReader
from retime.evidence.lengths import whole_of
from retime.evidence.links import links_of
from retime.evidence.measures import Measures
from retime.evidence.model import ASKED_BY, Evidence, Item, Kind
from retime.evidence.quantity import exactly
from retime.evidence.remarks import about_items, about_length, about_metres
from retime.evidence.support import FASTEST, SLOWEST
from retime.film.speed import Speed
from retime.findings import Finding
from retime.speedmap import reading as map_reading
from retime.speedmap.place import Where
from retime.speedmap.rules import sound
from retime.yamldoc import reading
from retime.yamldoc.quoting import quoted

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from retime.evidence.document import AnySection, HeadSection
    from retime.evidence.model import Link
    from retime.evidence.quantity import Quantity
    from retime.findings import TextPlace
    from retime.speedmap.model import SpeedMap
    from retime.yamldoc.tree import NodePath, Tree

__all__ = ["load", "read"]


def load(path: Path) -> Evidence:
    """Read the evidence in the file at ``path``, and the map that it names.

    Raises:
        DocumentError: as ``read``, or the file cannot be opened.
    """
    return read(reading.read_bytes(path), path)


def read(source: str | bytes, path: Path) -> Evidence:
    """Read the evidence in ``source``; ``path`` names it, and its folder is where a map is sought.

    Raises:
        DocumentError: with every mistake found, those of the map included.
    """
    tree = reading.read(source, path)
    drafting = Drafting(tree)
    head = drafting.head()
    told = _Reading(tree, drafting)
    evidence = None if head is None else told.evidence(head)
    findings = (*drafting.findings, *told.findings)
    if findings or evidence is None:
        raise DocumentError(findings)
    return evidence


class _Reading:
    """One evidence file while its sections come to values."""

    def __init__(self, tree: Tree, drafting: Drafting) -> None:
        self.findings: list[Finding] = []
        self._odd: list[Finding] = []
        self._tree = tree
        self._drafting = drafting
        self._lost = drafting.lost
        self._metres: list[tuple[Measures, TextPlace]] = []

    def evidence(self, head: HeadSection) -> Evidence | None:
        """Return what could be read; it is to be used only where nothing is wrong."""
        measures = Measures(gauge=head.gauge, footage=head.footage)
        speed_map = None if head.map is None else self._map(head.map)
        length = self._length(head, measures, speed_map)
        film = Film(
            measures=measures,
            length=length,
            shots=None if speed_map is None else speed_map.shots,
            whole=speed_map is not None or (head.map is None and "map" not in self._lost),
        )
        candidates = tuple(self._candidates(head, measures))
        links = self._links(head)
        items = tuple(self._items(head, film))
        if length is None:
            return None
        return Evidence(
            film=head.film,
            gauge=head.gauge,
            footage=head.footage,
            length=length,
            candidates=candidates,
            items=items,
            links=links,
            speed_map=speed_map,
            remarks=self._remarks(items, length, speed_map),
            tree=self._tree,
        )

    def _map(self, name: str) -> SpeedMap | None:
        try:
            path = self._tree.path.parent / name
            speed_map = map_reading.read(reading.read_named(path), path)
            sound(speed_map, {})
        except DocumentError as error:
            self.findings += (self._placed(one) for one in error.findings)
            return None
        return speed_map

    def _placed(self, finding: Finding) -> Finding:
        """Place what is wrong with the map as a whole where it is named."""
        if finding.rule not in {"unreadable", "too-large"}:
            return finding
        text = f"{finding.place}: {finding.text}"
        return structs.replace(finding, place=self._tree.place(("map",)), text=text)

    def _length(
        self, head: HeadSection, measures: Measures, speed_map: SpeedMap | None
    ) -> Quantity | None:
        """Return the print's length: stated, or that of the map's reels."""
        try:
            if head.length is not None:
                if by_metres(head.length):
                    self._metres.append((measures, self._tree.place(("length",))))
                return LENGTH.comes_to(head.length, measures)
            if speed_map is not None:
                return exactly(whole_of(speed_map))
        except NotationError as error:
            self._tell("length", ("length" if head.length else "map",), error.text, error.hint)
            return None
        if head.map is None and not self._lost & {"length", "map"}:
            what = "the length of the print that was scanned is not known"
            self._tell("length", ("length",), what, "write length: 5840 ft, or name its map")
        return None

    def _candidates(self, head: HeadSection, measures: Measures) -> Iterator[Speed]:
        lines: dict[Speed, int] = {}
        for at, spoken in enumerate(head.candidates):
            path = ("candidates", at)
            try:
                speed = Speed(measures.fps(spoken))
            except NotationError as error:
                self._tell("candidates", path, error.text, error.hint)
                continue
            if speed in lines:
                what = f"{quoted(spoken.text)} is a candidate already, on line {lines[speed]}"
                self._tell("candidates", path, what, "leave it out")
            if not SLOWEST <= speed.fps <= FASTEST:
                what = f"{quoted(spoken.text)} lies outside of {SLOWEST:.0f} to {FASTEST:.0f} fps"
                hint = "these are all the speeds that are weighed"
                self._tell("candidates", path, what, hint)
            lines.setdefault(speed, self._tree.place(path).line)
            yield speed

    def _links(self, head: HeadSection) -> tuple[Link, ...]:
        where = Where(self._tree, ("link",))
        if not isinstance(head.link, list):
            return links_of([head.link], [where], self.findings)
        places = [where.inside(at) for at in range(len(head.link))]
        return links_of(head.link, places, self.findings)

    def _items(self, head: HeadSection, film: Film) -> Iterator[Item]:
        lines: dict[str, int] = {}
        for at, plain in enumerate(head.evidence):
            where = Where(self._tree, ("evidence", at))
            name = plain.get("id") if isinstance(plain, dict) else None
            if isinstance(name, str):
                if name in lines:
                    what = f"the id {quoted(name)} stands already on line {lines[name]}"
                    self._tell("ids", (*where.path, "id"), what, "give each item its own")
                lines.setdefault(name, where.of("id").line)
            section = self._drafting.item(plain, where)
            if section is not None:
                yield self._item(section, where, film)

    def _item(self, section: AnySection, where: Where, film: Film) -> Item:
        reader = ItemReader(section, where, film)
        implied, fit = implied_by(section, reader)
        self.findings += reader.findings
        self._odd += reader.remarks
        self._metres += reader.metres
        kind = Kind(section.kind)
        return Item(
            id=section.id,
            kind=kind,
            question=section.about or ASKED_BY[kind],
            trust=section.trust,
            implied=implied,
            group=section.group,
            source=section.source,
            note=section.note or "",
            score=fit,
            where=where,
        )

    def _remarks(
        self, items: tuple[Item, ...], length: Quantity, speed_map: SpeedMap | None
    ) -> tuple[Finding, ...]:
        place = self._tree.place(("length",))
        stated = self._tree.has(("length",))
        found = [
            *self._odd,
            *about_items(items),
            *about_metres(self._metres),
            *(about_length(length, speed_map, place) if stated else ()),
        ]
        return tuple(sorted(found, key=lambda one: one.place.order))

    def _tell(self, rule: str, path: NodePath, text: str, hint: str = "") -> None:
        place = self._tree.place(path)
        self.findings.append(Finding(place=place, rule=rule, text=text, hint=hint))
