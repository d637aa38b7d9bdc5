"""The search for cadences: first among all that are known, then among those that were found.

Any short stretch of misjudged pictures has a pattern that happens to fit it. So only those patterns
are kept for which some stretch speaks strongly, and everything is read again with these alone.
"""

from __future__ import annotations

from fractions import Fraction
from math import log
from typing import TYPE_CHECKING

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from retime.signal.borders import settled_borders
from retime.signal.expecting import answers_at, ask, lower_new, upper_new
from retime.signal.folding import folded_pattern
from retime.signal.mixing import gained, likely_mixtures
from retime.signal.mixtures import Mixture
from retime.signal.patterns import NEW_EVERY_TIME, Pattern, known_patterns
from retime.signal.trellis import Free, State, Trellis

if TYPE_CHECKING:
    from collections.abc import Sequence

    from retime.signal.changes import Changes, Flags
    from retime.signal.expecting import Asked, Costs
    from retime.signal.trellis import Gained, Laid, Piece

    _Family = Pattern | Free | Fraction

__all__ = ["Newness", "Reading", "newness_of", "search", "supported_pieces"]

_SUPPORT = 14.0
"""Nats by which a stretch has to speak for a pattern, rather than for none."""
_APART, _ELSEWHERE, _RARE = 3.0, 1.0, 0.005
_NO_GRAIN, _FRESH, _GRAINY = 1e-3, -1.15, -1.0  # codes squared, and logarithms of them


class Newness(Struct, frozen=True, eq=False, kw_only=True):
    """Which fields are new by what was read, and of which pictures that is known by a pattern."""

    upper: Flags
    lower: Flags
    known: Flags


class Reading(Struct, frozen=True, eq=False, kw_only=True):
    """A transfer's pieces, and what they were read from."""

    pieces: tuple[Piece, ...]
    asked: Asked
    laid: Laid

    @property
    def patterns(self) -> tuple[Pattern, ...]:
        """The patterns of its pieces, but for that of pictures that all differ."""
        found = (piece.state.shape for piece in self.pieces)
        return tuple(
            dict.fromkeys(
                one for one in found if isinstance(one, Pattern) and one != NEW_EVERY_TIME
            )
        )


def search(changes: Changes, rate: Fraction | None) -> Reading:
    """Return the cadences of a transfer; ``rate`` is what its file says, if it does.

    Film frames that were printed more than once onto the film are not taken for repeats.
    """
    asked = ask(changes)
    known = known_patterns(rate)
    if not _may_be_woven(asked):
        known = tuple(one for one in known if not one.in_fields)
    laid = Trellis(known).laid(asked)
    supported = supported_pieces(laid.pieces(), laid, _SUPPORT)
    mixed = _mixed(changes, asked, [one for one in supported if _is_plain(one, laid)], rate)
    patterns = list(dict.fromkeys(_pattern(piece) for piece in supported))
    reading = _read(changes, asked, patterns, mixed)
    needed = _needed(reading)
    if len(needed) < len({_family(piece.state.shape) for piece in reading.pieces}):
        patterns = [one for one in reading.patterns if one in needed]
        mixed = [one for one in mixed if _family(one.mixture) in needed]
        reading = _read(changes, asked, patterns, mixed)
    own = _of_its_own(reading)
    if own:
        patterns += own
        reading = _read(changes, asked, patterns, mixed)
    on_film = {one.runs for one in reading.patterns if _is_on_film(changes, reading, one)}
    if on_film:
        patterns = [one for one in patterns if one.in_fields or one.runs not in on_film]
        reading = _read(changes, asked, patterns, mixed)
    return reading


def _pattern(piece: Piece) -> Pattern:
    if not isinstance(piece.state.shape, Pattern):
        raise TypeError(piece)
    return piece.state.shape


def _mixed(
    changes: Changes, asked: Asked, supported: Sequence[Piece], rate: Fraction | None
) -> list[Gained]:
    """Return the mixtures that there may be where no pattern is plain already."""
    governed = np.zeros(len(changes), np.bool_)
    for piece in supported:
        governed[piece.first : piece.last + 1] = True
    likely = likely_mixtures(changes, asked.upheavals, rate, governed=governed)
    found = gained(changes, asked.upheavals, likely)
    relief = _relief(changes, asked)
    return [one._replace(gains=one.gains + relief) for one in found]


def _needed(reading: Reading) -> set[_Family]:
    """Return the families of a reading that are needed: no other says nearly as much as they do.

    A pattern in all its phases is a family, and so are mixtures of one ratio. Where little moves,
    others fit short stretches nearly as well as the right one; the longest is kept in any case.
    """
    needs: dict[_Family, float] = {}
    pictures: dict[_Family, int] = {}
    free = {NEW_EVERY_TIME, *Free}
    for piece in reading.pieces:
        family = _family(piece.state.shape)
        others = [one for one in reading.laid.states if _family(one.shape) != family]
        need = min(reading.laid.cost(piece.first, piece.last, one) for one in others)
        need -= reading.laid.cost(piece.first, piece.last, piece.state)
        needs[family] = needs.get(family, 0.0) + need
        pictures[family] = pictures.get(family, 0) + piece.length
    most = max((count for one, count in pictures.items() if one not in free), default=0)
    return {
        one
        for one, need in needs.items()
        if one in free or need > _SUPPORT or pictures[one] == most
    }


def _family(shape: Pattern | Mixture | Free) -> _Family:
    """Return what different phases of one thing have in common: of mixtures, the ratio."""
    return Fraction(shape.film, shape.outputs) if isinstance(shape, Mixture) else shape


def _relief(changes: Changes, asked: Asked) -> Costs:
    """Return what a mixed picture need not pay, that pictures which are all new do.

    Mixed pictures differ by parts of a film frame, more and less by turns: that one seems to be
    repeated costs it no more than a picture that follows no pattern, but if it is the same.
    """
    new = asked.costs[:, list(answers_at(NEW_EVERY_TIME, 0))].sum(axis=1)
    same = changes.upper_same | changes.lower_same
    relief: Costs = np.where(same, 0.0, np.maximum(new - asked.irregular, 0))
    return relief


def _may_be_woven(asked: Asked) -> bool:
    """Tell whether there is any sign of pictures whose fields are of two moments."""
    whole = answers_at(NEW_EVERY_TIME, 0)
    apart = np.abs(asked.upper - asked.lower) > _APART
    elsewhere = asked.costs[:, list(whole[2:])].sum(axis=1) > _ELSEWHERE
    return bool(apart.mean() > _RARE or elsewhere.mean() > _RARE)


def _of_its_own(reading: Reading) -> list[Pattern]:
    """Return patterns that are in no list, out of pieces that follow none that is."""
    found = [
        folded_pattern(reading.asked, piece.first, piece.last)
        for piece in reading.pieces
        if piece.state.shape is Free.IRREGULAR
    ]
    return list(dict.fromkeys(one for one in found if one is not None))


def _read(
    changes: Changes, asked: Asked, patterns: Sequence[Pattern], mixed: Sequence[Gained]
) -> Reading:
    """Read with some patterns alone."""
    # What was found is no longer unlikely; its phases remain.
    found = [replace(one, unlikely=log(one.outputs)) for one in patterns]
    laid = Trellis([NEW_EVERY_TIME, *dict.fromkeys(found)], mixed).laid(asked)
    pieces = settled_borders(changes, laid, laid.pieces())
    return Reading(pieces=tuple(pieces), asked=asked, laid=laid)


def _is_on_film(changes: Changes, reading: Reading, pattern: Pattern) -> bool:
    """Tell whether what repeats by a pattern has grain of its own each time.

    Then what changes least, where nothing moves, changes as much with a repeat as with what is new.
    """
    if pattern.in_fields or pattern == NEW_EVERY_TIME:
        return False
    pieces = [piece for piece in reading.pieces if piece.state.shape == pattern]
    newness = newness_of(reading.asked, reading.laid, pieces)
    usable = newness.known & ~reading.asked.cuts
    usable[[piece.first for piece in pieces]] = False
    repeats, new = usable & ~newness.upper, usable & newness.upper
    if changes.upper_same[repeats].any() or not repeats.any() or not new.any():
        return False
    grain = [np.median(np.log(changes.quiet[kind] + _NO_GRAIN)) for kind in (repeats, new)]
    return bool(grain[0] > grain[1] + _FRESH and grain[0] > _GRAINY)


def supported_pieces(pieces: Sequence[Piece], laid: Laid, enough: float) -> list[Piece]:
    """Return the pieces whose pattern all pieces of it together speak for, by ``enough`` nats."""
    support: dict[Pattern, float] = {}
    patterned = [
        (one, one.state.shape)
        for one in pieces
        if isinstance(one.state.shape, Pattern) and one.state.shape != NEW_EVERY_TIME
    ]
    for piece, pattern in patterned:
        spoken = _spoken_for(piece, laid) - pattern.unlikely
        support[pattern] = support.get(pattern, 0.0) + max(0.0, spoken)
    return [piece for piece, pattern in patterned if support[pattern] > enough]


def _is_plain(piece: Piece, laid: Laid) -> bool:
    """Tell whether a piece's pattern says more for itself than there is against it.

    Mixed pictures, which change more and less by turns, half fit many a pattern.
    """
    return _spoken_for(piece, laid) > laid.cost(piece.first, piece.last, piece.state)


def _spoken_for(piece: Piece, laid: Laid) -> float:
    """Return by how much a piece's pattern is cheaper than none."""
    others = (State(NEW_EVERY_TIME), State(Free.IRREGULAR), State(Free.STANDING))
    cheapest = min(laid.cost(piece.first, piece.last, other) for other in others)
    return cheapest - laid.cost(piece.first, piece.last, piece.state)


def newness_of(asked: Asked, laid: Laid, pieces: Sequence[Piece]) -> Newness:
    """Return which fields are new by patterns, and by their odds where no pattern governs."""
    upper, lower = asked.upper > 0, asked.lower > 0
    known = np.zeros(len(upper), np.bool_)
    for piece in pieces:
        if isinstance(piece.state.shape, Mixture | Free):
            continue
        within = slice(piece.first, piece.last + 1)
        ways = laid.ways(piece.first, piece.last, piece.state)
        upper[within] = np.array([upper_new(answers) for answers in laid.answers])[ways]
        lower[within] = np.array([lower_new(answers) for answers in laid.answers])[ways]
        upper[piece.first] = lower[piece.first] = True
        known[within] = True
    return Newness(upper=upper, lower=lower, known=known)
