"""In which order scans are read, so that one pass serves as many deliverables as it can.

Every version has an order of its own in which film frames play. Versions that leave out, put in
or replace still run forward through the scans, and share one pass; so do all whose orders are at
odds nowhere. A frame's place is the number of a run of reading, and the frame: places compare in
the order in which pictures come, for every deliverable of the pass.
"""

from __future__ import annotations

from bisect import bisect_right
from graphlib import CycleError, TopologicalSorter
from heapq import heappop, heappush
from itertools import pairwise
from operator import itemgetter
from typing import TYPE_CHECKING, NamedTuple, TypeAlias

from msgspec import Struct, field
from msgspec.structs import replace

from retime.plan.timeline import Shows

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping, Sequence

    from retime.plan.timeline import Timeline, Unit

__all__ = ["Place", "Places", "Reading", "Run", "readings_of"]

Place: TypeAlias = tuple[int, int]
"""The number of a run, and a film frame of its scan."""


class Run(NamedTuple):
    """Frames ``first``..``last`` of scan number ``scan``, both included."""

    scan: int
    first: int
    last: int


class Reading(Struct, frozen=True, kw_only=True):
    """What is read, in order; one run never goes on where the one before it ends."""

    runs: tuple[Run, ...]

    @property
    def frames(self) -> int:
        """How many frames are read."""
        return sum(run.last - run.first + 1 for run in self.runs)

    def trimmed(self, used: Iterable[Place]) -> dict[int, Run]:
        """Return, by their numbers, the runs from the first to the last place that is used."""
        spans: dict[int, tuple[int, int]] = {}
        for number, frame in used:
            low, high = spans.get(number, (frame, frame))
            spans[number] = min(low, frame), max(high, frame)
        return {number: Run(self.runs[number].scan, *spans[number]) for number in sorted(spans)}


class Places(Struct, frozen=True, kw_only=True):
    """Where a version's frames stand in a reading, by shot; ``loops`` are spans kept together."""

    units: Mapping[int, Sequence[tuple[int, int]]]
    strays: Mapping[tuple[int, int], int]
    loops: tuple[tuple[Place, Place], ...] = ()

    def of(self, unit: int, frame: int) -> Place:
        """Return the place of a frame that shot number ``unit`` shows."""
        stray = self.strays.get((unit, frame))
        if stray is not None:
            return stray, frame
        spans = self.units[unit]
        at = bisect_right(spans, frame, key=itemgetter(0)) - 1
        return spans[at][1], frame


class _Span(NamedTuple):
    """Frames that play in a row in one shot; ``stray`` if they only stand in for missing ones."""

    scan: int
    first: int
    last: int
    unit: int
    stray: bool


class _Node(NamedTuple):
    """A piece of scan that no version divides; ``again`` counts its earlier plays in a version."""

    scan: int
    first: int
    last: int
    again: int


class _Pass(Struct, kw_only=True):
    """The spans of versions that are read together."""

    spans: list[list[_Span]] = field(default_factory=list)

    def takes(self, spans: list[_Span]) -> bool:
        """Tell whether one more version can be read along."""
        return _merged([*self.spans, spans]) is not None


def readings_of(
    timelines: Sequence[Timeline], scans: Mapping[str, int]
) -> list[tuple[Reading, Places]]:
    """Return for each timeline the reading that serves it, equal ones being the same pass.

    ``scans`` are the numbers of the scans by the names of their reels.
    """
    made: list[_Pass] = []
    homes: list[tuple[int, int]] = []
    for timeline in timelines:
        spans = list(_spans(timeline, scans))
        number = next((at for at, one in enumerate(made) if one.takes(spans)), len(made))
        if number == len(made):
            made.append(_Pass())
        homes.append((number, len(made[number].spans)))
        made[number].spans.append(spans)
    told = [_reading(_merged(one.spans) or []) for one in made]
    return [
        (told[number][0], _places(timeline, made[number].spans[inside], told[number][1]))
        for timeline, (number, inside) in zip(timelines, homes, strict=True)
    ]


def _spans(timeline: Timeline, scans: Mapping[str, int]) -> Iterator[_Span]:
    """Yield the film frames that a timeline shows, in the order of time.

    What stands in for missing frames is mostly what was shown before, and is not read twice then.
    """
    shown: tuple[int, int] | None = None
    for number, unit in enumerate(timeline.units):
        scan = scans.get(timeline.reels[unit.reel].name, 0)
        for frame in sorted(_strays(timeline, unit)):
            if (scan, frame) != shown:
                yield _Span(scan, frame, frame, number, stray=True)
        if unit.first is not None and unit.last is not None:
            yield _Span(scan, unit.first, unit.last, number, stray=False)
        last = _last_shown(timeline, unit)
        if last is not None:
            shown = scan, last


def _strays(timeline: Timeline, unit: Unit) -> set[int]:
    """Return frames of other shots that stand in for missing ones of this."""
    return {
        one.first
        for one in timeline.stretches[slice(*unit.stretches)]
        if one.shows is Shows.STILL
        and unit.first is not None
        and unit.last is not None
        and not unit.first <= one.first <= unit.last
    }


def _last_shown(timeline: Timeline, unit: Unit) -> int | None:
    """Return the film frame that a shot shows last, None where it shows none."""
    backwards = reversed(timeline.stretches[slice(*unit.stretches)])
    frames = (one.frame(one.count - 1) for one in backwards)
    return next((frame for frame in frames if frame is not None), None)


def _nodes(spans: Sequence[_Span], bounds: Mapping[int, Sequence[int]]) -> Iterator[_Node]:
    """Yield the pieces of a version's spans, divided at all bounds, in the order of time."""
    played: dict[tuple[int, int], int] = {}
    for span in spans:
        for first, stop in _divided(span, bounds[span.scan]):
            again = played.get((span.scan, first), 0)
            played[span.scan, first] = again + 1
            yield _Node(span.scan, first, stop - 1, again)


def _divided(span: _Span, bounds: Sequence[int]) -> Iterator[tuple[int, int]]:
    low, high = bisect_right(bounds, span.first), bisect_right(bounds, span.last)
    return pairwise([span.first, *bounds[low:high], span.last + 1])


def _bounds(lists: Iterable[Sequence[_Span]]) -> dict[int, list[int]]:
    """Return, by scan, every frame at which a span of any version begins or has ended."""
    found: dict[int, set[int]] = {}
    for spans in lists:
        for span in spans:
            found.setdefault(span.scan, set()).update((span.first, span.last + 1))
    return {scan: sorted(bounds) for scan, bounds in found.items()}


def _merged(lists: Sequence[Sequence[_Span]]) -> list[_Node] | None:
    """Return all versions' pieces in an order that is each version's own; None if there is none.

    Where versions leave it open, the scans' own order decides.
    """
    bounds = _bounds(lists)
    sorter: TopologicalSorter[_Node] = TopologicalSorter()
    for spans in lists:
        nodes = list(_nodes(spans, bounds))
        for node in nodes[:1]:
            sorter.add(node)
        for before, after in pairwise(nodes):
            sorter.add(after, before)
    try:
        sorter.prepare()
    except CycleError:
        return None
    ready: list[_Node] = []
    order: list[_Node] = []
    while sorter.is_active():
        for node in sorter.get_ready():
            heappush(ready, node)
        node = heappop(ready)
        order.append(node)
        sorter.done(node)
    return order


def _reading(nodes: Sequence[_Node]) -> tuple[Reading, dict[_Node, int]]:
    """Return the reading of pieces, and the number of the run that each lies in."""
    runs: list[Run] = []
    homes: dict[_Node, int] = {}
    for node in nodes:
        if runs and (runs[-1].scan, runs[-1].last + 1) == (node.scan, node.first):
            runs[-1] = runs[-1]._replace(last=node.last)
        else:
            runs.append(Run(node.scan, node.first, node.last))
        homes[node] = len(runs) - 1
    return Reading(runs=tuple(runs)), homes


def _places(timeline: Timeline, spans: Sequence[_Span], homes: Mapping[_Node, int]) -> Places:
    """Return where a version's frames stand."""
    pieces = {(node.scan, node.first): node for node in homes}
    bounds: dict[int, list[int]] = {}
    for scan, first in sorted(pieces):
        bounds.setdefault(scan, []).append(first)
    units: dict[int, list[tuple[int, int]]] = {}
    strays: dict[tuple[int, int], int] = {}
    played: dict[tuple[int, int], int] = {}
    for span in spans:
        for first, _ in _divided(span, bounds[span.scan]):
            again = played.get((span.scan, first), 0)
            played[span.scan, first] = again + 1
            last = pieces[span.scan, first].last
            home = homes[_Node(span.scan, first, last, again)]
            if span.stray:
                strays[span.unit, first] = home
            else:
                units.setdefault(span.unit, []).append((first, home))
    places = Places(
        units={unit: tuple(found) for unit, found in units.items()},
        strays=_with_those_just_shown(timeline, units, strays),
    )
    return replace(places, loops=tuple(_loops(timeline, places)))


def _with_those_just_shown(
    timeline: Timeline,
    units: Mapping[int, Sequence[tuple[int, int]]],
    strays: Mapping[tuple[int, int], int],
) -> dict[tuple[int, int], int]:
    """Return the strays' runs, those added that were shown just before, and read for that."""
    every = dict(strays)
    run = 0
    for number, unit in enumerate(timeline.units):
        for frame in _strays(timeline, unit):
            every.setdefault((number, frame), run)
        last = _last_shown(timeline, unit)
        if last is not None:
            run, _ = Places(units=units, strays=every).of(number, last)
    return every


def _loops(timeline: Timeline, places: Places) -> Iterator[tuple[Place, Place]]:
    """Yield first and last place of every loop."""
    for number, unit in enumerate(timeline.units):
        looped = [one for one in timeline.stretches[slice(*unit.stretches)] if one.again]
        if looped:
            ends = [frame for one in looped for frame in (one.first, one.last)]
            yield places.of(number, min(ends)), places.of(number, max(ends))
