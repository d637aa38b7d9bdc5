"""Means of planes of which each code stands for light by itself: grey, and red, green or blue."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from retime.light.tables import CurveTables

if TYPE_CHECKING:
    from collections.abc import Sequence
    from fractions import Fraction

    from retime.light.codes import CodeScale
    from retime.light.tables import Light
    from retime.light.transfer import Transfer
    from retime.picture.samples import Samples

__all__ = ["LevelMixer"]


class LevelMixer:
    """Mixes codes of one scale by tables: every code's light, and the code of every light."""

    def __init__(
        self, transfer: Transfer, bits: int, scale: CodeScale, kind: np.dtype[np.unsignedinteger]
    ) -> None:
        """Prepare for codes of ``bits`` in samples of ``kind``."""
        every = np.arange(1 << bits)
        self._curve = CurveTables(transfer, bits, scale.signals(every))
        self._codes = self._curve.by_place(
            lambda signals: scale.codes(signals).clip(0, every[-1]).astype(kind)
        )

    def weighted(self, weight: Fraction) -> Light:
        """Return the table of light for pictures of a weight."""
        return self._curve.weighted(weight)

    def mix(self, sources: Sequence[Samples], tables: Sequence[Light], made: Samples) -> None:
        """Write the mean of ``sources`` into ``made``; there is a table of light for each of them.

        All are of one shape. A code past the top, which no picture should hold, counts as the top.
        """
        light, more = (np.empty(made.shape, np.float32) for _ in range(2))
        np.take(tables[0], sources[0], out=light, mode="clip")
        for table, source in zip(tables[1:], sources[1:], strict=True):
            np.take(table, source, out=more, mode="clip")
            light += more
        np.take(self._codes, self._curve.places(light), out=made, mode="clip")
