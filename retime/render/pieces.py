"""Cuts what a pass makes into pieces that can be made apart and joined by their packets.

A piece is a range of places of the reading, and of every order the output frames whose last film
frame lies in that range: no picture is made in two pieces. Where pieces are cut is decided by the
plan and by how long they are to be, never by how many make them.
"""

from __future__ import annotations

import hashlib
from bisect import bisect_left, bisect_right
from itertools import accumulate
from typing import TYPE_CHECKING, TypeAlias

from msgspec import Struct

from retime.render.reading import Run
from retime.render.recipe import frames_of

if TYPE_CHECKING:
    from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence

    from retime.render.order import Order
    from retime.render.recipe import Place, Recipe

__all__ = ["LENGTH", "Cut", "Piece", "cut", "cuts_of", "is_long", "made_whole"]

LENGTH = 1000
"""How many film frames a piece has unless something else is asked for."""

_SHARE = 4
_SHORTEST = 8  # as many of the shortest pieces are a length: each costs its opening and a seek
_RATE_CONTROL = ("bufsize", "maxrate", "vbv")  # what runs on over the whole of a stream


class Piece(Struct, frozen=True, kw_only=True):
    """What is made together: ``outputs`` are each order's, by its name, first and stop.

    ``runs`` are what is read for it, by the numbers of the reading's runs; they reach back where
    a mean needs film frames from before the cut. ``whole`` marks an order that is not cut.
    """

    number: int
    runs: dict[int, Run]
    outputs: dict[str, tuple[int, int]]
    whole: bool = False

    @property
    def frames(self) -> int:
        """How many film frames are read."""
        return sum(run.last - run.first + 1 for run in self.runs.values())


class Cut(Struct, frozen=True, kw_only=True):
    """The pieces of a pass; ``plans`` are digests of what each order shows, by its name."""

    pieces: tuple[Piece, ...]
    plans: dict[str, str]


_Spans: TypeAlias = list[tuple[int, int]]


def made_whole(order: Order) -> bool:
    """Tell whether an order has to be made in one: its rate control, or its flags, run on."""
    profile = order.profile
    told = " ".join(f"{name}={value}" for name, value in profile.encoder_options().items())
    controlled = not order.stands_alone and any(word in told for word in _RATE_CONTROL)
    return order.flags is not None or profile.disc is not None or controlled


def is_long(frames: int, length: int) -> bool:
    """Tell whether so many film frames are cut: no piece is left that is less than half a one."""
    return 2 * frames > 3 * length


def cuts_of(
    orders: Sequence[Order], runs: Mapping[int, Run], length: int, *, entered: Collection[int]
) -> list[Place]:
    """Return the places at which pieces begin, the first piece's left out.

    The last four lengths are cut ever shorter, so that those who work side by side end about
    together, and little is left to join. ``entered`` are the numbers of the scans that can be read
    from any frame on; others are cut only where a run begins. A cut moves to the nearest shot's
    within a quarter of a piece, and out of what loops.
    """
    line = _Line(runs)
    if not is_long(line.total, length):
        return []
    forbidden = sorted(_forbidden(orders, runs, line, entered))
    shots = sorted({at for order in orders for at in _shots(order, line)})
    allowed = [at for at in shots if _after(at, forbidden) == at]
    found: list[Place] = []
    at = 0
    while is_long(line.total - at, step := _step(line.total - at, length)):
        wanted = _near(at + step, allowed, step // 4)
        at = _after(wanted, forbidden)
        if at >= line.total:
            break
        found.append(line.place(at))
    return found


def _step(left: int, length: int) -> int:
    """Return how long the next piece is: a quarter of what is left, a length at most."""
    return min(length, max(-(-length // _SHORTEST), left // _SHARE))


class _Line:
    """The frames of runs counted through."""

    def __init__(self, runs: Mapping[int, Run]) -> None:
        self._runs = runs
        self._numbers = sorted(runs)
        lengths = (runs[number].last - runs[number].first + 1 for number in self._numbers)
        self._begins = list(accumulate(lengths, initial=0))
        self.total = self._begins[-1]

    def place(self, at: int) -> Place:
        index = bisect_right(self._begins, at) - 1
        number = self._numbers[index]
        return number, self._runs[number].first + at - self._begins[index]

    def at(self, place: Place) -> int:
        """Return where a place is, or the first after it where it is not read."""
        number, frame = place
        index = bisect_left(self._numbers, number)
        if index == len(self._numbers) or self._numbers[index] != number:
            return self._begins[index]
        run = self._runs[number]
        inside = min(max(frame - run.first, 0), run.last - run.first + 1)
        return self._begins[index] + inside

    def span(self, number: int) -> tuple[int, int]:
        index = self._numbers.index(number)
        return self._begins[index], self._begins[index + 1]


def _forbidden(
    orders: Iterable[Order], runs: Mapping[int, Run], line: _Line, entered: Collection[int]
) -> Iterator[tuple[int, int]]:
    """Yield where no piece may begin, both ends included."""
    for order in orders:
        for low, high in order.loops:
            yield line.at(low) + 1, line.at(high)
    for number, run in runs.items():
        if run.scan not in entered:
            begin, stop = line.span(number)
            yield begin + 1, stop - 1


def _after(at: int, forbidden: _Spans) -> int:
    """Return the first place from ``at`` on where a piece may begin."""
    for low, high in forbidden:  # in the order of where they begin
        if low <= at <= high:
            at = high + 1
    return at


def _near(at: int, allowed: Sequence[int], within: int) -> int:
    index = bisect_left(allowed, at)
    around = [one for one in allowed[max(0, index - 1) : index + 1] if abs(one - at) <= within]
    return min(around, key=lambda one: abs(one - at), default=at)


def _shots(order: Order, line: _Line) -> Iterator[int]:
    places = order.sources.places
    for number, unit in enumerate(order.plan.timeline.units):
        if unit.first is not None and number in places.units:
            at = line.at(places.of(number, unit.first))
            if 0 < at < line.total:
                yield at


def cut(orders: Sequence[Order], runs: Mapping[int, Run], begins: Sequence[Place]) -> Cut:
    """Return the pieces that begin where they are said to, and one for each order that is whole."""
    whole = [order for order in orders if made_whole(order)]
    plans = {order.name: _digest(order) for order in whole}
    parts: list[dict[str, tuple[int, int]]] = [{} for _ in range(len(begins) + 1)]
    shown: list[dict[int, tuple[int, int]]] = [{} for _ in parts]
    for order in orders:
        if order.name not in plans:
            portions = _Portions(begins, shown)
            plans[order.name] = _digest(order, portions)
            for number, span in portions.outputs(order.outputs.start):
                parts[number][order.name] = span
    found = [
        (outputs, read)
        for outputs, read in zip(parts, _read(runs, begins, shown), strict=True)
        if outputs
    ]
    pieces = [
        Piece(number=number, runs=read, outputs=outputs)
        for number, (outputs, read) in enumerate(found)
    ]
    for number, order in enumerate(whole, len(pieces)):
        span = order.outputs.start, order.outputs.stop
        pieces.append(Piece(number=number, runs=dict(runs), outputs={order.name: span}, whole=True))
    return Cut(pieces=tuple(pieces), plans=plans)


class _Portions:
    """How many output frames of one order each piece has, and which film frames they show."""

    def __init__(
        self, begins: Sequence[Place], shown: Sequence[dict[int, tuple[int, int]]]
    ) -> None:
        self._begins = begins
        self._shown = shown
        self._counts = [0] * len(shown)
        self._piece = 0
        self._leading: int | None = 0  # what comes before the first film frame goes with it

    def take(self, times: int, recipe: Recipe) -> None:
        frames = frames_of(recipe)
        if not frames:
            if self._leading is not None:
                self._leading += times
                return
            self._counts[self._piece] += times
            return
        self._piece = max(self._piece, bisect_right(self._begins, max(frames)))
        self._counts[self._piece] += times + (self._leading or 0)
        self._leading = None
        shown = self._shown[self._piece]
        for number, frame in frames:
            low, high = shown.get(number, (frame, frame))
            shown[number] = min(low, frame), max(high, frame)

    def outputs(self, first: int) -> Iterator[tuple[int, tuple[int, int]]]:
        """Yield the number of each piece that has any, and its output frames."""
        if self._leading:
            self._counts[0] += self._leading
            self._leading = None
        for number, count in enumerate(self._counts):
            if count:
                yield number, (first, first + count)
            first += count


def _digest(order: Order, portions: _Portions | None = None) -> str:
    """Return a digest of what an order's pictures are made of; ``portions`` counts along."""
    digest = hashlib.blake2b(digest_size=16)
    for times, recipe in order.pictures():
        digest.update(_told(times, recipe))
        if portions is not None:
            portions.take(times, recipe)
    return digest.hexdigest()


def _told(times: int, recipe: Recipe) -> bytes:
    mixes, burnt = recipe
    parts = [f"{source.shows!r}*{source.weight}" for mix in mixes for source in mix]
    return f"{times}|{len(mixes)}|{','.join(parts)}|{burnt!r}\n".encode()


def _read(
    runs: Mapping[int, Run],
    begins: Sequence[Place],
    shown: Sequence[Mapping[int, tuple[int, int]]],
) -> Iterator[dict[int, Run]]:
    """Yield what each piece reads: all from its cut to the next, and what it reaches back to."""
    firsts: list[Place | None] = [None, *begins]
    stops: list[Place | None] = [*begins, None]
    for begin, stop, inside in zip(firsts, stops, shown, strict=True):
        read: dict[int, Run] = {}
        for number in sorted(runs):
            span = _between(number, runs[number], begin, stop)
            ends = [span.start, span.stop - 1] if span else []
            ends += inside.get(number, ())
            if ends:
                read[number] = Run(runs[number].scan, min(ends), max(ends))
        yield read


def _between(number: int, run: Run, begin: Place | None, stop: Place | None) -> range:
    """Return the frames of a run from one place up to another."""
    first, end = run.first, run.last + 1
    if begin is not None and begin[0] >= number:
        first = min(end, max(first, begin[1])) if begin[0] == number else end
    if stop is not None and stop[0] <= number:
        end = max(first, min(end, stop[1])) if stop[0] == number else first
    return range(first, end)
