"""A body let go: from the rows of its edges, how many frames it took to the ground.

Distances from rest grow with the squares of the times (Galileo's rule). Two edges are told, frame
by frame: how low that reaches what has changed since the frame before, which is the body's lower
edge now, and how high, which is its upper edge in the frame before. Both go by one parabola, of
which the vertex is the moment of letting go; the body is on the ground where they leave it. Edges
can be wrong, for dirt or for something else that moves: parabolas are drawn through three of them
at random, and the one with which most agree is fitted to those that do.
"""

from __future__ import annotations

from math import sqrt
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
from msgspec import Struct

from retime.signal.period import Unclear

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from retime.signal.series import Series

__all__ = ["Fallen", "fallen"]

_TRIES = 4_000
_SEED = 20
_ROUNDS = 3
_OFF = 1.0  # rows by which an edge may be off
_OFF_PART = 0.015  # or this part of the way seen, if that is more
_AGREED = 0.65  # of the edges while it falls
_FEWEST = 5  # frames of falling
_LEAST = 3  # of either edge
_LEAST_WAY = 6.0  # rows
_SLOW = 3.0  # frames after letting go in which no edge need be seen yet
_READ = 0.3  # rows to which an edge is read at best
_HALF_FRAME = 0.5 / sqrt(3)  # the standard uncertainty of what lies somewhere within one frame
_LANDING = 0.75 / sqrt(3)  # where the last frame of falling may be misread too
_MOST_UNCERTAIN = 0.08  # of the frames


class Fallen(Struct, frozen=True, kw_only=True):
    """A fall in frames, the first frame being 0: when it was ``let_go``, and when it ``landed``.

    ``uncertainty`` is the standard uncertainty of the ``frames`` between. ``agreed`` is the share
    of the edges seen meanwhile that lie on the parabola.
    """

    frames: float
    uncertainty: float
    let_go: float
    landed: float
    agreed: float


class _Paths(NamedTuple):
    """Parabolas: the lower edge at ``lower`` + ``bend`` (t - ``start``)^2, shape (paths, 1) each.

    The upper edge is told by where the body was a frame before.
    """

    bend: Series
    start: Series
    lower: Series
    upper: Series

    def agreeing(self, edges: _Edges) -> NDArray[np.bool_]:
        """Return which edges lie on each path after its start, shape (2, paths, frames)."""
        frames = np.arange(len(edges.lower), dtype=np.float64)
        lower = self.lower + self.bend * (frames - self.start) ** 2
        upper = self.upper + self.bend * (frames - 1 - self.start) ** 2
        off = max(_OFF, _OFF_PART * float(np.nanmax(edges.lower) - np.nanmin(edges.upper)))
        with np.errstate(invalid="ignore"):  # no edge is on no path
            near = np.abs(np.stack([edges.lower - lower, edges.upper - upper])) <= off
        on: NDArray[np.bool_] = near & (frames > self.start)
        either: NDArray[np.bool_] = on[0] | on[1]
        return on & ~self._left(either, frames)

    def _left(self, on: NDArray[np.bool_], frames: Series) -> NDArray[np.bool_]:
        """Return when a path has been left for good, shape (paths, frames)."""
        missed = ~on & (frames > self.start + _SLOW)
        twice = missed.copy()
        twice[:, :-1] &= missed[:, 1:]
        left: NDArray[np.bool_] = np.logical_or.accumulate(twice, axis=1)
        return left


class _Edges(NamedTuple):
    """The rows of both edges, frame by frame, NaN where there is none."""

    lower: Series
    upper: Series


class _Fit(NamedTuple):
    """The path that fits its edges best, the standard uncertainty of its start, and the edges."""

    bend: float
    start: float
    lower: float
    upper: float
    unsure: float
    on: NDArray[np.bool_]

    def when(self, row: float, base: float) -> float:
        """Return when an edge that starts at ``base`` comes down to a row."""
        return self.start + sqrt(max(row - base, 0.0) / self.bend)


def fallen(lower: Series, upper: Series, rows: float) -> Fallen | Unclear:
    """Return how long a body fell, by its edges' rows, counted downwards, NaN where there is none.

    Both are of shape (frames,): of what differs between a frame and the one before, where the
    lowest row ends and where the highest begins. ``rows`` is where the picture ends.
    """
    edges = _Edges(lower, upper)
    fit = _fit(edges)
    if fit is None:
        return Unclear(reason="nothing is seen to fall freely")
    # An upper edge is told by the frame after.
    last_lower, last_upper = (int(np.flatnonzero(one)[-1]) for one in fit.on)
    last = max(last_lower, last_upper - 1)
    agreed = float(fit.on[:, int(np.argmax(fit.on.any(axis=0))) : last + 1].mean())
    lowest = lower[last_lower + 1] if last > last_lower else lower[last_lower]
    if agreed < _AGREED:
        reason = "nothing is seen to fall freely"
    elif lowest > rows - 1:
        reason = "what falls leaves the box before it comes to rest"
    elif last + 1 >= len(lower):
        reason = "what falls is still falling in the last frame"
    elif fit.start < -_HALF_FRAME:
        reason = "what falls is falling already in the first frame"
    else:
        return _told(fit, edges, last, agreed)
    return Unclear(reason=reason)


def _told(fit: _Fit, edges: _Edges, last: int, agreed: float) -> Fallen | Unclear:
    """Return the fall of a fit whose last frame on the path is known."""
    landed = _landed(fit, edges, last)
    frames, uncertainty = landed - fit.start, sqrt(fit.unsure**2 + _LANDING**2)
    if uncertainty > _MOST_UNCERTAIN * frames:
        return Unclear(reason="the fall is seen too roughly for its length to be told")
    return Fallen(
        frames=frames,
        uncertainty=uncertainty,
        let_go=fit.start,
        landed=landed,
        agreed=agreed,
    )


def _fit(edges: _Edges) -> _Fit | None:
    """Return the path on which most edges lie, fitted to them; None where there is no fall."""
    paths = _drawn(edges)
    if paths is None:
        return None
    on = paths.agreeing(edges)
    best = int(np.argmax(on.sum(axis=(0, 2))))
    chosen, fit = on[:, best], None
    for _ in range(_ROUNDS):
        fit = _least_squares(edges, chosen)
        if fit is None:
            return None
        one = _Paths(*(np.array([[value]]) for value in fit[:4]))
        chosen = one.agreeing(edges)[:, 0]
    return fit


def _drawn(edges: _Edges) -> _Paths | None:
    """Return paths through three lower edges each, taken at random; None where none bends down."""
    seen = np.flatnonzero(~np.isnan(edges.lower) & ~np.isnan(edges.upper))
    if len(seen) < _FEWEST:
        return None
    chance = np.random.default_rng(_SEED)
    places = np.sort(chance.integers(0, len(seen), (_TRIES, 3)), axis=1)
    at = seen[places[(np.diff(places, axis=1) > 0).all(axis=1)]]
    first, middle, last = at.T.astype(np.float64)
    row = edges.lower[at].T
    one, other = (row[1] - row[0]) / (middle - first), (row[2] - row[1]) / (last - middle)
    bend = (other - one) / (last - first)
    start = (first + middle - one / np.where(bend > 0, bend, np.nan)) / 2
    with np.errstate(invalid="ignore"):
        falling = (bend > 0) & (start >= -1) & (start <= middle)
    if not falling.any():
        return None
    bend, start, at = bend[falling, None], start[falling, None], at[falling]
    return _Paths(
        bend=bend,
        start=start,
        lower=np.median(edges.lower[at] - bend * (at - start) ** 2, axis=1, keepdims=True),
        upper=np.median(edges.upper[at] - bend * (at - 1 - start) ** 2, axis=1, keepdims=True),
    )


def _least_squares(edges: _Edges, on: NDArray[np.bool_]) -> _Fit | None:
    """Return the path that fits the edges on it best, None where they are no fall."""
    lower, upper = (np.flatnonzero(one) for one in on)
    if len(np.flatnonzero(on.any(axis=0))) < _FEWEST or len(lower) < _LEAST or len(upper) < _LEAST:
        return None
    at = np.concatenate([lower, upper - 1]).astype(np.float64)
    is_lower = np.arange(len(at)) < len(lower)
    parts = np.stack([at**2, at, is_lower, ~is_lower], axis=1)
    rows = np.concatenate([edges.lower[lower], edges.upper[upper]])
    (bend, slope, *bases), *_ = np.linalg.lstsq(parts, rows)
    if bend <= 0 or float(np.ptp(edges.lower[lower])) < _LEAST_WAY:
        return None
    start = float(-slope / (2 * bend))
    rest = rows - parts @ np.array([bend, slope, *bases])
    variance = max(float(rest @ rest) / (len(rows) - 4), _READ**2)
    shared = np.linalg.inv(parts.T @ parts) * variance
    toward = np.array([-start / bend, -1 / (2 * bend)])
    unsure = sqrt(float(toward @ shared[:2, :2] @ toward))
    lower_base, upper_base = (float(base - bend * start**2) for base in bases)
    return _Fit(float(bend), start, lower_base, upper_base, unsure, on)


def _landed(fit: _Fit, edges: _Edges, last: int) -> float:
    """Return when the body was on the ground: about the last frame on the path, or soon after.

    Its edges tell how low it came, and so when. Dust and pieces hide that by reaching lower, so
    that the higher edge is believed; where nothing changes any more, it lies already.
    """
    told = [fit.when(float(edges.lower[last + 1]), fit.lower)]
    if last + 2 < len(edges.upper):
        told.append(fit.when(float(edges.upper[last + 2]), fit.upper))
    lowest = min((one for one in told if not np.isnan(one)), default=float(last))
    return min(max(lowest, last), last + 1.0)
