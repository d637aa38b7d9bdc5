"""What a pattern expects of a picture's measures, and what it costs where they are otherwise.

Six questions are asked of each picture: is its upper field new, is its lower field, and where does
each of four fields lie between two of the other kind. A pattern has an answer to each, and there
are few different sets of answers. The cost of an answer is in nats, 0 for what fits best.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from msgspec import Struct

from retime.signal.leaning import MOST, cuts_in, leaning, upheavals_in

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from retime.signal.changes import Changes, Flags, Measures
    from retime.signal.patterns import Pattern

    Costs = NDArray[np.float64]

__all__ = ["ANSWERS", "Asked", "Costs", "answers_at", "ask", "lower_new", "upper_new"]

ANSWERS = 28
"""Answers to all questions: new or not for each field, and six for each of four places."""

_NEW, _REPEATED = 0, 1
_PLACES = 4
_FIRST, _MIDDLE, _SECOND, _BEFORE, _AFTER, _ANYWHERE = range(6)
_KINDS = 6
# Measured on grained transfers of known cadence: the spread of a place about where it should be is
# 0.05 where nothing but movement differs, and its square grows with the detail over the movement.
_SPREAD, _BY_DETAIL, _MOST_OFF = 0.12, 0.18, 0.8
_IRREGULAR = 0.5
_NO_MOVEMENT = 0.1


class Asked(Struct, frozen=True, eq=False, kw_only=True):
    """What was measured, as costs: ``costs`` has the shape (n, ANSWERS).

    ``upper`` and ``lower`` are odds that a field is new. ``irregular`` is what it costs a picture
    to follow no pattern, ``standing`` to show what the one before did. ``cuts`` are pictures before
    which everything changes, ``upheavals`` are those too at which others change beside them.
    """

    costs: Costs
    upper: Costs
    lower: Costs
    irregular: Costs
    standing: Costs
    cuts: Flags
    upheavals: Flags


def ask(changes: Changes) -> Asked:
    """Return what was measured as costs."""
    cuts = cuts_in(changes.upper) & cuts_in(changes.lower)
    upper = leaning(changes.upper, changes.upper_same, cuts)
    lower = leaning(changes.lower, changes.lower_same, cuts)
    costs = np.zeros((len(changes), ANSWERS))
    costs[:, 0], costs[:, 1] = np.maximum(-upper, 0), np.maximum(upper, 0)
    costs[:, 2], costs[:, 3] = np.maximum(-lower, 0), np.maximum(lower, 0)
    odd = np.minimum(np.abs(upper), _IRREGULAR) + np.minimum(np.abs(lower), _IRREGULAR)
    for place, moved, odds in (
        (0, changes.lower, lower),
        (1, changes.upper, upper),
        (2, changes.lower, lower),
        (3, changes.upper, upper),
    ):
        off, doubt = _place_costs(changes, place, moved, odds, cuts)
        begin = 4 + place * _KINDS
        costs[:, begin : begin + _ANYWHERE] = off
        odd += doubt
    standing = np.maximum(upper, 0) + np.maximum(lower, 0)
    return Asked(
        costs=costs,
        upper=upper,
        lower=lower,
        irregular=odd,
        standing=standing,
        cuts=cuts,
        upheavals=cuts | (upheavals_in(changes.upper) & upheavals_in(changes.lower)),
    )


def _place_costs(
    changes: Changes, place: int, moved: Measures, odds: Costs, cuts: Flags
) -> tuple[Costs, Costs]:
    """Return the costs of five answers about a place, and that of having none.

    Only where there is a way from one field to the next can anything lie on it.
    """
    at = changes.places[:, place].astype(np.float64)
    square = _SPREAD**2 + _BY_DETAIL * changes.detail / np.maximum(moved, _NO_MOVEMENT)
    weight = np.clip(odds / MOST, 0, 1)
    weight[cuts] = 0
    off = np.stack(
        [at, at - 0.5, at - 1, np.maximum(at, 0), np.maximum(1 - at, 0)],
        axis=1,
    )
    costs = np.minimum(off**2 / (2 * square[:, None]), _MOST_OFF) * weight[:, None]
    doubt = np.minimum(1 / (8 * square), _MOST_OFF) / 4 * weight
    return costs, doubt


def answers_at(pattern: Pattern, place: int) -> tuple[int, ...]:
    """Return a pattern's answers for a picture that begins at a place of its cycle, 0 or later.

    Answers are columns of ``Asked.costs``.
    """
    place += 2 * pattern.outputs
    if not pattern.in_fields:
        before, now = pattern.film_at(place - 1), pattern.film_at(place)
        upper_before = lower_before = before
        upper = lower = now
    else:
        films = [pattern.film_at(place + off) for off in (-2, -1, 0, 1)]
        if not pattern.upper_first:
            films = [films[1], films[0], films[3], films[2]]
        upper_before, lower_before, upper, lower = films
    places = (
        _lies(upper, lower_before, lower),
        _lies(lower_before, upper_before, upper),
        _lies(upper_before, lower_before, lower),
        _lies(lower, upper_before, upper),
    )
    fields = (_kept(upper_before, upper), 2 + _kept(lower_before, lower))
    return (*fields, *(4 + _KINDS * number + lies for number, lies in enumerate(places)))


def _kept(before: int, now: int) -> int:
    return _REPEATED if before == now else _NEW


def _lies(film: int, before: int, after: int) -> int:
    """Return where a film frame lies on the way from one to another, counted in film frames."""
    if before == after:
        return _ANYWHERE
    if film == before:
        return _FIRST
    if film == after:
        return _SECOND
    if film < before:
        return _BEFORE
    return _AFTER if film > after else _MIDDLE


def upper_new(answers: tuple[int, ...]) -> bool:
    """Tell whether answers say that the upper field is new."""
    return answers[0] == _NEW


def lower_new(answers: tuple[int, ...]) -> bool:
    """Tell whether answers say that the lower field is new."""
    return answers[1] == 2 + _NEW
