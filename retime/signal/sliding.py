"""Windows that slide along a series: its means, and the series with its dips filled up."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from numpy.lib.stride_tricks import sliding_window_view

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Series = NDArray[np.float64]

__all__ = ["filled", "peaks_around", "sliding_mean"]


def sliding_mean(series: Series, reach: int) -> Series:
    """Return the mean of each value and ``reach`` neighbours on either side; ends are repeated."""
    padded = np.pad(series, reach, mode="edge")
    sums = np.concatenate([[0.0], np.cumsum(padded)])
    width = 2 * reach + 1
    means: Series = (sums[width:] - sums[:-width]) / width
    return means


def filled(series: Series, reach: int) -> Series:
    """Return a series whose dips of up to twice ``reach`` values are filled to their brims.

    The closing of mathematical morphology by a flat piece of 2 reach + 1 (Serra, Image Analysis
    and Mathematical Morphology, 1982, from memory): a slope stays as it is.
    """
    width = 2 * reach + 1
    padded = np.pad(series, 2 * reach, mode="edge")
    highest = sliding_window_view(padded, width).max(axis=1)
    brims: Series = sliding_window_view(highest, width).min(axis=1)
    return brims


def peaks_around(series: Series, reach: int) -> Series:
    """Return the highest of the neighbours on either side, each value itself left out."""
    padded = np.pad(series, reach, constant_values=-np.inf)
    windows = sliding_window_view(padded, 2 * reach + 1)
    peaks: Series = np.maximum(windows[:, :reach].max(axis=1), windows[:, reach + 1 :].max(axis=1))
    return peaks
