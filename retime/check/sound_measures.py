"""What all windows of a track say together: channels exchanged, levels, and whether pitch moved."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from numpy.typing import NDArray

    from retime.check.sound_track import Heard

__all__ = ["exchanged", "pitch_moved", "uneven_levels"]

_POWER, _EDGE = 0, 1
_FEW, _SOME = 3, 5
"""Windows that have to agree."""
_SAME, _OTHER = 0.2, 0.6
_LEVEL = 2.0
"""Decibels by which sound may be off: of white noise, codecs and resampling let go of so much."""
_ALIKE = 0.5
_LOUD = 1e-6
_LOW = 0.1
_SHIFT = 0.5
_HALF_WAY, _CLEAR = 0.5, 0.25
_SILENT = 1e-12


def exchanged(windows: Sequence[Heard]) -> list[str]:
    """Return which channels are heard in others' places; those that are alike cannot tell."""
    channels = _channels(windows)
    if channels is None:
        return []
    alike = np.array([window.alike for window in windows])
    told = []
    for channel in range(channels):
        telling = alike[alike[:, channel, channel] != 0, channel]
        if len(telling) < _FEW:
            continue
        likeness = telling.mean(axis=0)
        other = int(likeness.argmax())
        if likeness[channel] < _SAME and likeness[other] > _OTHER:
            told.append(f"its channel {channel + 1} is heard in channel {other + 1}")
    return told


def uneven_levels(windows: Sequence[Heard]) -> Iterator[str]:
    """Yield which channels, or all of them, are too loud or too soft, by the median of windows."""
    channels = _channels(windows)
    if channels is None:
        return
    off: dict[int, float] = {}
    for channel in range(channels):
        found = np.array([window.heard[_POWER, channel] for window in windows])
        wanted = np.array([window.expected[_POWER, channel] for window in windows])
        loud = wanted > _LOUD
        if loud.sum() >= _FEW:
            ratio = np.maximum(found[loud], _SILENT) / wanted[loud]
            off[channel] = float(np.median(10 * np.log10(ratio)))
    levels = list(off.values())
    if len(off) == channels and max(levels) - min(levels) < _ALIKE:
        if abs(levels[0]) > _LEVEL:
            yield f"it {_said(float(np.median(levels)))}"
        return
    for channel, level in off.items():
        if abs(level) > _LEVEL:
            yield f"its channel {channel + 1} {_said(level)}"


def _channels(windows: Sequence[Heard]) -> int | None:
    """Return how many channels there are; None where as many are not expected, or for no window."""
    counts = {window.alike.shape for window in windows}
    one, other = counts.pop() if counts else (0, 1)
    return one if one == other else None


def _said(level: float) -> str:
    return f"is {abs(level):.1f} dB too {'loud' if level > 0 else 'soft'}"


def pitch_moved(windows: Sequence[Heard], rates: float) -> bool | None:
    """Tell whether the pitch moved with the time; None where that makes too little difference.

    ``rates`` is the sample rate of what is heard over that of the recording. The mean square of
    the samples' differences, over that of the samples, goes as the square of the frequency, while
    that is low.
    """
    moved = []
    for window in windows:
        step = 20 * np.log10(window.ratio)
        tones = _tone(window.heard), _tone(window.expected)
        if max(tones) < _LOW and min(tones) > 0 and abs(step) > _SHIFT:
            risen = 10 * np.log10(tones[0] / tones[1]) + 20 * np.log10(rates)
            moved.append(risen / step)
    if len(moved) < _SOME:
        return None
    middle = float(np.median(moved)) - _HALF_WAY
    return middle > 0 if abs(middle) > _CLEAR else None


def _tone(window: NDArray[np.float64]) -> float:
    power = float(window[_POWER].sum())
    return float(window[_EDGE].sum()) / power if power else 0.0
