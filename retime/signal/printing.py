"""Film frames that were printed more than once onto the film: stretch printing.

Such a frame comes back with other grain, other dirt, a little shifted and a little lighter or
darker, so that no two pictures are ever the same. What tells it is the change that is left once
shift and brightness are taken out: it falls to the level of grain, again and again, in a cadence.
"""

from __future__ import annotations

from math import exp
from typing import TYPE_CHECKING

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from retime.signal.expecting import ask
from retime.signal.patterns import NEW_EVERY_TIME, Pattern, known_patterns, turned
from retime.signal.searching import supported_pieces
from retime.signal.trellis import State, Trellis

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from retime.signal.changes import Changes

__all__ = ["Printed", "printed_in"]

_SHORTEST = 24
_SUPPORT = 20.0


class Printed(Struct, frozen=True, kw_only=True):
    """Film frames ``first`` to ``last`` of those looked at, and how each was printed in turn.

    ``runs`` begin with the run that the first stands in, ``phase`` of which have gone by.
    """

    first: int
    last: int
    runs: tuple[int, ...]
    phase: int
    confidence: float


def printed_in(changes: Changes, shown: NDArray[np.intp]) -> tuple[Printed, ...]:
    """Return where film frames were printed more than once; ``shown`` are pictures that show each.

    These are the numbers of the pictures in which film frames are seen first, rising.
    """
    if len(shown) < _SHORTEST:
        return ()
    steadied = changes.steadied[shown]
    none = np.zeros(len(shown), np.bool_)
    places = np.tile(np.array([1, 0, 0, 1], np.float32), (len(shown), 1))
    alike = replace(
        changes,
        upper=steadied,
        lower=steadied,
        upper_same=none,
        lower_same=none,
        places=places,
        detail=np.zeros(len(shown), np.float32),
    )
    asked = ask(alike)
    whole = [one for one in known_patterns(None) if not one.in_fields]
    laid = Trellis(whole).laid(asked)
    pieces = supported_pieces(laid.pieces(), laid, _SUPPORT)
    shapes = {one.state.shape for one in pieces if isinstance(one.state.shape, Pattern)}
    if not shapes:
        return ()
    laid = Trellis([NEW_EVERY_TIME, *shapes]).laid(asked)
    found = []
    for piece in supported_pieces(laid.pieces(), laid, _SUPPORT):
        shape = piece.state.shape
        if isinstance(shape, Pattern) and piece.length >= _SHORTEST:
            runs, phase = turned(shape, piece.state.place + piece.first)
            plain = State(NEW_EVERY_TIME)
            support = laid.cost(piece.first, piece.last, plain)
            support -= laid.cost(piece.first, piece.last, piece.state)
            found.append(
                Printed(
                    first=piece.first,
                    last=piece.last,
                    runs=runs,
                    phase=phase,
                    confidence=round(max(0.0, 1 - exp(-support / _SUPPORT)), 3),
                )
            )
    return tuple(found)
