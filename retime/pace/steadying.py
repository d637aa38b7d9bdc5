"""Weave and flicker, found in what does not move: how each frame lies and how bright it is.

A small picture of the whole frame is taken to be the first frame's, moved a little, brighter or
darker, and veiled: to the first order a sum of that picture, its slopes across and down, and a
constant, which is fitted by least squares. What moves, dirt, and the surroundings of the aperture
do not fit; they count the less, the less they fit (weights by Cauchy's distribution, textbook).
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from retime.pace.box import Area
from retime.pace.reducing import reduced

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from retime.pace.reducing import Picture

__all__ = ["STILL", "WHITE", "Steadier", "Steadiness"]

WHITE = 65_535
"""The code of white in the planes that are held."""

_WIDTH = 96  # samples of the small picture
_EDGE = 12  # a twelfth of the picture at each side may show the aperture
_FEWEST = 0.2  # of all samples, to be seen beside the box
_ROUNDS = 4
_CAUCHY = 2.4  # standard deviations (textbook: 95 % efficient for normal errors)
_ASIDE = 0.1  # of a sample of the small picture: as far as it is moved to find its slopes
_SLOPE = 0.15  # samples by which an edge may be off before it counts as something else
_NORMAL = 1.4826
_LEAST = 1e-6  # of white
_FARTHEST = 1.5  # samples of the small picture: further than film weaves, and than slopes hold
_LOOKS = 3  # slopes hold for small shifts: a frame that lies far off is looked at again there
_NEAR = 0.1  # samples of the small picture
_GAINS = (0.5, 2.0)
_PRIOR = np.array([0.3, 0.1, 1.0, 1.0])  # how far gain, veil and shifts are likely to go


class Steadiness(NamedTuple):
    """How a frame lies, in samples of the scan, and how bright it is, against the first."""

    right: float
    down: float
    gain: float
    veil: float

    def moved(self, area: Area) -> Area:
        """Return where an area of the first frame lies in this one."""
        return area._replace(left=area.left + self.right, top=area.top + self.down)

    def levelled(self, picture: Picture) -> Picture:
        """Return a picture of this frame as bright as it would be in the first."""
        level: Picture = (picture - np.float32(self.veil)) / np.float32(self.gain)
        return level


STILL = Steadiness(0.0, 0.0, 1.0, 0.0)


class Steadier:
    """Holds frames against the first that it is given."""

    def __init__(self, first: NDArray[np.unsignedinteger], box: Area) -> None:
        """Take the first frame's plane, and the box in which there is movement."""
        height, width = first.shape
        self._scale = max(1.0, width / _WIDTH)
        self._shape = max(2, round(height / self._scale)), max(2, round(width / self._scale))
        self._whole = Area(0, 0, width, height)
        picture = self._small(first)
        right, down = (
            self._small(first, *(-_ASIDE * one for one in step))
            - self._small(first, *(_ASIDE * one for one in step))
            for step in ((self._scale, 0), (0, self._scale))
        )
        self._parts = np.stack(
            [picture, np.ones_like(picture), right / (2 * _ASIDE), down / (2 * _ASIDE)], axis=-1
        )
        self._beside = self._outside(box) & self._within()

    def steadiness(self, plane: NDArray[np.unsignedinteger], box: Area) -> Steadiness | None:
        """Return how a frame lies against the first, None where it is no such picture any more."""
        seen = self._beside & self._outside(box)
        if seen.mean() < _FEWEST:
            seen = self._within()
        right = down = 0.0
        for _ in range(_LOOKS):
            picture = self._small(plane, right, down)
            gain, veil, further_right, further_down = _fitted(self._parts[seen], picture[seen])
            if not _GAINS[0] < gain < _GAINS[1]:
                return None
            right += further_right / gain * self._scale
            down += further_down / gain * self._scale
            if max(abs(right), abs(down)) > _FARTHEST * self._scale:
                return None
            if max(abs(further_right), abs(further_down)) < _NEAR:
                break
        return Steadiness(right, down, gain, veil)

    def _small(
        self, plane: NDArray[np.unsignedinteger], right: float = 0.0, down: float = 0.0
    ) -> NDArray[np.float64]:
        """Return the whole of a plane small, taken so many samples further right and down."""
        area = self._whole._replace(left=right, top=down)
        return reduced(plane, area, self._shape) / np.float64(WHITE)

    def _outside(self, box: Area) -> NDArray[np.bool_]:
        """Return which samples of the small picture lie outside a box."""
        rows, columns = ((np.arange(count) + 0.5) * self._scale for count in self._shape)
        inside_rows = (rows >= box.top) & (rows < box.top + box.height)
        inside_columns = (columns >= box.left) & (columns < box.left + box.width)
        outside: NDArray[np.bool_] = ~(inside_rows[:, None] & inside_columns)
        return outside

    def _within(self) -> NDArray[np.bool_]:
        """Return which samples of the small picture are not at its edge."""
        rows, columns = self._shape
        within = np.zeros(self._shape, np.bool_)
        within[
            rows // _EDGE : rows - rows // _EDGE, columns // _EDGE : columns - columns // _EDGE
        ] = True
        return within


def _fitted(parts: NDArray[np.float64], picture: NDArray[np.float64]) -> list[float]:
    """Return gain, veil and shifts by which a picture is made of parts, shape (samples, 4)."""
    likely = np.array([1.0, 0.0, 0.0, 0.0])
    found, allowed = likely, _SLOPE * np.abs(parts[:, 2:]).sum(axis=1)
    for _ in range(_ROUNDS):
        rest = picture - parts @ found
        spread = _NORMAL * float(np.median(np.abs(rest))) + _LEAST
        weights = 1 / (1 + (rest / (_CAUCHY * spread + allowed)) ** 2)
        weighted = parts * weights[:, None]
        held = np.diag((spread / _PRIOR) ** 2)
        found = likely + np.linalg.solve(
            parts.T @ weighted + held, weighted.T @ (picture - parts @ likely)
        )
    return [float(one) for one in found]
