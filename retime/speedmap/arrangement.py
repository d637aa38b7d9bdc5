"""A version's film in playing order: what governs it, with the assembly's changes made.

Speeds belong to the film's own frames: they are decided on the reels as scanned, and only then
are stretches left out, moved, played again and put in. So a ramp runs over the frames it was
written for, wherever these come to stand.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple, TypeAlias

from msgspec import Struct, field
from msgspec.structs import replace

from retime.errors import DocumentError
from retime.film.notation import SpokenRamp
from retime.findings import Finding
from retime.speedmap.assembly import Black, Excerpt, Plate, Replay, Selection, Side, Still
from retime.speedmap.decisions import Free, Segment, Steady, governing
from retime.speedmap.footage import speed_on
from retime.yamldoc.quoting import listed, quoted, suggestion

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping, Sequence
    from fractions import Fraction

    from retime.findings import TextPlace
    from retime.speedmap.assembly import Assembly, Inset
    from retime.speedmap.decisions import Pace
    from retime.speedmap.model import ShotKind, SpeedMap, Version

__all__ = ["Arrangement", "Inserted", "Item", "arrange"]

_RULE = "assembly"


class Inserted(Struct, frozen=True, kw_only=True):
    """A still, or black where ``plate`` is None, for ``lasts`` seconds of true time.

    ``reel`` is the reel that it stands in.
    """

    reel: str
    kind: ShotKind
    lasts: Fraction
    plate: Plate | None = None
    name: str | None = None


Item: TypeAlias = Segment | Inserted


class Arrangement(NamedTuple):
    """What plays, in order, and what of the film the order has forgotten."""

    items: tuple[Item, ...]
    forgotten: tuple[Segment, ...] = ()


def arrange(
    speed_map: SpeedMap, version: Version, lasts: Mapping[str, int] | None = None
) -> Arrangement:
    """Return what plays in a version; ``lasts`` is as in ``governing``.

    Raises:
        DocumentError: an inset stands beside nothing, or nothing plays.
        KeyError, NotationError: as ``governing``.
    """
    segments = governing(speed_map, version, lasts)
    if version.assembly is None:
        return Arrangement(segments)
    arranging = _Arranging(speed_map, version, version.assembly, segments)
    return Arrangement(arranging.items(), arranging.forgotten())


class _Entry(Struct, eq=False):
    """An item in its place, and what was put in on either side of it, in the order written.

    ``reel`` is the reel that it stands in, ``segment`` its number among the film's, None for an
    inset's.
    """

    item: Item
    reel: str
    segment: int | None = None
    inset: str | None = None
    omitted: bool = False
    before: list[_Entry] = field(default_factory=list)
    after: list[_Entry] = field(default_factory=list)


class _Arranging:
    """One version's assembly, carried out."""

    def __init__(
        self,
        speed_map: SpeedMap,
        version: Version,
        assembly: Assembly,
        segments: tuple[Segment, ...],
    ) -> None:
        self._map, self._version, self._assembly = speed_map, version, assembly
        self._at = {one.shot.key: number for number, one in enumerate(segments) if one.shot}
        self._segments = [self._replaced(one) for one in segments]

    def _replaced(self, segment: Segment) -> Segment:
        """Return a segment with the picture in its place, if it has one."""
        found = self._assembly.replace.get(segment.shot.key) if segment.shot else None
        if found is None:
            return segment
        if found.lasts is None:
            return replace(segment, plate=found.plate, loop=None)
        return replace(
            segment,
            plate=found.plate,
            loop=None,
            at_least=None,
            at_most=None,
            exactly=found.lasts,
        )

    def items(self) -> tuple[Item, ...]:
        omitted = {number for one in self._assembly.omit for number in self._numbers(one)}
        entries = [
            _Entry(one, one.reel, segment=number, omitted=number in omitted)
            for number, one in ((number, self._segments[number]) for number in self._order())
        ]
        self._put_in(entries)
        playing = tuple(entry.item for entry in _standing(entries) if not entry.omitted)
        if not playing:
            omit = self._assembly.omit
            place = omit[0].where.of() if omit else self._version.where.of("order")
            raise _fault(place, f"nothing plays in version {self._version.name}")
        return playing

    def forgotten(self) -> tuple[Segment, ...]:
        """Return the segments that an order names nowhere, nor anything else."""
        if self._assembly.order is None:
            return ()
        replays = [
            inset.shows.of for inset in self._assembly.insert if isinstance(inset.shows, Replay)
        ]
        named = {
            number
            for one in (*self._assembly.order, *self._assembly.omit, *replays)
            for number in self._numbers(one)
        }
        return tuple(one for number, one in enumerate(self._segments) if number not in named)

    def _order(self) -> list[int]:
        order = self._assembly.order
        if order is None:
            return list(range(len(self._segments)))
        return [number for one in order for number in self._numbers(one)]

    def _numbers(self, selection: Selection) -> Sequence[int]:
        """Return the numbers of the segments that are selected."""
        if selection.reel is not None:
            return [
                number for number, one in enumerate(self._segments) if one.reel == selection.reel
            ]
        if selection.first is None or selection.last is None:
            raise TypeError(f"{selection.text} selects nothing")
        first, last = self._at[selection.first], self._at[selection.last]
        if first > last:
            where = selection.where
            hint = f"write {selection.last}-{selection.first}"
            raise _fault(where.of(), f"the run {selection.text} runs backwards", hint)
        return range(first, last + 1)

    def _put_in(self, entries: Sequence[_Entry]) -> None:
        """Put the insets in, in the order written, those beside insets once these stand."""
        waiting: Sequence[Inset] = self._assembly.insert
        while waiting:
            standing, left = list(_standing(entries)), []
            for inset in waiting:
                anchor = self._anchor(inset, standing)
                if anchor is None:
                    left.append(inset)
                    continue
                there = anchor.after if inset.side is Side.AFTER else anchor.before
                there += [
                    _Entry(item, anchor.reel, inset=inset.name)
                    for item in self._items_of(inset, anchor.reel)
                ]
            if len(left) == len(waiting):
                raise self._beside_nothing(left)
            waiting = left

    def _anchor(self, inset: Inset, standing: Sequence[_Entry]) -> _Entry | None:
        """Return the entry that an inset stands beside; None if that is an inset to come.

        It is after the last showing, and before the first.
        """
        if isinstance(inset.beside, str):
            found = [entry for entry in standing if entry.inset == inset.beside]
        else:
            numbers = self._numbers(inset.beside)
            end = numbers[-1] if inset.side is Side.AFTER else numbers[0]
            found = [entry for entry in standing if entry.segment == end]
            if not found:
                text = f"{inset.beside.text} does not play in version {self._version.name}"
                hint = "name what the order has"
                raise _fault(inset.where.of(str(inset.side)), text, hint)
        return (found[-1] if inset.side is Side.AFTER else found[0]) if found else None

    def _beside_nothing(self, left: Sequence[Inset]) -> DocumentError:
        names = {inset.name for inset in self._assembly.insert if inset.name}
        for inset in left:
            if isinstance(inset.beside, str) and inset.beside not in names:
                text = f"there is no reel, shot or insert {quoted(inset.beside)}"
                known = [reel.name for reel in self._map.reels] + sorted(names)
                place = inset.where.of(str(inset.side))
                return _fault(place, text, suggestion(inset.beside, known))
        circle = listed(quoted(one.name or "") for one in left)
        text = f"these inserts stand only beside one another: {circle}"
        return _fault(left[0].where.of(str(left[0].side)), text, "put one beside a shot or reel")

    def _items_of(self, inset: Inset, reel: str) -> Iterable[Item]:
        """Return what an inset puts into a reel."""
        match inset.shows:
            case Still(plate=plate, lasts=lasts):
                yield Inserted(
                    reel=reel, kind=inset.kind, lasts=lasts, plate=plate, name=inset.name
                )
            case Black(lasts=lasts):
                yield Inserted(reel=reel, kind=inset.kind, lasts=lasts, name=inset.name)
            case Replay(of=selection):
                for number in self._numbers(selection):
                    yield self._segments[number]
            case Excerpt() as excerpt:
                yield Segment(
                    reel=excerpt.reel,
                    first=excerpt.first,
                    last=excerpt.last,
                    shot=None,
                    kind=inset.kind,
                    pace=self._pace(inset, excerpt, reel),
                    name=inset.name,
                )

    def _pace(self, inset: Inset, excerpt: Excerpt, reel: str) -> Pace:
        """Return the speed of another scan's frames: their own, else that of the reel around."""
        version = self._version
        spoken = excerpt.speed or version.reels.get(reel, version.speed)
        if spoken is None:
            return Free()
        if isinstance(spoken, SpokenRamp):
            text = "the reel that it stands in ramps, and frames of another scan take one speed"
            raise _fault(inset.where.of(), text, "give it a speed, such as speed: 18 fps")
        return Steady(speed=speed_on(self._map, self._map.reel(excerpt.reel), spoken))


def _standing(entries: Sequence[_Entry]) -> Iterator[_Entry]:
    """Yield entries in playing order, those with them that were put in beside them."""
    coming = [(entry, False) for entry in reversed(entries)]
    while coming:
        entry, opened = coming.pop()
        if opened:
            yield entry
            continue
        coming += ((one, False) for one in reversed(entry.after))
        coming.append((entry, True))
        coming += ((one, False) for one in reversed(entry.before))


def _fault(place: TextPlace, text: str, hint: str = "") -> DocumentError:
    return DocumentError([Finding(place=place, rule=_RULE, text=text, hint=hint)])
