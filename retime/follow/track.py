"""A track of sound: which of its samples come from where in a recording.

Sample n of a track stands at n/rate seconds of the deliverable's clock, and takes the recording
from where the map of time says. Where the map says nothing there is silence.
"""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING, NamedTuple

from msgspec import Struct

from retime.film.rounding import ceiling_of, half_up
from retime.speedmap.following import Pitch

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Iterator

    from retime.plan.timemap import TimeMap

__all__ = ["Piece", "Track", "pieces_of", "together"]


class Track(Struct, frozen=True, kw_only=True):
    """What is brought along: ``source_rate`` and ``rate`` are samples a second.

    ``offset`` is how many seconds later the recording comes, on its own clock, and ``gain`` what
    its samples are multiplied with.
    """

    time_map: TimeMap
    source_rate: int
    source_samples: int
    rate: int
    pitch: Pitch = Pitch.MOVES
    offset: Fraction = Fraction(0)
    gain: float = 1.0

    @property
    def samples(self) -> int:
        """How many samples the track has: round(duration x rate)."""
        return half_up(self.time_map.duration * self.rate)


class Piece(NamedTuple):
    """Samples ``first`` up to ``stop`` of a track.

    Sample ``first`` takes the recording at ``position``, each next one ``step`` further, both in
    the recording's samples.
    """

    first: int
    stop: int
    position: Fraction
    step: Fraction

    @property
    def end(self) -> Fraction:
        """Where the sample after the last would take the recording."""
        return self.position + (self.stop - self.first) * self.step


def pieces_of(track: Track) -> list[Piece]:
    """Return the pieces of a track, rising; samples in none are silence."""
    found = []
    for leg in track.time_map.legs:
        first = ceiling_of(leg.begin * track.rate)
        stop = min(ceiling_of(leg.end * track.rate), track.samples)
        if first < stop:
            heard = leg.source_at(Fraction(first, track.rate)) - track.offset
            step = leg.ratio * track.source_rate / track.rate
            found.append(Piece(first, stop, heard * track.source_rate, step))
    return found


def together(
    pieces: Iterable[Piece], belongs: Callable[[list[Piece], Piece], bool]
) -> Iterator[list[Piece]]:
    """Yield the pieces in groups; a next one that ``belongs`` to the group so far goes into it."""
    group: list[Piece] = []
    for piece in pieces:
        if group and not belongs(group, piece):
            yield group
            group = []
        group.append(piece)
    if group:
        yield group
