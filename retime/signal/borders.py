"""Where exactly one cadence breaks off and another begins.

Two phases of a cadence often agree for a few pictures, before a break or after it, so that it may
lie anywhere among these. An edit changes the picture more than movement does: the break is put
where the change is greatest.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from retime.signal.mixtures import Mixture

if TYPE_CHECKING:
    from collections.abc import Sequence

    from retime.signal.changes import Changes
    from retime.signal.trellis import Laid, Piece

__all__ = ["settled_borders"]

_REACH = 30
_SAME, _SAME_MIXED = 0.5, 4.0  # nats


def settled_borders(changes: Changes, laid: Laid, pieces: Sequence[Piece]) -> list[Piece]:
    """Return pieces whose borders lie at the greatest change that costs no more."""
    told = list(pieces)
    change = changes.upper + changes.lower
    for number in range(1, len(told)):
        before, after = told[number - 1], told[number]
        low = max(before.first + 1, after.first - _REACH)
        high = min(after.last, after.first + _REACH)
        if high <= low:
            continue
        # A border at b: pictures up to b - 1 belong to the one, those from b + 1 on to the other,
        # and b itself is new.
        one = laid.along(low - 1, high - 1, before.state)
        other = laid.along(low, high, after.state)
        places = np.arange(low, high + 1)
        costs = np.concatenate([[0.0], np.cumsum(one)])[: len(places)] + np.concatenate(
            [np.cumsum(other[::-1])[::-1], [0.0]]
        )
        costs = costs + laid.beginning(low, high, after.state)
        # Sums that reach over a border speak against a mixture on either side of it, but none
        # reaches over a cut.
        mixed = isinstance(before.state.shape, Mixture) or isinstance(after.state.shape, Mixture)
        near = costs <= costs.min() + (_SAME_MIXED if mixed else _SAME)
        parted = near & laid.upheavals[places]
        if mixed and parted.any():
            near = parted & (costs <= costs[parted].min() + _SAME)
        border = int(places[near][change[places[near]].argmax()])
        told[number - 1] = before._replace(last=border - 1)
        told[number] = after._replace(first=border)
    return told
