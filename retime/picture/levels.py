"""Means of planes of which each code stands for light by itself: grey, and red, green or blue."""

from __future__ import annotations

from collections import OrderedDict
from typing import TYPE_CHECKING, Protocol, TypeAlias

import numpy as np
from msgspec import Struct

from retime.light.tables import CurveTables

if TYPE_CHECKING:
    from collections.abc import Sequence
    from fractions import Fraction

    from numpy.typing import NDArray

    from retime.light.codes import CodeScale
    from retime.light.tables import Light
    from retime.light.transfer import Transfer
    from retime.picture.samples import Samples

__all__ = ["LevelMixer", "Mixing"]

_Weights: TypeAlias = "tuple[Fraction, ...]"

_PAIRED_BITS = 10  # a table for all pairs of codes has 2 MB then, and stays in a processor's cache
_MOST_TABLES = 24
_MOST_MET = 1000  # a ramp's weights hardly come again, and there is no end of them


class Mixing(Protocol):
    """A way to mix planes by weights that were told."""

    def mix(self, sources: Sequence[Samples], made: Samples) -> None:
        """Write the mean of ``sources`` into ``made``; all are of one shape and ``capped``."""


class _ByLight(Struct, frozen=True):
    """Each code's weighted light is looked up and added, and the code of the sum looked up."""

    light: tuple[Light, ...]
    curve: CurveTables
    codes: Samples

    def mix(self, sources: Sequence[Samples], made: Samples) -> None:
        light, more = (np.empty(made.shape, np.float32) for _ in range(2))
        np.take(self.light[0], sources[0], out=light, mode="clip")
        for table, source in zip(self.light[1:], sources[1:], strict=True):
            np.take(table, source, out=more, mode="clip")
            light += more
        np.take(self.codes, self.curve.places(light), out=made, mode="clip")


class _ByPair(Struct, frozen=True):
    """The code of every pair of codes, looked up at once: the same, in about two thirds."""

    codes: Samples
    bits: int

    def mix(self, sources: Sequence[Samples], made: Samples) -> None:
        first, second = sources
        # Half as wide as places are, and widened at last: a tenth less beside encoders at work.
        pairs: NDArray[np.uint32] = first.astype(np.uint32)
        pairs <<= self.bits
        pairs |= second.astype(np.uint32)
        np.take(self.codes, pairs.astype(np.intp), out=made, mode="wrap")


class _Swapped(Struct, frozen=True):
    """A pair the other way round: 4/5 and 1/5 need no table beside that of 1/5 and 4/5."""

    mixing: Mixing

    def mix(self, sources: Sequence[Samples], made: Samples) -> None:
        first, second = sources
        self.mixing.mix((second, first), made)


class LevelMixer:
    """Mixes codes of one scale by tables: every code's light, and the code of every light."""

    def __init__(
        self,
        transfer: Transfer,
        bits: int,
        scale: CodeScale,
        kind: np.dtype[np.unsignedinteger],
        *,
        samples: int,
    ) -> None:
        """Prepare for codes of ``bits`` in samples of ``kind``, so many of them in a plane."""
        every = np.arange(1 << bits)
        self._bits, self._kind = bits, kind
        self._curve = CurveTables(transfer, bits, scale.signals(every))
        self._codes = self._curve.by_place(
            lambda signals: scale.codes(signals).clip(0, every[-1]).astype(kind)
        )
        self._large = samples >= every.size**2
        self._met: set[_Weights] = set()
        self._pairs: OrderedDict[_Weights, _ByPair] = OrderedDict()  # the one used last is last

    def capped(self, plane: Samples) -> Samples:
        """Return a plane; codes past the top, which no picture should hold, are the top."""
        top = (1 << self._bits) - 1
        return plane if plane.max() <= top else plane.clip(0, top)

    def mixing(self, weights: _Weights) -> Mixing:
        """Return the way for pictures of these weights.

        A table of pairs costs what mixing as many samples without it costs: planes of more get one
        at once, smaller ones when weights come again, as those of a short cadence do.
        """
        if len(weights) != 2 or self._bits > _PAIRED_BITS:  # noqa: PLR2004 - a pair
            return self._by_light(weights)
        if weights[0] > weights[1]:
            return _Swapped(self.mixing(weights[::-1]))
        if weights in self._pairs:
            self._pairs.move_to_end(weights)
            return self._pairs[weights]
        if self._large or weights in self._met:
            if len(self._pairs) == _MOST_TABLES:
                self._pairs.popitem(last=False)
            return self._pairs.setdefault(weights, self._paired(weights))
        if len(self._met) == _MOST_MET:
            self._met.clear()
        self._met.add(weights)
        return self._by_light(weights)

    def _by_light(self, weights: _Weights) -> _ByLight:
        light = tuple(self._curve.weighted(weight) for weight in weights)
        return _ByLight(light, self._curve, self._codes)

    def _paired(self, weights: _Weights) -> _ByPair:
        every = np.arange(1 << self._bits, dtype=self._kind)
        codes = np.empty((every.size, every.size), self._kind)
        by_light = self._by_light(weights)
        by_light.mix(np.broadcast_arrays(every[:, None], every[None, :]), codes)
        return _ByPair(codes.ravel(), self._bits)
