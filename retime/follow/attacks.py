"""Attacks of sound: moments at which it rises out of quiet, as clicks and knocks do.

An attack is louder by 15 dB than the loudest moment of the 20 ms before it. A tone, however low,
has none but its beginning, nor have tones that beat: they rise too slowly. Nor has music that
goes on sounding.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from numpy.lib.stride_tricks import sliding_window_view

if TYPE_CHECKING:
    from numpy.typing import NDArray

__all__ = ["close_attacks"]

_MOMENTS = 400  # a second
_QUIET = 8  # moments, 20 ms, that an attack is louder than
_RISE = 2  # moments that it may take to rise
_LOUDER = 10**1.5  # times in power
_SILENCE = 1e-9  # power of a moment, 90 dB below full scale, that is no sound


def close_attacks(sound: NDArray[np.float64], rate: int, apart: float) -> NDArray[np.int64]:
    """Return the samples near which there are attacks less than ``apart`` seconds from another.

    ``sound`` has the shape (samples, channels). Attacks of its first 25 ms are not seen.
    """
    size = max(1, rate // _MOMENTS)
    count = len(sound) // size
    if count <= _QUIET + _RISE:
        return np.zeros(0, np.int64)
    moments = sound[: count * size].reshape(count, -1)
    power = np.einsum("nk,nk->n", moments, moments) / moments.shape[1]
    before = sliding_window_view(power, _QUIET)[: -_RISE - 1].max(axis=1)
    risen = power[_QUIET + _RISE :] > np.maximum(_LOUDER * before, _SILENCE)
    attacks = np.flatnonzero(risen) + _QUIET + _RISE
    gaps = np.diff(attacks)
    # One attack may be seen in each moment of its rise.
    close = np.flatnonzero((gaps > _RISE) & (gaps * size < apart * rate))
    return attacks[np.union1d(close, close + 1)] * size
