"""What is kept of every picture: a tiny picture, and a few numbers of the small one.

All that needs no more than a picture and the one before it is reckoned while pictures come by, so
that it is done beside their decoding.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from msgspec import Struct

from retime.shots.likeness import unlike
from retime.shots.views import tiny_of, views_of

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Series = NDArray[np.float32]
    Stack = NDArray[np.float32]

__all__ = ["Eye", "Measures"]

_BATCH = 128  # pictures: fewer cost more each
_EDGE = 12  # a twelfth at every side is not looked at: frame lines and rounded corners
_NEAR = 0.2  # of the contrast: tones that are the ground's own
_LEAST_NEAR = 10  # codes
_ROW_CHANGES = 5  # as many as a short word has
_MOST_INK = 0.45
_STEEP = 0.2  # of the contrast, from one sample to the next: the edge of a stroke
_FIGURES = ("low", "middle", "high", "ground", "contrast", "flat", "ink", "strokes", "lines")


class Measures(Struct, frozen=True, kw_only=True):
    """Series of numbers, one a picture, and ``tiny`` pictures (frames, rows, columns).

    ``views`` are what tiny pictures show, without brightness and contrast, and ``change`` is how
    unlike each is to the one before; 0 for the first.

    Tones are in codes of 0 to 255. ``low``, ``middle`` and ``high`` are those that 5, 50 and 95
    of a hundred samples lie below. ``ground`` is the commonest tone, ``contrast`` how far the
    farthest tone lies from it. ``flat`` is the part of samples that are near the ground, ``ink``
    the part that are nearer to the farthest tone; ``strokes`` is how often a line of samples
    enters or leaves ink, over the samples of ink; ``lines`` the part of rows with many strokes.
    """

    tiny: NDArray[np.uint8]
    views: Stack
    change: Series
    low: Series
    middle: Series
    high: Series
    ground: Series
    contrast: Series
    flat: Series
    ink: Series
    strokes: Series
    lines: Series

    def __len__(self) -> int:
        """Return how many pictures were seen."""
        return len(self.tiny)


class Eye:
    """Takes small pictures one after the other."""

    def __init__(self) -> None:
        """Start with none."""
        self._waiting: list[NDArray[np.uint8]] = []
        self._tiny: list[NDArray[np.uint8]] = []
        self._views: list[Stack] = []
        self._changes: list[Series] = []
        self._figures: list[tuple[float, ...]] = []

    def see(self, small: NDArray[np.uint8]) -> NDArray[np.uint8]:
        """Measure one more picture, of shape (rows, columns), all of one size; return it tiny."""
        tiny = tiny_of(small)
        self._waiting.append(tiny)
        self._figures.append(_figures_of(small))
        if len(self._waiting) == _BATCH:
            self._compare()
        return tiny

    def _compare(self) -> None:
        """Hold the tiny pictures that wait for it against those before them."""
        tiny = np.stack(self._waiting)
        views = views_of(tiny)
        # The first of all is held against itself.
        before = self._views[-1][-1:] if self._views else views[:1]
        self._changes.append(unlike(np.concatenate([before, views[:-1]]), views))
        self._tiny.append(tiny)
        self._views.append(views)
        self._waiting.clear()

    def measures(self) -> Measures:
        """Return what was measured of all pictures; there is one at least."""
        if self._waiting:
            self._compare()
        figures = np.array(self._figures, np.float32).T
        # Joined in place, so that nothing is held twice.
        self._tiny = [np.concatenate(self._tiny)]
        self._views = [np.concatenate(self._views)]
        return Measures(
            tiny=self._tiny[0],
            views=self._views[0],
            change=np.concatenate(self._changes),
            **dict(zip(_FIGURES, figures, strict=True)),
        )


def _figures_of(small: NDArray[np.uint8]) -> tuple[float, ...]:
    """Return the numbers of a small picture, in the order of their names."""
    rows, columns = small.shape
    inner = small[
        rows // _EDGE : rows - rows // _EDGE, columns // _EDGE : columns - columns // _EDGE
    ]
    counts = np.bincount(inner.ravel(), minlength=256)
    below = np.cumsum(counts)
    size = int(below[-1])
    darkest, low, middle, high, brightest = np.searchsorted(
        below, np.array([0.004, 0.05, 0.5, 0.95, 0.996]) * size
    ).tolist()
    ground = int(np.convolve(counts, np.ones(9), "same").argmax())
    upwards = brightest - ground >= ground - darkest
    farthest = brightest if upwards else darkest
    contrast = abs(farthest - ground)
    near = max(_LEAST_NEAR, round(_NEAR * contrast))
    flat = int(counts[max(ground - near, 0) : ground + near + 1].sum()) / size
    limit = (ground + farthest + 1) // 2
    inked = inner >= limit if upwards else inner <= limit
    ink = int(np.count_nonzero(inked))
    strokes = lines = 0.0
    if ink and ink < _MOST_INK * size:
        tones = inner.astype(np.int16)
        steep = np.abs(tones[:, 1:] - tones[:, :-1]) >= _STEEP * contrast
        changes = np.count_nonzero((inked[:, 1:] != inked[:, :-1]) & steep, axis=1)
        strokes = float(changes.sum()) / ink
        lines = float(np.count_nonzero(changes > _ROW_CHANGES)) / len(changes)
    return low, middle, high, ground, contrast, flat, ink / size, strokes, lines
