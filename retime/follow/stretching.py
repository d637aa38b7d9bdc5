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
"""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from retime.errors import CommandError
from retime.film.rounding import floor_of, half_up
from retime.follow.resampling import resampled

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
_ROLL = Fraction(1, 5)  # seconds of sound around a piece: more than one of the stretcher's blocks
_JOINT = 1024  # samples of a cross-fade, to each side of where two pieces meet; fewer where
_APART = Fraction(1, 1000)  # this many seconds lie between the two at the ends of the fade
_WAVE = Fraction(1, 50)  # seconds: the longest wave that is brought into phase
_EARLIER = Fraction(1, 8)  # of its length: so much earlier a piece may begin to be in phase, or
_LEAST_EARLIER = Fraction(1)  # seconds, if that is more
_SHIFT = Fraction(1, 2000)  # seconds by which a piece may be moved to fit
_UNLIKE = -0.9  # pieces less alike than that are faded as if they were so alike
_LATE = Fraction(1, 5000)  # seconds that the stretcher brings an attack late: measured, its median
_LATE_FROM = Fraction(1, 50)  # for factors this far above 1 or more; early below; less so between
_NOTHING = 1e-12  # power of a fade that is silent
_EQUAL = 1e-6  # fits that differ by less for each sample of moving are equals
_SEED = 1


class _Chunk(NamedTuple):
    """Samples ``first`` up to ``stop``, stretched at once, from ``position`` of the recording.

    ``step`` is in recording samples.
    """

    first: int
    stop: int
    position: Fraction
    step: Fraction


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
    chunks = list(_chunks(track, pieces))
    for number, chunk in enumerate(chunks):
        after = chunks[number + 1] if number + 1 < len(chunks) else None
        half = 0 if after is None else _half(track, chunk, after)
        if ending is None:
            sound = stretcher.made(chunk, chunk.first, chunk.stop + half)
        else:
            sound = stretcher.joined(ending, chunk, half)
        kept = len(sound) - 2 * half
        ending = _Ending(sound[kept:], half) if half else None
        yield sound[:kept]


def _chunks(track: Track, pieces: Sequence[Piece]) -> Iterator[_Chunk]:
    """Yield what is stretched at once: parts of long pieces, short ones that go on together."""
    for group in _groups(track, pieces):
        first, count = group[0].first, group[-1].stop - group[0].first
        step = (group[-1].end - group[0].position) / count
        parts = -(-count // (_LONGEST * track.rate))
        for part in range(parts):
            at, end = part * count // parts, (part + 1) * count // parts
            yield _Chunk(first + at, first + end, group[0].position + at * step, step)


def _groups(track: Track, pieces: Sequence[Piece]) -> Iterator[list[Piece]]:
    """Yield pieces that are stretched together: those too short to be alone, and ramps' frames."""
    group: list[Piece] = []
    for piece in pieces:
        if group and not _together(track, group, piece):
            yield group
            group = []
        group.append(piece)
    if group:
        yield group


def _together(track: Track, group: Sequence[Piece], piece: Piece) -> bool:
    """Tell whether a piece is stretched together with those before it."""
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
            return self._read(heard, count)
        roll = half_up(_ROLL * self._rate)
        before = half_up((roll + earlier) * ratio)
        at = half_up(before / ratio)
        length = half_up((at + count + roll) * ratio)
        sound = self._read(heard + self._late(ratio) - before, length)
        stretch = self._library.Stretch(_SEED)
        stretch.preset(self._source.channels, self._rate)
        stretch.setTimeFactor(float(ratio))
        made = stretch.process(np.ascontiguousarray(sound.T, np.float32))
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
            lag = _fit(ending.sound, tried, nearest=-low)
            earlier = half_up(Fraction(abs(lag)) / abs(ratio - 1))
            sound = self.made(chunk, begin, stop, earlier - low)  # as long before as was tried
        else:
            tried = self.made(chunk, begin - shift, stop + shift)
            lag = _fit(ending.sound, tried[: length + 2 * shift], nearest=shift)
            sound = tried[shift + lag : shift + lag + stop - begin]
        return np.concatenate([_faded(ending.sound, sound[:length]), sound[length:]])

    def _read(self, position: Fraction, count: int) -> NDArray[np.float64]:
        return np.concatenate(
            list(resampled(position * self._same, self._same, count, self._source))
        )

    def _late(self, ratio: Fraction) -> Fraction:
        """Return how many samples of the recording an attack comes late."""
        measure = max(-_LATE_FROM, min(ratio - 1, _LATE_FROM)) / _LATE_FROM
        return measure * _LATE * self._rate * ratio


def _fit(ending: NDArray[np.float64], sound: NDArray[np.float64], nearest: int) -> int:
    """Return where in ``sound`` the ending fits best, counted from sample ``nearest``."""
    channels = range(ending.shape[1])
    both = sum(np.correlate(sound[:, one], ending[:, one], "valid") for one in channels)
    power = np.concatenate([[0.0], np.cumsum((sound**2).sum(axis=1))])
    power = np.clip(power[len(ending) :] - power[: -len(ending)], 0, None)
    size = np.sqrt(power * (ending**2).sum())
    alike = np.divide(both, size, out=np.ones_like(size), where=size > _NOTHING)
    # Of equals the one that moves least: silence fits everywhere.
    best = np.argmax(alike - _EQUAL * np.abs(np.arange(len(alike)) - nearest))
    return int(best) - nearest


def _faded(ending: NDArray[np.float64], sound: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return a cross-fade of the same power throughout, whatever the two have in common.

    They are alike by 1 where both are the same but for their level, and by -1 where one is the
    other's mirror.
    """
    size = np.sqrt((ending**2).sum() * (sound**2).sum())
    alike = max(_UNLIKE, float((ending * sound).sum() / size)) if size > _NOTHING else 1.0
    rise = (np.arange(len(sound)) + 0.5) / len(sound)
    power = (1 - rise) ** 2 + rise**2 + 2 * alike * rise * (1 - rise)
    later, earlier = rise / np.sqrt(power), (1 - rise) / np.sqrt(power)
    return np.asarray(sound * later[:, None] + ending * earlier[:, None])


def _library() -> ModuleType:
    try:
        from python_stretch import Signalsmith  # noqa: PLC0415 - an extra
    except ImportError as error:
        text = "pitch: kept needs python-stretch, which is not installed"
        raise CommandError(text, "pip install 'retime[audio]', or say pitch: moves") from error
    found: ModuleType = Signalsmith
    return found
