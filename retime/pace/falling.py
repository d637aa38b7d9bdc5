"""The edges of what falls in a box, frame by frame."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from retime.pace.views import beyond_noise

if TYPE_CHECKING:
    from retime.pace.pictures import Pictures
    from retime.signal.series import Series

__all__ = ["TALL", "edges_of"]

TALL = (192, 64)
"""The most rows and columns of the small picture of a fall."""

_LEAST = 0.1  # of the row in which most changes in any frame: what changes less is dirt
_EDGE = 0.15  # of the row in which most changes: where less does, nothing is


def edges_of(pictures: Pictures) -> tuple[Series, Series]:
    """Return how low and how high that reaches what has changed since the frame before, in rows.

    The rows count downwards from the top of the box; they are NaN where nothing has changed.
    """
    frames = pictures.frames
    changed = beyond_noise(np.diff(frames, axis=0, prepend=frames[:1]), frames)
    lower, upper = np.full(len(frames), np.nan), np.full(len(frames), np.nan)
    every = changed.sum(axis=2, dtype=np.float64)
    least = _LEAST * float(every.max())
    for number, rows in enumerate(every):
        most = float(rows.max())
        if most <= least:
            continue
        above = np.flatnonzero(rows > _EDGE * most)
        upper[number], lower[number] = float(above[0]), float(above[-1] + 1)
    return lower, upper
