"""How far a picture looks like lettering on a plain ground.

Letters are thin: a line that is drawn through them enters and leaves ink often. They stand in
lines, on a ground of about one tone, and there is little of them. None of it is a rule of the
trade; the bounds are set by what lettering of a twentieth to a tenth of the picture's height gives.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from retime.shots.measures import Measures

    Series = NDArray[np.float32]

__all__ = ["LETTERED", "lettering_of"]

LETTERED = 0.5
"""From here on a picture is taken for lettering."""

# What begins to speak for lettering, and what is as much as it needs.
_FLAT = (0.66, 0.80)
_STROKES = (0.16, 0.32)
_LINES = (0.015, 0.05)
_CONTRAST = (22.0, 40.0)
_INK = (0.32, 0.22)


def lettering_of(measures: Measures) -> Series:
    """Return 0 to 1 for each picture."""
    return (
        _rising(measures.flat, *_FLAT)
        * _rising(measures.strokes, *_STROKES)
        * _rising(measures.lines, *_LINES)
        * _rising(measures.contrast, *_CONTRAST)
        * _rising(measures.ink, *_INK)
    )


def _rising(series: Series, none: float, full: float) -> Series:
    """Return 0 at ``none``, 1 at ``full`` and beyond, and what lies between on a line."""
    risen = (series - np.float32(none)) / np.float32(full - none)
    return np.asarray(np.clip(risen, 0, 1), np.float32)
