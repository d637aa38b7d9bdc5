"""A part of a picture, made small by the means of what each of its samples covers."""

from __future__ import annotations

from math import ceil, floor
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from retime.pace.box import Area

    Picture = NDArray[np.float32]

__all__ = ["reduced"]


def reduced(
    plane: NDArray[np.unsignedinteger | np.float32], area: Area, shape: tuple[int, int]
) -> Picture:
    """Return an area of a plane in ``shape`` (rows, columns); it may begin between two samples.

    Where the area stands out of the plane, the plane's edge goes on.
    """
    rows, columns = shape
    first = min(max(floor(area.left), 0), plane.shape[1] - 1)
    last = min(max(ceil(area.left + area.width), first + 1), plane.shape[1])
    # No products of matrices: on a busy machine their threads wait for one another.
    lines = _means(plane[:, first:last], area.top + area.height * np.arange(rows + 1) / rows)
    small = _means(lines.T, area.left - first + area.width * np.arange(columns + 1) / columns)
    return small.T.astype(np.float32)


def _means(lines: NDArray[np.number], edges: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return the means of lines between edges, the lines being a sample wide each."""
    within = np.clip(np.floor(edges), 0, len(lines) - 1).astype(np.intp)
    places, which = np.unique(within, return_inverse=True)
    sums = np.add.reduceat(lines[: places[-1] + 1], places, axis=0, dtype=np.float64)
    before = np.concatenate([np.zeros_like(sums[:1]), np.cumsum(sums[:-1], axis=0)])
    # What lies before each edge: whole lines, and a part of the one that it cuts.
    whole = before[which] + (edges - within)[:, None] * lines[within]
    means: NDArray[np.float64] = np.diff(whole, axis=0) / np.diff(edges)[:, None]
    return means
