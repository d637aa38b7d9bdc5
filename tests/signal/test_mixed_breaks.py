"""Where a mixture goes over to another phase: evidence and cuts are put in by hand."""

from __future__ import annotations

import numpy as np

from retime.signal.borders import settled_borders
from retime.signal.changes import FURTHEST, Changes
from retime.signal.expecting import ANSWERS, Asked
from retime.signal.mixtures import Mixture, Rule
from retime.signal.patterns import NEW_EVERY_TIME
from retime.signal.trellis import Gained, Laid, Piece, State, Trellis

COUNT, BREAK, LATER = 80, 40, 46
ONE, OTHER = (Mixture(film=11, outputs=12, phase=phase, rule=Rule.BETWEEN) for phase in (0, 1))


def laid(better: float, upheavals: tuple[int, ...]) -> Laid:
    """Return one phase up to a picture, and then another that is better by so much a picture."""
    early = np.arange(COUNT) < BREAK
    gains = [np.where(kind, 0.5, 0.5 - better) for kind in (early, ~early)]
    none, flags = np.zeros(COUNT), np.zeros(COUNT, np.bool_)
    flags[[0, *upheavals]] = True
    asked = Asked(
        costs=np.zeros((COUNT, ANSWERS)),
        upper=none,
        lower=none,
        irregular=none + 1,
        standing=none + 4,
        cuts=np.zeros(COUNT, np.bool_),
        upheavals=flags,
    )
    found = [Gained(one, row) for one, row in zip((ONE, OTHER), gains, strict=True)]
    return Trellis([NEW_EVERY_TIME], found).laid(asked)


def test_a_phase_breaks_off_at_an_upheaval_for_less_than_elsewhere() -> None:
    """Eight nats in forty pictures, of which one of twelve phases takes two and a half."""
    better = 8 / (COUNT - BREAK)

    assert [(0, BREAK - 1), (BREAK, COUNT - 1)] == [
        (one.first, one.last) for one in laid(better, (BREAK,)).pieces()
    ]
    assert 1 == len(laid(better, ()).pieces())


def test_a_break_lies_at_the_likeliest_of_several_cuts_not_at_the_greatest() -> None:
    change = np.ones(COUNT, np.float32)
    change[BREAK], change[LATER] = 500, 900
    flags = np.zeros(COUNT, np.bool_)
    none = np.zeros((COUNT, FURTHEST + 1), np.float32)
    changes = Changes(
        upper=change,
        lower=change,
        upper_same=flags,
        lower_same=flags,
        places=np.zeros((COUNT, 4), np.float32),
        detail=change,
        apart=none,
        apart_in_light=none,
        details_apart=none,
        steadied=change,
        quiet=change,
    )
    states = laid(0.4, (BREAK, LATER))
    told = [Piece(0, LATER - 1, State(ONE)), Piece(LATER, COUNT - 1, State(OTHER))]

    assert [0, BREAK] == [one.first for one in settled_borders(changes, states, told)]
