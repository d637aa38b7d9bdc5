"""Means of Y'CbCr pictures that have colour: by way of red, green and blue, where light is."""

from __future__ import annotations

from itertools import product
from typing import TYPE_CHECKING, NamedTuple, TypeAlias

import numpy as np

from retime.light.tables import CurveTables

if TYPE_CHECKING:
    from collections.abc import Sequence
    from fractions import Fraction

    from numpy.typing import NDArray

    from retime.light.codes import CodeScale, LumaWeights
    from retime.light.tables import Light
    from retime.light.transfer import Transfer
    from retime.picture.formats import PixelLayout
    from retime.picture.samples import Samples

__all__ = ["ColourMixer", "Stripe"]

_Signals: TypeAlias = "NDArray[np.float32]"

_FINEST = 18  # 2 ** 18 steps from black to white: a table of a few MB for 16 bits


class Stripe(NamedTuple):
    """Some lines of a picture: luma, and the chroma that lies over it."""

    luma: Samples
    blue: Samples
    red: Samples


class _Colours(NamedTuple):
    """Something of red, of green and of blue."""

    red: _Signals
    green: _Signals
    blue: _Signals


class ColourMixer:
    """Mixes Y'CbCr codes, each luma sample with the chroma sample that lies over it.

    The chroma made is the mean of what it would be at the places of its luma samples. Red, green
    and blue are looked up by steps of 1/16 code, 1/4 of 16 bits. Beyond black and white they go
    on and are not cut off; only where light far below black makes up for light above it, in
    colours that no display shows, may an error pass a code.
    """

    def __init__(
        self,
        transfer: Transfer,
        layout: PixelLayout,
        luma: CodeScale,
        chroma: CodeScale,
        weights: LumaWeights,
    ) -> None:
        """Prepare tables for the scales of luma and chroma, and for what luma is made of."""
        self._layout, self._luma, self._chroma, self._weights = layout, luma, chroma, weights
        # Rec. ITU-T H.273: E'Cb = (E'B - E'Y) / (2 (1 - K_B)), and E'Cr likewise.
        self._reach_blue, self._reach_red = 2 * (1 - weights.blue), 2 * (1 - weights.red)
        steps = 1 << min(layout.bits + 4, _FINEST)
        codes = np.arange(1 << layout.bits)
        luma_signals, differences = luma.signals(codes), chroma.signals(codes)
        most = max(self._reach_blue, self._reach_red) * abs(differences[0])
        lowest, highest = luma_signals[0] - most, luma_signals[-1] + most
        grid = np.arange(lowest, highest + 1 / steps, 1 / steps) + 0.5 / steps
        self._curve = CurveTables(transfer, layout.bits, grid)
        self._signals = self._curve.by_place(lambda signals: signals.astype(np.float32))
        self._of_luma = ((luma_signals - lowest) * steps).astype(np.float32)
        self._of_chroma = (differences * steps).astype(np.float32)

    def weighted(self, weight: Fraction) -> Light:
        """Return the table of light for pictures of a weight."""
        return self._curve.weighted(weight)

    def mix(self, sources: Sequence[Stripe], tables: Sequence[Light], made: Stripe) -> None:
        """Write the mean of ``sources`` into ``made``; there is a table of light for each of them.

        All are of one shape. A stripe begins where a chroma sample does.
        """
        above = [self._above_luma(source) for source in sources]
        sum_blue, sum_red = (np.zeros(made.blue.shape, np.float32) for _ in range(2))
        down, across = self._layout.down, self._layout.across
        for line, column in product(range(down), range(across)):
            place = np.s_[line::down, column::across]
            rows, columns = made.luma[place].shape
            under = np.s_[:rows, :columns]  # the last chroma sample may lie over fewer of luma
            luma = [self._of_luma.take(source.luma[place], mode="clip") for source in sources]
            red, green, blue = (
                self._mean(luma, [one[under] for one in colour], tables)
                for colour in zip(*above, strict=True)
            )
            shade = red * self._weights.red
            green *= self._weights.green
            shade += green
            shade += blue * self._weights.blue
            blue -= shade
            red -= shade
            sum_blue[under] += blue
            sum_red[under] += red
            self._write(shade, self._luma, made.luma[place])
        count = np.outer(_over(made.luma.shape[0], down), _over(made.luma.shape[1], across))
        self._write(sum_blue / (count * self._reach_blue), self._chroma, made.blue)
        self._write(sum_red / (count * self._reach_red), self._chroma, made.red)

    def _above_luma(self, source: Stripe) -> _Colours:
        """Return how many steps each colour is above luma, a chroma sample each."""
        blue = self._of_chroma.take(source.blue, mode="clip") * self._reach_blue
        red = self._of_chroma.take(source.red, mode="clip") * self._reach_red
        green = blue * (-self._weights.blue / self._weights.green)
        green += red * (-self._weights.red / self._weights.green)
        return _Colours(red, green, blue)

    def _mean(
        self, luma: Sequence[_Signals], above: Sequence[_Signals], tables: Sequence[Light]
    ) -> _Signals:
        """Return the signals of one colour of the mean."""
        light, more = (np.zeros(luma[0].shape, np.float32) for _ in range(2))
        for one, other, table in zip(luma, above, tables, strict=True):
            np.take(table, (one + other).astype(np.int32), out=more, mode="clip")
            light += more
        return np.take(self._signals, self._curve.places(light), mode="clip")

    def _write(self, signals: _Signals, scale: CodeScale, made: Samples) -> None:
        """Write signals as codes, rounded half up and kept within what codes there are."""
        signals *= scale.span
        signals += scale.zero + 0.5
        np.clip(signals, 0, (1 << self._layout.bits) - 1, out=signals)
        made[:] = signals


def _over(length: int, every: int) -> _Signals:
    """Return over how many of ``length`` luma samples each chroma sample lies, by one axis."""
    first = np.arange(0, length, every, dtype=np.float32)
    return np.minimum(length - first, every)
