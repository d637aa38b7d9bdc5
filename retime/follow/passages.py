"""Where a span of one clock's time stands on another, through an exact map of time.

What of a span the other clock does not have is left off. Pieces of it that stand there one after
the other are one *run*; so are pieces parted by what the span's own clock does not have, an inset
say, if that lasts no longer than they do themselves. Of several runs the span takes the longest,
and every other that shows some of the same film again.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from fractions import Fraction
from itertools import pairwise
from operator import attrgetter
from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from retime.plan.timemap import Leg, TimeMap

__all__ = ["Passages", "Run"]

_ZERO = Fraction(0)


class _Piece(NamedTuple):
    """What of a span is in one leg of the map, the legs counted in their order."""

    number: int
    leg: Leg
    begin: Fraction
    end: Fraction
    source_begin: Fraction
    source_end: Fraction

    @property
    def carried(self) -> Fraction:
        """Return how much of the span's own time this is."""
        return self.source_end - self.source_begin

    def goes_on_in(self, other: _Piece) -> bool:
        """Say whether another piece follows this on both clocks."""
        return (self.end, self.source_end) == (other.begin, other.source_begin)


class Run(NamedTuple):
    """Pieces of a span that stand together, rising on both clocks."""

    pieces: tuple[_Piece, ...]

    @property
    def begin(self) -> Fraction:
        """Return when it begins on this clock."""
        return self.pieces[0].begin

    @property
    def end(self) -> Fraction:
        """Return when it ends on this clock."""
        return self.pieces[-1].end

    @property
    def carried(self) -> Fraction:
        """Return how much of the span's own time it carries."""
        return sum((piece.carried for piece in self.pieces), _ZERO)

    @property
    def shared(self) -> Fraction:
        """Return how much time between its pieces both clocks have, and the map does not."""
        return sum((min(gaps) for gaps in self._gaps()), _ZERO)

    @property
    def bridged(self) -> Fraction:
        """Return how much time is in it that the span's own clock does not have."""
        return sum((max(_ZERO, here - there) for here, there in self._gaps()), _ZERO)

    def _gaps(self) -> Iterator[tuple[Fraction, Fraction]]:
        """Yield how long it is from each piece to the next, on this clock and the span's own."""
        for before, after in pairwise(self.pieces):
            yield after.begin - before.end, after.source_begin - before.source_end

    def at(self, source: Fraction) -> Fraction:
        """Return when a time of the span comes; one that has no place, when the next one does."""
        for piece in self.pieces:
            if source < piece.source_begin:
                return piece.begin
            if source < piece.source_end:
                return piece.leg.at(source)
        return self.end

    def again(self, other: Run) -> bool:
        """Say whether both show some of the same film."""
        first, last = self.pieces[0], self.pieces[-1]
        return (
            first.source_begin < other.pieces[-1].source_end
            and other.pieces[0].source_begin < last.source_end
        )


class Passages:
    """A map of time, made ready to carry spans through it."""

    def __init__(self, time_map: TimeMap) -> None:
        """Cut the map to what is made, from 0 to its duration, and find where it goes back."""
        legs = [leg for leg in time_map.legs if leg.end > 0 and leg.begin < time_map.duration]
        self._legs = [_within(leg, time_map.duration) for leg in legs]
        backs = (
            number
            for number, (before, after) in enumerate(pairwise(self._legs), start=1)
            if after.source_begin < before.source_end
        )
        starts = [0, *backs, len(self._legs)]
        self._rising = [
            (start, self._legs[start:stop]) for start, stop in pairwise(starts) if start < stop
        ]
        self.source_end = max((leg.source_end for leg in self._legs), default=_ZERO)

    def runs(self, begin: Fraction, end: Fraction, slack: Fraction) -> tuple[Run, ...]:
        """Return what becomes of a span, in the order of this clock; nothing if none of it stands.

        At a place where the map jumps the span may miss the cut by ``slack`` seconds of its own
        clock: a piece that is no longer is not taken for a part of it.
        """
        pieces = list(self._pieces(begin, end))
        whole = sum((piece.carried for piece in pieces), _ZERO) == end - begin
        kept = list(_without_slack(pieces, slack))
        pieces = kept if kept or not whole else pieces
        runs: list[list[_Piece]] = []
        for piece in pieces:
            if runs and _joins(runs[-1], piece):
                runs[-1].append(piece)
            else:
                runs.append([piece])
        every = [Run(tuple(run)) for run in runs]
        longest = max(every, key=attrgetter("carried"), default=None)
        return tuple(
            run for run in every if longest is None or run is longest or run.again(longest)
        )

    def _pieces(self, begin: Fraction, end: Fraction) -> Iterator[_Piece]:
        for start, legs in self._rising:
            low = bisect_right(legs, begin, key=attrgetter("source_end"))
            high = bisect_left(legs, end, lo=low, key=attrgetter("source_begin"))
            if begin == end and low < len(legs) and legs[low].source_begin == begin:
                high = low + 1
            for number in range(low, high):
                yield _piece(start + number, legs[number], begin, end)


def _within(leg: Leg, duration: Fraction) -> Leg:
    """Return what of a leg lies between 0 and ``duration``."""
    begin, end = max(leg.begin, _ZERO), min(leg.end, duration)
    if (begin, end) == (leg.begin, leg.end):
        return leg
    return leg._replace(
        begin=begin, end=end, source_begin=leg.source_at(begin), source_end=leg.source_at(end)
    )


def _piece(number: int, leg: Leg, begin: Fraction, end: Fraction) -> _Piece:
    """Return what of a span is in a leg."""
    first, last = max(begin, leg.source_begin), min(end, leg.source_end)
    return _Piece(
        number,
        leg,
        leg.begin if first == leg.source_begin else leg.at(first),
        leg.end if last == leg.source_end else leg.at(last),
        first,
        last,
    )


def _without_slack(pieces: Sequence[_Piece], slack: Fraction) -> Iterator[_Piece]:
    """Yield the pieces but for those of no more than ``slack`` that a jump parts from the rest."""
    for number, piece in enumerate(pieces):
        before = number > 0 and pieces[number - 1].goes_on_in(piece)
        after = number + 1 < len(pieces) and piece.goes_on_in(pieces[number + 1])
        if before or after or piece.carried > slack:
            yield piece


def _joins(run: Sequence[_Piece], piece: _Piece) -> bool:
    """Say whether a piece is of the run before it.

    No film of the span's clock may stand between them, and what does may last no longer than they,
    beyond what stands between them on the span's clock too.
    """
    before = run[-1]
    beside = piece.source_begin - before.source_end
    if piece.number != before.number + 1 or beside < 0:
        return False
    lasting = before.end - run[0].begin + piece.end - piece.begin
    return piece.begin - before.end <= lasting + beside
