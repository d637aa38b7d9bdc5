"""How what was seen runs along what was planned: where something is missing, or too much.

A shift is by how many pulses what is seen runs ahead of the plan. Among the shifts given, the path
of least cost is found (Viterbi 1967): a pulse costs 0 where a shift fits as well as any and up to 1
where it does not, a change of shift costs 3. So a single wrong picture changes no shift, and one
that is missing does once three pulses after it tell.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from numpy.typing import NDArray

__all__ = ["CHANGE", "Change", "changes", "path"]

CHANGE = 3.0
"""What a change of shift costs, in pulses that do not fit."""


class Change(NamedTuple):
    """From pulse ``at`` on, the shift is ``after`` instead of ``before``."""

    at: int
    before: int
    after: int


def path(costs: Iterable[NDArray[np.float32]], shifts: Sequence[int]) -> NDArray[np.int16]:
    """Return the shift of every pulse; ``costs`` has one row a pulse, one cost a shift.

    The film begins with shift 0 unless another costs less by more than a change. Memory is two
    bytes a pulse and shift.
    """
    total = np.array([0.0 if shift == 0 else CHANGE for shift in shifts])
    came: list[NDArray[np.int16]] = []
    stay = np.arange(len(shifts), dtype=np.int16)
    for row in costs:
        cheapest = int(total.argmin())
        moved = total[cheapest] + CHANGE < total
        came.append(np.where(moved, np.int16(cheapest), stay))
        total = np.where(moved, total[cheapest] + CHANGE, total) + row
    here = int(total.argmin())
    found = np.empty(len(came), np.int16)
    for pulse in range(len(came) - 1, -1, -1):
        found[pulse] = shifts[here]
        here = int(came[pulse][here])
    return found


def changes(found: NDArray[np.int16]) -> list[Change]:
    """Return where a path changes its shift, beginning with shift 0."""
    before = np.concatenate(([0], found[:-1]))
    return [
        Change(int(at), int(before[at]), int(found[at])) for at in np.flatnonzero(before != found)
    ]
