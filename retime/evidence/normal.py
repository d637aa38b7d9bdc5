"""The standard normal distribution of many numbers at once."""

from __future__ import annotations

from math import erfc, pi, sqrt
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

__all__ = ["log_distribution"]

_erfc = np.frompyfunc(erfc, 1, 1)
_FAR = -30.0
"""Below this the share itself nears the smallest number there is."""


def log_distribution(x: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return the logarithm of the share of a standard normal distribution below each of ``x``."""
    tail = np.asarray(_erfc(np.minimum(np.abs(x), -_FAR) / sqrt(2)), np.float64) / 2
    beyond = np.minimum(x, _FAR)
    # The first two terms of the asymptotic series: wrong by 4 parts in a million at most.
    far = -(beyond**2) / 2 - np.log(-beyond * sqrt(2 * pi)) + np.log1p(-1 / beyond**2)
    return np.where(x > 0, np.log1p(-tail), np.where(x > _FAR, np.log(tail), far))
