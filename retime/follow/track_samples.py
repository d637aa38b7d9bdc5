"""The samples of a track of sound, made of its pieces block by block."""

from __future__ import annotations

from fractions import Fraction
from functools import partial
from typing import TYPE_CHECKING

import numpy as np

from retime.film.rounding import floor_of, half_up
from retime.follow.laying import laid
from retime.follow.resampling import eased, resampled
from retime.follow.track import Piece, pieces_of, together
from retime.speedmap.following import Pitch

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from numpy.typing import NDArray

    from retime.follow.track import Track
    from retime.media.sound_reader import SampleSource

__all__ = ["blocks_of"]

_FADE = Fraction(2, 1000)  # seconds: where sound begins or ends in the middle of a recording
_SHORT = 4  # of the pieces that are resampled at once, more last a second: a ramp's frames
_ALIKE = Fraction(103, 100)  # and their steps are no further apart
_NEAR = 1  # recording samples: nearer than that, one piece goes on where the other ends


def blocks_of(track: Track, source: SampleSource) -> Iterator[NDArray[np.float64]]:
    """Yield a track's samples in blocks of shape (samples, channels), all of them in order."""
    chains = list(together(pieces_of(track), _goes_on))
    overlap = _fade_of(track) if len(chains) > 1 else 0
    sounds = _sounding(track, chains, source)
    return (one for one in laid(sounds, track.samples, source.channels, overlap) if len(one))


def _sounding(
    track: Track, chains: Iterable[list[Piece]], source: SampleSource
) -> Iterator[tuple[int, NDArray[np.float64]]]:
    """Yield blocks of sound, each with the number of its first sample.

    Where sound begins or ends in the middle of a recording it is faded, so that it does not click.
    It is so before its first sample, of which a stroke is then not lost.
    """
    before = 0
    for chain in chains:
        lead = _lead_of(track, chain[0], before)
        before, stop = chain[0].first, chain[-1].stop
        closes = 0 < chain[-1].end < track.source_samples
        at = first = chain[0].first - lead
        for block in _made(track, _begun_before(chain, lead), source):
            faded = _faded(block, at - first, lead) if at < first + lead else block
            if closes and at + len(block) > stop - _fade_of(track):
                faded = _faded(faded[::-1], stop - at - len(block), _fade_of(track))[::-1]
            yield at, faded if track.gain == 1 else faded * track.gain
            at += len(block)


def _fade_of(track: Track) -> int:
    return int(_FADE * track.rate)


def _lead_of(track: Track, piece: Piece, before: int) -> int:
    """Return how many samples earlier a piece is begun that begins in the middle of a recording.

    That is no earlier than sample ``before``, nor than the recording.
    """
    if not 0 < piece.position < track.source_samples:
        return 0
    return max(0, min(_fade_of(track), piece.first - before, floor_of(piece.position / piece.step)))


def _begun_before(chain: list[Piece], lead: int) -> list[Piece]:
    head = chain[0]
    moved = head.position - lead * head.step
    return [head._replace(first=head.first - lead, position=moved), *chain[1:]]


def _made(track: Track, chain: list[Piece], source: SampleSource) -> Iterator[NDArray[np.float64]]:
    """Yield the samples of pieces that go on in one another."""
    if track.pitch is Pitch.KEPT:
        from retime.follow.stretching import stretched  # noqa: PLC0415 - an extra

        yield from stretched(track, chain, source)
        return
    for group in together(_settled(track, chain), partial(_at_once, track)):
        piece = group[0]
        if len(group) == 1:
            yield from resampled(piece.position, piece.step, piece.stop - piece.first, source)
        else:
            yield eased([(one.position, one.step, one.stop - one.first) for one in group], source)


def _settled(track: Track, chain: list[Piece]) -> Iterator[Piece]:
    """Yield the pieces; one that is copied slides to whole samples where it goes on from another.

    Copied samples stand up to half a sample from their exact places.
    """
    length = int(_FADE * track.rate)
    for piece in chain:
        whole = half_up(piece.position)
        off = whole - piece.position
        if piece.step != 1 or not off or piece.stop - piece.first <= 2 * length:
            yield piece
            continue
        first, stop = piece.first, piece.stop
        if piece is not chain[0]:
            yield Piece(first, first + length, piece.position, 1 + off / length)
            first += length
        if piece is not chain[-1]:
            stop -= length
        yield Piece(first, stop, whole + Fraction(first - piece.first), Fraction(1))
        if stop < piece.stop:
            yield Piece(stop, piece.stop, whole + Fraction(stop - piece.first), 1 - off / length)


def _at_once(track: Track, group: list[Piece], piece: Piece) -> bool:
    """Tell whether a piece is resampled with those before, as the frames of some of a ramp are.

    All are short, and much alike in step.
    """
    longest = max(piece.stop - piece.first, group[-1].stop - group[-1].first)
    steps = (group[0].step, piece.step)
    return (
        longest * _SHORT < track.rate
        and piece.stop - group[0].first < track.rate
        and max(steps) <= min(steps) * _ALIKE
    )


def _goes_on(chain: list[Piece], piece: Piece) -> bool:
    end = chain[-1]
    return end.stop == piece.first and abs(end.end - piece.position) < _NEAR


def _faded(block: NDArray[np.float64], at: int, length: int) -> NDArray[np.float64]:
    """Fade a block in that begins ``at`` samples after the beginning of a fade."""
    gain = np.minimum(1, (np.arange(at, at + len(block)) + 1) / (length + 1))
    return block * gain[:, None]
