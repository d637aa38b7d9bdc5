"""Sound whose pitch stays where its time changes: stretched, in pieces that are joined unheard.

python-stretch (the extra ``audio``) stretches by one factor at a call and begins anew with each.
So what has one speed is cut into pieces of bounded length, and a ramp into pieces within which
none of its moments is off by more than a quarter of a millisecond. Each is stretched with some of
the sound around it.

A stretched wave stands where it should in time, but not in its phase: that depends on how far
from its beginning the stretcher was begun. A piece that is begun a little earlier therefore has
all its waves moved by a fraction of that, their time unchanged. Where two pieces meet, the later
is begun so much earlier that it fits the one before best; where the factor is so near to 1 that
this takes too long, it is moved itself, by up to half a millisecond. They are cross-faded with
gains that keep the power for how alike they are: tones, low ones too, and music keep their level.

The stretcher moves sound in blocks of 120 ms. Of two attacks within a block one comes up to 16 ms
out of place. Shorter blocks hold attacks, but do not tell low tones apart, and move their pitches:
at 25/24 a chord of an organ has 47 dB less beside its tones than in them, in half blocks 6 dB. So
the seconds in which attacks out of quiet lie closer than an eighth of a second, such as clicks on
every film frame, are stretched in half blocks, and all other sound in whole ones.
"""

from __future__ import annotations

from fractions import Fraction
from functools import partial
from itertools import groupby, zip_longest
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from retime.errors import CommandError
from retime.film.rounding import floor_of, half_up
from retime.follow.attacks import close_attacks
from retime.follow.joints import faded, fit
from retime.follow.resampling import resampled
from retime.follow.track import together

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence
    from types import ModuleType

    from numpy.typing import NDArray

    from retime.follow.track import Piece, Track
    from retime.media.sound_reader import SampleSource

__all__ = ["stretched"]

_LONGEST = 20  # seconds of a piece: what bounds the memory
_SHORTEST = Fraction(1, 8)  # seconds: shorter pieces are stretched with the next
_SHORT = Fraction(1, 4)  # seconds: such are the frames of a ramp
_STRAIGHT = 0.00025  # seconds that a moment of a ramp may be off
_CLOSE = Fraction(1, 8)  # seconds: attacks that are closer need short blocks
_PART = Fraction(1)  # seconds, or more, that are stretched in blocks of one length
_ROLL = Fraction(1, 5)  # seconds of sound around a piece: more than one of the stretcher's blocks
_JOINT = 1024  # samples of a cross-fade, to each side of where two pieces meet; fewer where
_APART = Fraction(1, 1000)  # this many seconds lie between the two at the ends of the fade
_WAVE = Fraction(1, 50)  # seconds: the longest wave that is brought into phase
_EARLIER = Fraction(1, 8)  # of its length: so much earlier a piece may begin to be in phase, or
_LEAST_EARLIER = Fraction(1)  # seconds, if that is more
_SHIFT = Fraction(1, 2000)  # seconds by which a piece may be moved to fit
_LATE = Fraction(1, 5000)  # seconds that the stretcher brings an attack late: measured, its median
_LATE_FROM = Fraction(1, 50)  # for factors this far above 1 or more; early below; less so between
_SEED = 1


class _Chunk(NamedTuple):
    """Samples ``first`` up to ``stop``, stretched at once, from ``position`` of the recording.

    ``step`` is in recording samples. ``short`` asks for short blocks.
    """

    first: int
    stop: int
    position: Fraction
    step: Fraction
    short: bool = False


class _Ending(NamedTuple):
    """The end of a chunk, ``half`` samples to each side of where the next one is joined to it."""

    sound: NDArray[np.float64]
    half: int


def stretched(
    track: Track, pieces: Sequence[Piece], source: SampleSource
) -> Iterator[NDArray[np.float64]]:
    """Yield the sound of pieces that go on in one another, in blocks.

    Raises CommandError where the extra is not installed.
    """
    stretcher = _Stretcher(track, source, _library())
    ending: _Ending | None = None
    for chunk, after in _followed(track, pieces, source):
        half = 0 if after is None else _half(track, chunk, after)
        if ending is None:
            sound = stretcher.made(chunk, chunk.first, chunk.stop + half)
        else:
            sound = stretcher.joined(ending, chunk, half)
        kept = len(sound) - 2 * half
        ending = _Ending(sound[kept:], half) if half else None
        yield sound[:kept]


def _followed(
    track: Track, pieces: Sequence[Piece], source: SampleSource
) -> Iterator[tuple[_Chunk, _Chunk | None]]:
    """Yield what is stretched at once, and what comes after it.

    The sound of each is looked at when its turn comes, so that the recording is read forward.
    """
    chunks = list(_chunks(track, pieces))
    for chunk, after in zip_longest(chunks, chunks[1:]):
        parts = list(_parts(track, chunk, source))
        yield from zip(parts, [*parts[1:], after], strict=True)


def _chunks(track: Track, pieces: Sequence[Piece]) -> Iterator[_Chunk]:
    """Yield what is stretched at once: parts of long pieces, short ones that go on together."""
    for group in together(pieces, partial(_at_once, track)):
        first, count = group[0].first, group[-1].stop - group[0].first
        step = (group[-1].end - group[0].position) / count
        parts = -(-count // (_LONGEST * track.rate))
        for part in range(parts):
            at, end = part * count // parts, (part + 1) * count // parts
            yield _Chunk(first + at, first + end, group[0].position + at * step, step)


def _parts(track: Track, chunk: _Chunk, source: SampleSource) -> Iterator[_Chunk]:
    """Yield a chunk in parts that need short blocks, and parts that need none."""
    count, parts = _length(chunk), max(1, _length(chunk) // half_up(_PART * track.rate))
    short = [False] * parts
    for attack in _attacks(track, chunk, source):
        first, last = (
            min(max(floor_of((attack + reach) * parts / count), 0), parts - 1)
            for reach in (-_CLOSE * track.rate, _CLOSE * track.rate)
        )
        short[first : last + 1] = [True] * (last + 1 - first)
    for needed, run in groupby(range(parts), short.__getitem__):
        numbers = list(run)
        at, end = numbers[0] * count // parts, (numbers[-1] + 1) * count // parts
        yield _Chunk(
            chunk.first + at,
            chunk.first + end,
            chunk.position + at * chunk.step,
            chunk.step,
            short=needed,
        )


def _attacks(track: Track, chunk: _Chunk, source: SampleSource) -> list[Fraction]:
    """Return the samples from a chunk's first on near which there are attacks close together."""
    if chunk.step * track.rate == track.source_rate:  # nothing is stretched
        return []
    around = half_up(_ROLL * track.source_rate)
    begin = floor_of(chunk.position) - around
    sound = source.read(begin, half_up(_length(chunk) * chunk.step) + 2 * around)
    found = close_attacks(sound, track.source_rate, float(_CLOSE))
    return [(begin + int(one) - chunk.position) / chunk.step for one in found]


def _at_once(track: Track, group: Sequence[Piece], piece: Piece) -> bool:
    """Tell whether a piece is stretched with those before: too short to be alone, or of a ramp."""
    if piece.step == group[-1].step == 1:
        return False
    longest = max(_length(group[-1]), _length(piece))
    if max(group[-1].stop - group[0].first, longest) < _SHORTEST * track.rate:
        return True
    if longest >= _SHORT * track.rate or piece.stop - group[0].first > _LONGEST * track.rate:
        return False
    begin = group[0]
    places = np.array(
        [(one.first - begin.first, float(one.position - begin.position)) for one in (*group, piece)]
    )
    count, whole = piece.stop - begin.first, float(piece.end - begin.position)
    off = np.abs(places[:, 1] - places[:, 0] * (whole / count)).max()
    return bool(off <= _STRAIGHT * track.source_rate)


def _length(piece: Piece | _Chunk) -> int:
    return piece.stop - piece.first


def _half(track: Track, one: _Chunk, other: _Chunk) -> int:
    """Return half the length of a cross-fade: shorter, the more two chunks differ in speed.

    To each side of the joint, the chunk of the other side shows other moments of the recording.
    """
    apart = abs(one.step - other.step) * track.rate / track.source_rate
    room = min(_length(one), _length(other)) // 2
    most = min(_JOINT, room)
    return most if apart * most <= _APART * track.rate else floor_of(_APART * track.rate / apart)


class _Stretcher:
    """Stretches chunks of one track."""

    def __init__(self, track: Track, source: SampleSource, library: ModuleType) -> None:
        """Take the track, its recording and the library."""
        self._rate, self._source, self._library = track.rate, source, library
        # The recording is brought to the track's rate first: that changes neither time nor pitch.
        self._same = Fraction(track.source_rate, track.rate)

    def made(self, chunk: _Chunk, begin: int, stop: int, earlier: int = 0) -> NDArray[np.float64]:
        """Return the track's samples ``begin`` up to ``stop`` as the chunk has them.

        The stretcher is begun ``earlier`` samples sooner than it needs to be.
        """
        ratio, count = chunk.step / self._same, stop - begin
        heard = chunk.position / self._same + (begin - chunk.first) * ratio
        if ratio == 1:
            return np.concatenate(list(self._read(heard, count)))
        roll = half_up(_ROLL * self._rate)
        before = half_up((roll + earlier) * ratio)
        at = half_up(before / ratio)
        length = half_up((at + count + roll) * ratio)
        sound = np.empty((self._source.channels, length), np.float32)
        filled = 0
        for block in self._read(heard + self._late(ratio) - before, length):
            sound[:, filled : filled + len(block)] = block.T
            filled += len(block)
        stretch = self._library.Stretch(_SEED)
        stretch.preset(self._source.channels, self._rate)
        if chunk.short:
            block, interval = stretch.blockSamples() // 2, stretch.intervalSamples() // 2
            stretch.configure(self._source.channels, block, interval)
        stretch.setTimeFactor(float(ratio))
        made = stretch.process(sound)
        return np.asarray(made[:, at : at + count].T, np.float64)

    def joined(self, ending: _Ending, chunk: _Chunk, after: int) -> NDArray[np.float64]:
        """Return a chunk from the fade with the one before up to ``after`` samples past its end."""
        begin, stop, length = chunk.first - ending.half, chunk.stop + after, 2 * ending.half
        ratio = chunk.step / self._same
        shift = half_up(_SHIFT * self._rate)
        most = max(_EARLIER * _length(chunk), _LEAST_EARLIER * self._rate)
        reach = floor_of(min(_WAVE * self._rate, abs(ratio - 1) * most))
        if reach > shift:
            # Waves move with an earlier beginning: back where time runs faster, else forward.
            low, high = (-reach, 0) if ratio > 1 else (0, reach)
            tried = self.made(chunk, begin + low, begin + length + high)
            lag = fit(ending.sound, tried, nearest=-low)
            earlier = half_up(Fraction(abs(lag)) / abs(ratio - 1))
            sound = self.made(chunk, begin, stop, earlier - low)  # as long before as was tried
        else:
            tried = self.made(chunk, begin - shift, stop + shift)
            lag = fit(ending.sound, tried[: length + 2 * shift], nearest=shift)
            sound = tried[shift + lag : shift + lag + stop - begin]
        return np.concatenate([faded(ending.sound, sound[:length]), sound[length:]])

    def _read(self, position: Fraction, count: int) -> Iterator[NDArray[np.float64]]:
        return resampled(position * self._same, self._same, count, self._source)

    def _late(self, ratio: Fraction) -> Fraction:
        """Return how many samples of the recording an attack comes late."""
        measure = max(-_LATE_FROM, min(ratio - 1, _LATE_FROM)) / _LATE_FROM
        return measure * _LATE * self._rate * ratio


def _library() -> ModuleType:
    try:
        from python_stretch import Signalsmith  # noqa: PLC0415 - an extra
    except ImportError as error:
        text = "pitch: kept needs python-stretch, which is not installed"
        raise CommandError(text, "pip install 'retime[audio]', or say pitch: moves") from error
    found: ModuleType = Signalsmith
    return found
