"""Sound whose pitch stays where its time changes: stretched, in pieces that are joined unheard.

python-stretch (the extra ``audio``) stretches by one factor at a call and begins anew with each,
so a stretch of one speed is cut into pieces of bounded length, and a ramp into pieces so short
that its speed hardly changes within one. Each piece is stretched with some of the sound around it.
Where two meet, the later is moved by up to half a millisecond to where it fits best, and they are
cross-faded with gains that keep the power for how alike they are: tones and noise keep their level.
"""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from retime.errors import CommandError
from retime.film.rounding import half_up
from retime.follow.resampling import resampled

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence
    from types import ModuleType

    from numpy.typing import NDArray

    from retime.follow.track import Piece, Track
    from retime.media.sound_reader import SampleSource

__all__ = ["stretched"]

_LONGEST = 20  # seconds of a piece: what bounds the memory
_SHORTEST = Fraction(1, 8)  # seconds: ramps are cut into such
_ROLL = Fraction(1, 5)  # seconds of sound around a piece: more than one of the stretcher's blocks
_JOINT = 1024  # samples of a cross-fade, to each side of where two pieces meet
_SHIFT = Fraction(1, 2000)  # seconds by which a piece may be moved to fit
_UNLIKE = -0.5  # pieces less alike than that are faded as if they were so alike: no gain above 1
_SEED = 1


class _Chunk(NamedTuple):
    """Samples ``first`` up to ``stop``, stretched at once, from ``position`` of the recording.

    ``step`` is in recording samples; ``joined`` if the recording goes on from the chunk before.
    """

    first: int
    stop: int
    position: Fraction
    step: Fraction
    joined: bool


def stretched(
    track: Track, pieces: Sequence[Piece], source: SampleSource
) -> Iterator[tuple[int, NDArray[np.float64]]]:
    """Yield blocks of sound, each with the number of its first sample.

    Raises CommandError where the extra is not installed.
    """
    library, shift = _library(), half_up(_SHIFT * track.rate)
    waiting: NDArray[np.float64] | None = None  # the end of a chunk that the next is joined to
    chunks = list(_chunks(track, pieces))
    for number, chunk in enumerate(chunks):
        follows = number + 1 < len(chunks) and chunks[number + 1].joined
        sound = _stretched(track, chunk, source, library)
        if waiting is None:
            begin, sound = chunk.first, sound[shift + _JOINT : len(sound) - shift]
        else:
            begin, sound = chunk.first - _JOINT, _joined(waiting, sound, shift)
        kept = len(sound) - (2 * _JOINT if follows else _JOINT)
        waiting = sound[kept:] if follows else None
        yield begin, sound[:kept]


def _chunks(track: Track, pieces: Sequence[Piece]) -> Iterator[_Chunk]:
    """Yield what is stretched at once: parts of long pieces, short ones that go on together."""
    before: _Chunk | None = None
    for group in _groups(pieces, half_up(_SHORTEST * track.rate)):
        first, count = group[0].first, group[-1].stop - group[0].first
        step = (group[-1].end - group[0].position) / count
        for at in range(0, count, _LONGEST * track.rate):
            stop = first + min(at + _LONGEST * track.rate, count)
            chunk = _Chunk(first + at, stop, group[0].position + at * step, step, joined=False)
            joined = before is not None and _goes_on(before, chunk)
            before = chunk._replace(joined=joined)
            yield before


def _groups(pieces: Sequence[Piece], shortest: int) -> Iterator[list[Piece]]:
    """Yield pieces that are stretched together: those too short to be stretched alone."""
    group: list[Piece] = []
    for piece in pieces:
        short = bool(group) and max(group[-1].stop - group[0].first, _length(piece)) < shortest
        if group and not (short and _goes_on(group[-1], piece)):
            yield group
            group = []
        group.append(piece)
    if group:
        yield group


def _length(piece: Piece | _Chunk) -> int:
    return piece.stop - piece.first


def _goes_on(one: Piece | _Chunk, other: Piece | _Chunk) -> bool:
    """Tell whether the recording goes on from one to the other, without a gap on either clock."""
    end = one.position + _length(one) * one.step
    return one.stop == other.first and abs(end - other.position) < 1


def _stretched(
    track: Track, chunk: _Chunk, source: SampleSource, library: ModuleType
) -> NDArray[np.float64]:
    """Return a chunk's sound, with a joint's length and a shift's before and after it."""
    around = _JOINT + half_up(_SHIFT * track.rate)
    roll = half_up(_ROLL * track.rate) + around
    count = chunk.stop - chunk.first
    # At the track's own rate first, which changes neither time nor pitch.
    same = Fraction(track.source_rate, track.rate)
    ratio = chunk.step / same
    before = half_up(roll * ratio)
    length = half_up((count + 2 * roll) * ratio)
    heard = np.concatenate(list(resampled(chunk.position - before * same, same, length, source)))
    if ratio == 1:
        made = heard
    else:
        stretch = library.Stretch(_SEED)
        stretch.preset(source.channels, track.rate)
        stretch.setTimeFactor(float(ratio))
        made = stretch.process(np.ascontiguousarray(heard.T, np.float32)).T.astype(np.float64)
    at = half_up(before / ratio) - around
    wanted = made[at : at + count + 2 * around]
    lacking = count + 2 * around - len(wanted)
    return np.pad(wanted, ((0, lacking), (0, 0))) if lacking else wanted


def _joined(
    ending: NDArray[np.float64], sound: NDArray[np.float64], shift: int
) -> NDArray[np.float64]:
    """Return the later sound from where it fits best, faded with the end of the earlier."""
    at, alike = _fit(ending.mean(axis=1), sound.mean(axis=1), shift)
    length = 2 * _JOINT
    moved = sound[at : at + len(sound) - 2 * shift]
    rise = (np.arange(length) + 0.5) / length
    power = (1 - rise) ** 2 + rise**2 + 2 * max(alike, _UNLIKE) * rise * (1 - rise)
    later, earlier = rise / np.sqrt(power), (1 - rise) / np.sqrt(power)
    joint = moved[:length] * later[:, None] + ending * earlier[:, None]
    return np.concatenate([joint, moved[length:]])


def _fit(ending: NDArray[np.float64], sound: NDArray[np.float64], shift: int) -> tuple[int, float]:
    """Return from which sample the later sound fits best, 0 to twice the shift, and how well.

    They are 1 where both are the same but for their level, and -1 where one is the other's mirror.
    """
    tried = []
    size = float(np.linalg.norm(ending))
    for at in range(2 * shift + 1):
        other = sound[at : at + len(ending)]
        both = size * float(np.linalg.norm(other))
        # Of equals the one that moves least: silence fits everywhere.
        tried.append((float(ending @ other) / both if both else 1.0, -abs(at - shift), at))
    alike, _, at = max(tried)
    return at, alike


def _library() -> ModuleType:
    try:
        from python_stretch import Signalsmith  # noqa: PLC0415 - an extra
    except ImportError as error:
        text = "pitch: kept needs python-stretch, which is not installed"
        raise CommandError(text, "pip install 'retime[audio]', or say pitch: moves") from error
    found: ModuleType = Signalsmith
    return found
