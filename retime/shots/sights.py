"""A film as it was seen, and everything that is reckoned of single pictures once."""

from __future__ import annotations

from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np

from retime.shots.blanks import black_in, white_in
from retime.shots.lettering import lettering_of
from retime.shots.likeness import unlike, unlike_far

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from retime.shots.measures import Measures

    Series = NDArray[np.float32]
    Flags = NDArray[np.bool_]

__all__ = ["ALIKE", "FAR_ALIKE", "MARKED", "Sights"]

ALIKE = 0.15
"""Below this two pictures are taken to show the same scene, moved a little."""

FAR_ALIKE = 0.07
"""The same where the one may lie far from the other, which makes any two pictures more alike."""

MARKED = 0.12
"""A change from one picture to the next that may be a cut."""

_JUMPED = 0.33  # of unlikeness where they lie: more, and laying them elsewhere proves nothing


class Sights:
    """The pictures of a scan, numbered from 0."""

    def __init__(self, measures: Measures) -> None:
        """Take what was measured."""
        self.measures = measures
        self.count = len(measures)
        self.views = measures.views
        self.change = measures.change

    @cached_property
    def lettering(self) -> Series:
        """How far each picture looks like lettering, 0 to 1."""
        return lettering_of(self.measures)

    @cached_property
    def black(self) -> Flags:
        """Which pictures are black."""
        return black_in(self.measures)

    @cached_property
    def white(self) -> Flags:
        """Which pictures are white."""
        return white_in(self.measures)

    @cached_property
    def blank(self) -> Flags:
        """Which pictures have nothing in them."""
        return np.asarray(self.black | self.white)

    def parts(self, frame: int) -> bool:
        """Tell whether there is another scene from a frame on than before it, none being black."""
        if self.change[frame] < MARKED or self.black[max(frame - 2, 0) : frame + 2].any():
            return False
        before = [one for one in (frame - 1, frame - 2, frame - 4) if one >= 0]
        after = [one for one in (frame, frame + 1, frame + 3) if one < self.count]
        return not self.alike(before, after)

    def alike(self, some: Sequence[int], others: Sequence[int]) -> bool:
        """Tell whether any of some pictures shows the scene that any of the others does."""
        pairs = np.array([(one, other) for one in some for other in others])
        if not len(pairs):
            return False
        one, other = self.views[pairs[:, 0]], self.views[pairs[:, 1]]
        near = unlike(one, other)
        # What has nothing in it is like nothing else, wherever it is laid.
        for flags in (self.black, self.white):
            near[flags[pairs[:, 0]] != flags[pairs[:, 1]]] = 1
        if near.min() < ALIKE:
            return True
        nearest = [one for one in np.argsort(near)[:3] if near[one] < _JUMPED]
        if not nearest:
            return False
        return bool(unlike_far(one[nearest], other[nearest]).min() < FAR_ALIKE)
