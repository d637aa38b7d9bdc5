"""From signal to linear light and back: the published curves, in double precision.

A signal is a code without its range: 0 is black and 1 is white. Codes below black and above white
(a narrow range has both) are signals below 0 and above 1, and every curve takes them there and
back, so that a mean of light can be told in codes wherever its parts can. Light is 1 at white.

- ``bt1886``: Rec. ITU-R BT.1886 with a black of no light: the signal to the power of 2.4. A
  display makes black of what is below black; here the curve goes on oddly, -f(-x), for cutting it
  off would lose the foot of a scan, and the power has no other way below 0.
- ``srgb``: IEC 61966-2-1. It goes on oddly too, as that standard's amendment for wider gamuts has
  it; near black that is the straight piece, gone on with.
- ``linear``: the signal is the light.
- ``log``: printing density, 0.002 a code of 10 bits and a negative's gamma of 0.6, hence 300
  codes to a factor of ten in light, less the light of code 95, and 1 at code 685; a signal is
  code/1023. The formula itself goes on at both ends. No light is below that of minus infinitely
  many codes, -0.0109.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, TypeAlias

import numpy as np

from retime.light.transfer import Transfer

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

__all__ = ["Values", "decode", "encode"]

Values: TypeAlias = "NDArray[np.float64]"

_GAMMA = 2.4
_SLOPE, _KNEE, _LIGHT_KNEE, _LIFT = 12.92, 0.04045, 0.0031308, 0.055
_BLACK, _WHITE, _TOP, _PER_TEN = 95, 685, 1023, 300
_OFFSET = 10 ** ((_BLACK - _WHITE) / _PER_TEN)


def decode(transfer: Transfer, signal: ArrayLike) -> Values:
    """Return the linear light of signals, of any shape."""
    values = np.asarray(signal, np.float64)
    match transfer:
        case Transfer.BT1886:
            return np.copysign(np.abs(values) ** _GAMMA, values)
        case Transfer.SRGB:
            size = np.abs(values)
            bent = ((size + _LIFT) / (1 + _LIFT)) ** _GAMMA
            return np.copysign(np.where(size <= _KNEE, size / _SLOPE, bent), values)
        case Transfer.LINEAR:
            return values
        case Transfer.LOG:
            return (10 ** ((values * _TOP - _WHITE) / _PER_TEN) - _OFFSET) / (1 - _OFFSET)


def encode(transfer: Transfer, light: ArrayLike) -> Values:
    """Return the signals of linear light, of any shape: the inverse of ``decode``."""
    values = np.asarray(light, np.float64)
    match transfer:
        case Transfer.BT1886:
            return np.copysign(np.abs(values) ** (1 / _GAMMA), values)
        case Transfer.SRGB:
            size = np.abs(values)
            bent = (1 + _LIFT) * size ** (1 / _GAMMA) - _LIFT
            return np.copysign(np.where(size <= _LIGHT_KNEE, size * _SLOPE, bent), values)
        case Transfer.LINEAR:
            return values
        case Transfer.LOG:
            exposure = values * (1 - _OFFSET) + _OFFSET
            return (_WHITE + _PER_TEN * np.log10(exposure)) / _TOP
