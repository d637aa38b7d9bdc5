"""A track of sound: which of its samples come from where in a recording, and the samples.

Sample n of a track stands at n/rate seconds of the deliverable's clock, and takes the recording
from where the map of time says. Where the map says nothing there is silence.
"""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
from msgspec import Struct

from retime.film.rounding import ceiling_of, half_up
from retime.follow.resampling import resampled
from retime.speedmap.following import Pitch

if TYPE_CHECKING:
    from collections.abc import Iterator

    from numpy.typing import NDArray

    from retime.media.sound_reader import SampleSource
    from retime.plan.timemap import TimeMap

__all__ = ["Piece", "Track", "blocks_of", "pieces_of"]

_BLOCK = 1 << 15
_FADE = Fraction(2, 1000)  # seconds: where sound begins or ends in the middle of a recording
_NEAR = 1  # recording samples: nearer than that, one piece goes on where the other ends


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


def blocks_of(track: Track, source: SampleSource) -> Iterator[NDArray[np.float64]]:
    """Yield a track's samples in blocks of shape (samples, channels), all of them in order."""
    at = 0
    for first, block in _sounding(track, source):
        while at < first:
            count = min(first - at, _BLOCK)
            yield np.zeros((count, source.channels))
            at += count
        yield block if track.gain == 1 else block * track.gain
        at += len(block)
    while at < track.samples:
        count = min(track.samples - at, _BLOCK)
        yield np.zeros((count, source.channels))
        at += count


def _sounding(track: Track, source: SampleSource) -> Iterator[tuple[int, NDArray[np.float64]]]:
    """Yield blocks of sound, each with the number of its first sample."""
    pieces = pieces_of(track)
    if track.pitch is Pitch.KEPT:
        from retime.follow.stretching import stretched  # noqa: PLC0415 - an extra

        yield from stretched(track, pieces, source)
        return
    for number, piece in enumerate(pieces):
        opens, closes = _jumps(track, pieces, number)
        at = piece.first
        for block in resampled(piece.position, piece.step, piece.stop - piece.first, source):
            yield at, _faded(track, piece, at, block, opens=opens, closes=closes)
            at += len(block)


def _jumps(track: Track, pieces: list[Piece], number: int) -> tuple[bool, bool]:
    """Tell whether a piece begins, and ends, in the middle of the recording and out of nothing."""
    piece = pieces[number]
    before = pieces[number - 1] if number else None
    after = pieces[number + 1] if number + 1 < len(pieces) else None
    opens = not (before and _goes_on(before, piece)) and 0 < piece.position < track.source_samples
    closes = not (after and _goes_on(piece, after)) and 0 < piece.end < track.source_samples
    return opens, closes


def _goes_on(one: Piece, other: Piece) -> bool:
    return one.stop == other.first and abs(one.end - other.position) < _NEAR


def _faded(  # noqa: PLR0913 - a block and its two ends
    track: Track,
    piece: Piece,
    at: int,
    block: NDArray[np.float64],
    *,
    opens: bool,
    closes: bool,
) -> NDArray[np.float64]:
    """Fade a block where its piece begins or ends out of nothing, so that it does not click."""
    length = int(_FADE * track.rate)
    numbers = np.arange(at, at + len(block))
    gain = np.ones(len(block))
    if opens and at < piece.first + length:
        gain = np.minimum(gain, (numbers - piece.first + 1) / (length + 1))
    if closes and at + len(block) > piece.stop - length:
        gain = np.minimum(gain, (piece.stop - numbers) / (length + 1))
    return block if gain.min() == 1 else block * gain[:, None]
