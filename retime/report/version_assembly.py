"""What two versions put in, leave out, put in place and turn round, where it is not the same."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from msgspec import Struct, field
from msgspec.structs import replace

from retime.plan.timeline import Shows
from retime.report.comparison_followers import seconds_said
from retime.report.comparison_items import Item, items_apart, order_apart
from retime.report.differences import Difference, Meant, difference, listed_words, told
from retime.report.film_runs import fps_said
from retime.report.numbers import exact
from retime.speedmap.arrangement import arrange
from retime.speedmap.assembly import Assembly, Black, Excerpt, Replay, Selection, Side, Still
from retime.speedmap.decisions import Segment, governing
from retime.speedmap.model import ShotKind

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence
    from fractions import Fraction

    from retime.edition.edition import Edition
    from retime.report import comparison_side
    from retime.speedmap.assembly import Inset, Replacement
    from retime.speedmap.model import Version

__all__ = ["Excerpts", "assembly_apart", "excerpts_of"]

_OF = "assembly"


class Excerpts(Struct, frozen=True, kw_only=True):
    """Where frames that were put in play: their units, and how long each frame of them lasts.

    ``lasts`` goes by what is called so, its reel and its frames.
    """

    units: frozenset[int] = frozenset()
    lasts: Mapping[tuple[str, str, int, int], Fraction] = field(default_factory=dict)


def excerpts_of(edition: Edition, version: str) -> Excerpts:
    """Return which units of a version's timeline are frames that were put in.

    A timeline does not tell them from film in no shot, so what plays is laid out once more with
    a name for everything that was put in: units and what plays go side by side.
    """
    ruling = edition.speed_map.versions[version]
    if ruling.assembly is None or not any(_excerpts(ruling.assembly)):
        return Excerpts()
    named = tuple(
        replace(inset, name=_called(inset, at)) for at, inset in enumerate(ruling.assembly.insert)
    )
    ruling = replace(ruling, assembly=replace(ruling.assembly, insert=named))
    items, _ = arrange(edition.speed_map, ruling, _lasts(edition))
    timeline = edition.timelines[version]
    units: set[int] = set()
    lasts: dict[tuple[str, str, int, int], Fraction] = {}
    for number, (item, unit) in enumerate(zip(items, timeline.units, strict=True)):
        if isinstance(item, Segment) and item.name is not None:
            units.add(number)
            pace = timeline.stretches[unit.stretches[0]].pace
            lasts.setdefault((item.name, item.reel, item.first, item.last), pace.elapsed(1))
    return Excerpts(units=frozenset(units), lasts=lasts)


def _excerpts(assembly: Assembly) -> Iterator[bool]:
    return (isinstance(inset.shows, Excerpt) for inset in assembly.insert)


def _called(inset: Inset, at: int) -> str:
    """Return an inset's name, else one that no map can give."""
    return inset.name or f"\N{NULL}{at}"


def _lasts(edition: Edition) -> dict[str, int]:
    return {scan.reel.name: scan.last for scan in edition.scans}


def assembly_apart(
    sides: tuple[comparison_side.Side, comparison_side.Side],
    names: tuple[str, str],
    excerpts: tuple[Excerpts, Excerpts],
) -> Iterator[Difference]:
    """Yield what differs between the assemblies of two versions."""
    left, right = (
        _Told(side, side.edition.speed_map.versions[name], found)
        for side, name, found in zip(sides, names, excerpts, strict=True)
    )
    if left.plain and right.plain:
        return
    yield from told([difference(_OF, "order", left.order(), right.order())])
    yield from told([difference(_OF, "omit", left.omit(), right.omit())])
    yield from told(items_apart(_OF, "insert", left.insets(), right.insets()))
    yield from order_apart(_OF, "insert", left.insets(), right.insets(), place="stands")
    yield from told(items_apart(_OF, "replace", left.replaced(), right.replaced()))


class _Told:
    """One version's assembly, as it is told; selections are compared by the shots they name."""

    def __init__(self, side: comparison_side.Side, version: Version, excerpts: Excerpts) -> None:
        self._side, self._excerpts = side, excerpts
        self._assembly = version.assembly or Assembly()
        self.plain = version.assembly is None
        self._film: list[tuple[str, str | int]] = [
            (one.reel, one.first if one.shot is None else one.shot.name)
            for one in governing(side.edition.speed_map, version, _lasts(side.edition))
        ]
        self._at = {label: number for number, label in enumerate(self._film)}

    def order(self) -> Meant:
        """Return in which order the film plays."""
        order = self._assembly.order
        if order is None:
            return Meant(tuple(self._film), "as scanned")
        return self._several(order, tuple(one for each in order for one in self._meant(each)))

    def omit(self) -> Meant | None:
        """Return what is left out."""
        omit = self._assembly.omit
        left_out = frozenset(one for each in omit for one in self._meant(each))
        return self._several(omit, left_out) if left_out else None

    def insets(self) -> list[Item]:
        """Return what is put in."""
        return [self._inset(inset, at) for at, inset in enumerate(self._assembly.insert)]

    def replaced(self) -> list[Item]:
        """Return the pictures in shots' places."""
        found = self._assembly.replace
        return [self._replacement(str(shot), one) for shot, one in sorted(found.items())]

    def _several(self, selections: Sequence[Selection], key: Any) -> Meant:
        words = [one.text for one in selections]
        return Meant(key, listed_words(words), listed_words(words, fully=True))

    def _meant(self, selection: Selection) -> Sequence[tuple[str, str | int]]:
        """Return the shots, and frames in no shot, that are selected."""
        if selection.first is None or selection.last is None:
            return [one for one in self._film if one[0] == selection.reel]
        return self._film[self._at[selection.first] : self._at[selection.last] + 1]

    def _replacement(self, shot: str, one: Replacement) -> Item:
        file = self._side.file(one.plate.address)
        fields = {"still": file, "for": seconds_said(one.lasts)}
        said = str(file) if one.lasts is None else f"{file} for {seconds_said(one.lasts)}"
        return Item(label=shot, said=said, fields=fields, by=(Meant(shot, shot),))

    def _inset(self, inset: Inset, at: int) -> Item:
        """Return an inset, known by its name, else by where it stands, else by what it shows."""
        stands, shows = self._stands(inset), self._shows(inset)
        fields: dict[str, Any] = {
            "shows": shows,
            "stands": stands,
            "name": inset.name,
            "kind": str(inset.kind),
        }
        said = shows.text
        match inset.shows:
            case Still(lasts=lasts) | Black(lasts=lasts):
                fields["for"] = seconds_said(lasts)
                said = f"{said} for {fields['for']}"
            case Excerpt() as excerpt:
                first, last = (
                    self._side.told(excerpt.reel, one) for one in (excerpt.first, excerpt.last)
                )
                fields["frames"] = f"{first}-{last}"
                fields["speed"] = self._speed(excerpt, _called(inset, at))
                said = f"{said}, frames {first}-{last} at {fields['speed']}"
        title = ", a title" if inset.kind is ShotKind.TITLE else ""
        return Item(
            label=inset.name or stands.text,
            said=f"{said}, {stands}{title}",
            fields=fields,
            by=(Meant(inset.name, inset.name) if inset.name else None, stands, shows),
        )

    def _speed(self, excerpt: Excerpt, called: str) -> Meant:
        fps = 1 / self._excerpts.lasts[called, excerpt.reel, excerpt.first, excerpt.last]
        return Meant(fps, f"{fps_said(fps)} fps", f"{exact(fps)} fps")

    def _stands(self, inset: Inset) -> Meant:
        beside = inset.beside
        if isinstance(beside, str):
            return Meant((inset.side, beside), f"{inset.side} {beside}")
        end = self._meant(beside)[-1 if inset.side is Side.AFTER else 0]
        return Meant((inset.side, end), f"{inset.side} {beside.text}")

    def _shows(self, inset: Inset) -> Meant:
        match inset.shows:
            case Still(plate=plate):
                return self._file("still", plate.address)
            case Black():
                return Meant(Shows.BLACK, "black")
            case Replay(of=selection):
                return Meant(tuple(self._meant(selection)), f"play {selection.text}")
            case Excerpt(reel=reel):
                return self._file("scan", self._side.edition.speed_map.reel(reel).scan)

    def _file(self, word: str, address: str) -> Meant:
        file = self._side.file(address)
        return Meant((word, file), f"{word} {file}", f"{word} {file.full}")
