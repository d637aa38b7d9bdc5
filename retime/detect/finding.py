"""A transfer's cadence from its pictures: it is looked at once, and then everything is reckoned."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING, Protocol

import numpy as np

from retime.detect.detection import Detection, OnFilm, Trace, numbered_from
from retime.detect.sight import Sight, size_for
from retime.detect.stretches import stretches_of
from retime.errors import CommandError, ScanError
from retime.media.count import frame_count
from retime.media.countcache import users_cache
from retime.media.facts import Form
from retime.media.probe import probe
from retime.media.scan_digest import scan_digest
from retime.media.sequence import list_sequence
from retime.second.halves import look_at_halves
from retime.second.pictures import Source
from retime.signal.leaps import leaps_in
from retime.signal.mixing import settled
from retime.signal.printing import printed_in
from retime.signal.searching import search
from retime.signal.shown import Kind, Space, film_frames, films_shown
from retime.signal.trellis import Free

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from numpy.typing import NDArray

    from retime.media.facts import ScanFacts
    from retime.signal.changes import Changes
    from retime.signal.mixtures import Mixture
    from retime.signal.searching import Reading
    from retime.signal.shown import Stretch
    from retime.signal.trellis import Piece

__all__ = ["Listener", "detect"]

_FEWEST = 2
_STILL = 24  # pictures
_NOTHING = 0.3  # nats for both fields
_LITTLE = 2.0  # codes squared
# Logarithms of what mixtures leave. Lossy coding favours light, which is little in dark parts: in
# 372 coded stretches mixed in codes by up to 1.8.
_BETTER, _WELL = 2.0, -1.5


class Listener(Protocol):
    """Is told how far a detection is."""

    def start(self, pictures: int, note: str) -> None:
        """Take how many pictures there will be."""

    def advance(self, pictures: int) -> None:
        """Take how many more have gone by."""

    def finish(self) -> None:
        """Take that all have."""


def detect(path: Path, listener: Listener, *, first: int = 0, last: int | None = None) -> Detection:
    """Return the cadences of a movie or of numbered files, from picture ``first`` to ``last``.

    Raises ScanError for what is no movie, is empty, damaged or cut short, and CommandError where
    there are no such pictures.
    """
    facts = probe(path)
    count = frame_count(facts, cache=users_cache())
    if count < _FEWEST:
        raise ScanError(path, "is a single picture", "a cadence needs several")
    end = count - 1 if last is None else last
    if not first <= end < max(count, 1):
        raise CommandError(
            f"{path} has no pictures {first} to {end}", f"it has {count:,}, numbered from 0"
        )
    if end - first + 1 < _FEWEST:
        raise CommandError(f"picture {first} is a single one", "a cadence needs several")
    listener.start(end - first + 1, f"looking at {path.name}")
    changes = _looked_at(facts, first, end - first + 1, listener)
    listener.finish()
    return _found(facts, first, changes)


def _looked_at(facts: ScanFacts, first: int, count: int, listener: Listener) -> Changes:
    picture = facts.picture
    columns, rows = size_for(picture.width, picture.height)
    sight = Sight(picture.height, columns, rows)
    for halves in look_at_halves(_source(facts), columns, rows, first=first, count=count):
        sight.see(halves)
        listener.advance(1)
    if sight.count < (count if facts.header_frames is not None else _FEWEST):
        text = f"holds {count:,} pictures, and {sight.count:,} of them could be read"
        raise ScanError(facts.path, text, "it may be cut short or damaged")
    return sight.changes()


def _source(facts: ScanFacts) -> Source:
    if facts.form is not Form.SEQUENCE:
        return Source(path=facts.path)
    sequence = list_sequence(facts.path)
    if sequence.holes:
        raise ScanError(
            facts.path, "has files missing in between", "a cadence is told of pictures in a row"
        )
    return Source(path=facts.path, first_number=sequence.numbers[0])


def _found(facts: ScanFacts, first: int, changes: Changes) -> Detection:
    reading = search(changes, facts.header_rate)
    stretches = stretches_of(changes, reading, partial(_mixed, changes, reading))
    upper, lower = films_shown(stretches)
    new = _new(upper) | _new(lower)
    printed = [tuple(_printed(changes, stretch, new)) for stretch in stretches]
    differing = [
        one
        for one, some in zip(stretches, printed, strict=True)
        if one.kind is Kind.NEW and not some
    ]
    leaps = [leaps_in(changes, reading.asked.cuts, one.first, one.last) for one in differing]
    change = np.asarray(changes.upper + changes.lower, np.float64) / 2
    found = Detection(
        file=facts.path,
        first=0,
        frames=len(changes),
        rate_said=facts.header_rate,
        order_said=facts.picture.field_order,
        digest=scan_digest(facts),
        stretches=tuple(stretches),
        film_frames=sum(1 for _ in film_frames(stretches)),
        stills=tuple(_stills(changes, reading)),
        on_film=tuple(one for some in printed for one in some),
        leaps=tuple(one for one in leaps if one is not None),
        trace=Trace(change=change, same=changes.upper_same & changes.lower_same, new=new),
    )
    return numbered_from(found, first)


def _mixed(
    changes: Changes, reading: Reading, piece: Piece, mixture: Mixture
) -> tuple[Mixture, Space]:
    """Return a mixture by the rule that fits a piece best, and in what it was mixed."""
    cuts = reading.asked.cuts
    rule, codes, light = settled(changes, cuts, mixture, piece.first, piece.last)
    return rule, _space(codes, light)


def _space(codes: float, light: float) -> Space:
    if abs(codes - light) < _BETTER or min(codes, light) > _WELL:
        return Space.UNTOLD
    return Space.CODES if codes < light else Space.LIGHT


def _new(films: NDArray[np.int64]) -> NDArray[np.bool_]:
    """Tell which pictures show another film frame than the one before, in one kind of field."""
    new = np.ones(len(films), np.bool_)
    new[1:] = films[1:] != films[:-1]
    return new


def _printed(changes: Changes, stretch: Stretch, new: NDArray[np.bool_]) -> Iterator[OnFilm]:
    """Yield where film frames were printed more than once, among pictures that are not woven."""
    if stretch.kind not in {Kind.NEW, Kind.REPEATS}:
        return
    shown = stretch.first + np.flatnonzero(new[stretch.first : stretch.last + 1])
    for one in printed_in(changes, shown):
        yield OnFilm(
            first=int(shown[one.first]),
            last=int(shown[one.last]),
            runs=one.runs,
            phase=one.phase,
            confidence=one.confidence,
        )


def _stills(changes: Changes, reading: Reading) -> Iterator[tuple[int, int]]:
    """Yield first and last pictures of stretches in which nothing tells new from repeated."""
    asked = reading.asked
    silent = np.abs(asked.upper) + np.abs(asked.lower) < _NOTHING
    silent &= (changes.upper < _LITTLE) & (changes.lower < _LITTLE)
    for piece in reading.pieces:
        if piece.state.shape is Free.STANDING:
            silent[piece.first : piece.last + 1] = True
    edges = np.flatnonzero(np.diff(np.concatenate([[False], silent, [False]]).astype(np.int8)))
    for begin, stop in zip(edges[0::2].tolist(), edges[1::2].tolist(), strict=True):
        if stop - begin >= _STILL:
            yield begin, stop - 1
