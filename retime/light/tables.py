"""The curves as tables, fine enough for means of light at every code."""

from __future__ import annotations

from typing import TYPE_CHECKING, TypeAlias, TypeVar

import numpy as np

from retime.light.curves import decode, encode
from retime.light.transfer import Transfer

if TYPE_CHECKING:
    from collections.abc import Callable
    from fractions import Fraction

    from numpy.typing import NDArray

    from retime.light.curves import Values

__all__ = ["CurveTables", "Light", "Places"]

Light: TypeAlias = "NDArray[np.float32]"
Places: TypeAlias = "NDArray[np.uint32]"
_Coded = TypeVar("_Coded", np.float32, np.unsignedinteger)

# Light is counted in such small units that a float's least exponents are those of the darkest
# codes (2 ** -38 of white at 16 bits, by BT.1886), so that tables begin where light does.
_UNIT = 2.0**-87
_FRACTION, _EXPONENT = 23, 8  # bits of a float in single precision, after its sign
_FINEST = 16  # bits of the fraction that are looked up at most: a table of 6 MB
_TENS = 1023 / 300  # how often light goes up by ten from signal 0 to 1, in the log form


class CurveTables:
    """From a row of signals to weighted light, and from a mean of light back to signals.

    Codes tell dark light apart far better than bright, so a table that is looked up by light
    itself is too coarse for the dark. These are looked up by **place**: the leading bits of light
    as a float, sign, exponent and some of the fraction, which are as fine at every brightness. At
    8 to 12 bits a place is at most 1/8 code wide, at 16 half a code, and a whole one only in linear
    codes at white; what is taken for its middle is thus never half a code off.

    For log, what is called light here is 10 ** (3.41 signal): that of the published form but for
    a factor and an offset, which a mean does not feel as its weights sum to 1.
    """

    def __init__(self, transfer: Transfer, bits: int, signals: Values) -> None:
        """Prepare for means of light of ``signals``, which rise, in pictures of ``bits``."""
        self._transfer = transfer
        self._light = _light(transfer, signals) * _UNIT
        kept = min(bits + 3, _FINEST)
        self._cut = _FRACTION - kept
        self._negative = 1 << (_EXPONENT + kept)  # the place of -0.0

    def weighted(self, weight: Fraction) -> Light:
        """Return the light of each signal times a weight."""
        return (self._light * float(weight)).astype(np.float32)

    def places(self, light: Light) -> Places:
        """Turn means of light into places, written over them."""
        places = light.view(np.uint32)
        places >>= self._cut
        return places

    def by_place(self, coded: Callable[[Values], NDArray[_Coded]]) -> NDArray[_Coded]:
        """Return a table of what is ``coded`` from the signal of each place that occurs."""
        above = coded(self._signals(self._light[-1]))
        if self._light[0] >= 0:
            return above
        below = coded(-self._signals(-self._light[0]))
        # What lies between is never looked up: pages of zeros that the system need not provide.
        table = np.zeros(self._negative + len(below), above.dtype)
        table[: len(above)] = above
        table[self._negative :] = below
        return table

    def _signals(self, greatest: float) -> Values:
        """Return the signal at the middle of each place from no light to the greatest of it."""
        # A mean of floats may lie a rounding above all of them, hence the place more.
        last = int(self.places(np.array([greatest], np.float32))[0]) + 1
        middles = (np.arange(last + 1, dtype=np.uint32) << self._cut) + (1 << (self._cut - 1))
        return _signal(self._transfer, middles.view(np.float32) / _UNIT)


def _light(transfer: Transfer, signals: Values) -> Values:
    if transfer is Transfer.LOG:
        return np.power(10, _TENS * signals)
    return decode(transfer, signals)


def _signal(transfer: Transfer, light: Light) -> Values:
    if transfer is Transfer.LOG:
        return np.log10(light, dtype=np.float64) / _TENS
    return encode(transfer, light)
