"""Pieces that were read become stretches: film frames numbered through, exceptions, confidence."""

from __future__ import annotations

from itertools import groupby, pairwise
from math import exp
from typing import TYPE_CHECKING

import numpy as np
from msgspec.structs import replace

from retime.signal.leaning import MOST
from retime.signal.mixtures import Mixture
from retime.signal.patterns import NEW_EVERY_TIME, Pattern, turned
from retime.signal.searching import newness_of
from retime.signal.shown import Kind, Mixing, Odd, Space, Stretch, films_shown
from retime.signal.trellis import Free, Piece, State

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Sequence

    from retime.signal.changes import Changes
    from retime.signal.searching import Reading

    Settle = Callable[[Piece, Mixture], tuple[Mixture, Space]]

__all__ = ["stretches_of"]

_MARGIN = 6.0  # nats
_WRONG = 1.5
_EXACTLY = 0.9
_FRESH_GRAIN = -1.0
_LITTLE = 1e-3


def stretches_of(changes: Changes, reading: Reading, settle: Settle) -> list[Stretch]:
    """Return the stretches of a reading; ``settle`` tells by what rule a piece is mixed.

    Pictures are numbered from 0, the first that was looked at.
    """
    found: list[Stretch] = []
    for piece in _split(changes, reading, _joined(changes, reading)):
        stretch = _stretch(changes, reading, piece, settle)
        film = 0
        if found:
            upper, lower = films_shown(found[-1:])
            last = int(max(upper[-1], lower[-1]))
            film = last if _goes_on(changes, reading, piece.first) else last + 1
        found.append(replace(stretch, film=film))
    return found


def _joined(changes: Changes, reading: Reading) -> list[Piece]:
    """Return pieces, those joined that are one cadence with a still in it, or plain neighbours."""
    told: list[Piece] = []
    for piece in reading.pieces:
        kept = _plain(changes, reading, piece)
        if told and told[-1].state == kept.state and kept.state.shape == NEW_EVERY_TIME:
            told[-1] = Piece(told[-1].first, kept.last, kept.state)
        elif _goes_through(told, kept):
            told[-2:] = [Piece(told[-2].first, kept.last, kept.state)]
        else:
            told.append(kept)
    return told


def _split(changes: Changes, reading: Reading, pieces: Sequence[Piece]) -> Iterator[Piece]:
    """Yield pieces, divided where an edit leaves the phase as it was but not the film frame.

    There what should be a repeat is new.
    """
    for piece in pieces:
        edits = [piece.first, *_edits(changes, reading, piece), piece.last + 1]
        for first, stop in pairwise(edits):
            yield Piece(first, stop - 1, piece.state)


def _edits(changes: Changes, reading: Reading, piece: Piece) -> list[int]:
    shape = piece.state.shape
    if not isinstance(shape, Pattern) or shape == NEW_EVERY_TIME:
        return []
    pictures = np.arange(piece.first, piece.last + 1)
    newness = newness_of(reading.asked, reading.laid, [piece])
    upper, lower = newness.upper[pictures], newness.lower[pictures]
    asked = reading.asked
    cut = asked.cuts[pictures] & ~(upper & lower)
    odd = np.zeros(len(pictures), np.bool_)
    for new, same, odds in (
        (upper, changes.upper_same[pictures], asked.upper[pictures]),
        (lower, changes.lower_same[pictures], asked.lower[pictures]),
    ):
        if (~new).any() and same[~new].mean() > _EXACTLY:
            odd |= ~new & ~same & (odds >= MOST)
    # Both fields change at an edit; one alone is no edit.
    odd &= (asked.upper[pictures] >= MOST) & (asked.lower[pictures] >= MOST)
    wanted = cut | odd if shape.in_fields else cut
    return [int(one) for one in pictures[wanted] if one > piece.first]


def _goes_through(told: Sequence[Piece], piece: Piece) -> bool:
    """Tell whether a cadence goes on behind a still as it was before it.

    A mixture goes on through whatever does not tell that it is mixed, if that is shorter.
    """
    if len(told) < 2 or told[-2].state != piece.state:  # noqa: PLR2004 - before and between
        return False
    before, between = told[-2:]
    if between.state.shape is Free.STANDING:
        return True
    untold = between.state.shape == NEW_EVERY_TIME
    short = between.length < before.length + piece.length
    return isinstance(piece.state.shape, Mixture) and untold and short


def _plain(changes: Changes, reading: Reading, piece: Piece) -> Piece:
    """Return a piece; what follows no pattern is new throughout where nothing is known to repeat.

    Nothing repeats in a transfer that has no pattern anywhere and no picture the same to the bit,
    nor where grain is as fresh in what seems to repeat as in what does not.
    """
    if piece.state.shape is not Free.IRREGULAR:
        return piece
    within = slice(piece.first + 1, piece.last + 1)
    if (changes.upper_same[within] | changes.lower_same[within]).any():
        return piece
    exact = changes.upper_same.any() or changes.lower_same.any()
    repeats = reading.asked.upper[within] < 0
    grain = np.log(changes.quiet[within] + _LITTLE)
    fresh = max(_FRESH_GRAIN, float(grain.mean()) - 1)
    if not (exact or reading.patterns) or not repeats.any() or grain[repeats].mean() > fresh:
        return Piece(piece.first, piece.last, State(NEW_EVERY_TIME))
    return piece


def _goes_on(changes: Changes, reading: Reading, picture: int) -> bool:
    """Tell whether a picture shows what the one before does."""
    same = changes.upper_same[picture] and changes.lower_same[picture]
    asked = reading.asked
    near = asked.upper[picture] < -1 and asked.lower[picture] < -1 and not asked.cuts[picture]
    return bool(same or near)


def _stretch(changes: Changes, reading: Reading, piece: Piece, settle: Settle) -> Stretch:
    shape = piece.state.shape
    plain = Stretch(
        first=piece.first,
        last=piece.last,
        kind=Kind.NEW,
        film=0,
        confidence=_confidence(reading, piece),
    )
    if shape is Free.STANDING:
        return replace(plain, kind=Kind.STILL)
    if shape is Free.IRREGULAR:
        return replace(plain, kind=Kind.IRREGULAR, runs=_runs(reading, piece))
    if isinstance(shape, Mixture):
        rule, space = settle(piece, shape)
        mixing = Mixing(
            film_frames=shape.film,
            outputs=shape.outputs,
            start=(shape.phase + piece.first * shape.film) % shape.outputs,
            rule=rule.rule,
            space=space,
        )
        return replace(plain, kind=Kind.MIXED, mixing=mixing)
    if not isinstance(shape, Pattern):
        raise TypeError(shape)
    runs, phase = turned(shape, piece.state.place + shape.step * piece.first)
    if shape.in_fields:
        return replace(plain, kind=Kind.FIELDS, runs=runs, phase=phase, top_first=shape.upper_first)
    kind = Kind.NEW if shape == NEW_EVERY_TIME else Kind.REPEATS
    odd = _odd(changes, reading, piece)
    return replace(plain, kind=kind, runs=runs, phase=phase, odd=odd)


def _runs(reading: Reading, piece: Piece) -> tuple[int, ...]:
    """Return the runs of pictures without a pattern, by the odds of each."""
    within = slice(piece.first, piece.last + 1)
    new = reading.asked.upper[within] + reading.asked.lower[within] > 0
    new[0] = True
    numbers = np.cumsum(new)
    return tuple(sum(1 for _ in run) for _, run in groupby(numbers.tolist()))


def _odd(changes: Changes, reading: Reading, piece: Piece) -> tuple[Odd, ...]:
    """Return the pictures that certainly do otherwise than their pattern.

    They do if they are the same to the bit where they should be new, or differ where repeats of
    the stretch are the same to the bit.
    """
    pictures = np.arange(piece.first, piece.last + 1)
    newness = newness_of(reading.asked, reading.laid, [piece])
    new = newness.upper[pictures]
    same = changes.upper_same[pictures] & changes.lower_same[pictures]
    same[0] = not new[0]
    odd = [Odd(picture=int(one), is_new=False) for one in pictures[new & same]]
    repeats = ~new
    if repeats.any() and same[repeats].mean() > _EXACTLY:
        asked = reading.asked
        sure = (asked.upper[pictures] >= MOST) & (asked.lower[pictures] >= MOST)
        odd += [Odd(picture=int(one), is_new=True) for one in pictures[repeats & ~same & sure]]
    return tuple(sorted(odd, key=lambda one: one.picture))


def _confidence(reading: Reading, piece: Piece) -> float:
    """Return how sure a piece is: by how much it is cheaper than all else, and how often wrong."""
    laid, first, last = reading.laid, piece.first, piece.last
    if piece.length == 1:
        return 0.0
    cost = laid.cost(first, last, piece.state)
    margin = min(laid.cost(first, last, one) for one in laid.rivals(piece.state)) - cost
    wrong = (laid.along(first, last, piece.state) > _WRONG).mean()
    return round(float((1 - wrong) * (1 - exp(-max(0.0, margin) / _MARGIN))), 3)
