"""Sounds that can be found again: clicks at known places, tones, and files of them."""

from __future__ import annotations

import subprocess
from fractions import Fraction
from typing import TYPE_CHECKING, cast

import av
import imageio_ffmpeg
import numpy as np

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

    from av.audio.stream import AudioStream
    from numpy.typing import NDArray

__all__ = ["RATE", "Clicks", "Tone", "decoded", "found_click", "frequency", "level", "write_wav"]

RATE = 48000
_WIDTH = 20  # samples: so wide that no filter changes its shape
_REACH = 150


class Clicks:
    """A recording of clicks, each a bell curve about a whole sample, made as it is read."""

    def __init__(self, marks: Sequence[int], channels: int = 2, size: float = 0.9) -> None:
        """Take the samples that clicks stand at, rising."""
        self.marks = np.asarray(marks)
        self.channels = channels
        self._size = size

    def read(self, first: int, count: int) -> NDArray[np.float64]:
        """Return samples from ``first``, shape (count, channels)."""
        made = np.zeros((count, self.channels))
        near = self.marks[(self.marks > first - _REACH) & (self.marks < first + count + _REACH)]
        for mark in near - first:
            low, high = max(0, mark - _REACH), min(count, mark + _REACH + 1)
            if low < high:
                bell = self._size * np.exp(-(((np.arange(low, high) - mark) / _WIDTH) ** 2))
                made[low:high] += bell[:, None]
        return made


class Tone:
    """A recording of one tone for ever."""

    def __init__(self, frequency: float, size: float = 0.5) -> None:
        """Take the frequency in hertz."""
        self.channels = 1
        self._frequency, self._size = frequency, size

    def read(self, first: int, count: int) -> NDArray[np.float64]:
        """Return samples from ``first``, shape (count, 1)."""
        turns = np.arange(first, first + count) * self._frequency / RATE
        return (self._size * np.sin(2 * np.pi * turns))[:, None]


def found_click(track: NDArray[np.float64], near: Fraction, reach: int = 400) -> float:
    """Return where the click nearest to a place stands, as the middle of its weight."""
    begin = max(0, int(near) - reach)
    part = np.abs(track[begin : int(near) + reach])
    assert part.max() > 0.1, f"no click near {float(near)}"
    return begin + float((part * np.arange(len(part))).sum() / part.sum())


def frequency(track: NDArray[np.float64]) -> float:
    """Return a tone's frequency by the phase it gains from its first half to its second."""
    half = len(track) // 2
    times = np.arange(half) / RATE
    window = np.hanning(half)
    spectrum = np.abs(np.fft.rfft(track[:half] * window, 1 << 20))
    rough = int(spectrum.argmax()) * RATE / (1 << 20)
    turned = np.exp(-2j * np.pi * rough * times) * window
    one, other = (track[:half] * turned).sum(), (track[half : 2 * half] * turned).sum()
    ahead = np.angle(other / one * np.exp(-2j * np.pi * rough * half / RATE))
    return float(rough + ahead / (2 * np.pi) * RATE / half)


def level(track: NDArray[np.float64], over: int = 4800) -> NDArray[np.float64]:
    """Return the level in dB of every stretch of ``over`` samples, about their root mean square."""
    power = np.convolve(track**2, np.ones(over) / over, "valid")
    return np.asarray(10 * np.log10(power / np.mean(power)))


def write_wav(
    path: Path, samples: NDArray[np.signedinteger], layout: str = "stereo", codec: str = "pcm_s16le"
) -> Path:
    """Write integers of shape (samples, channels); those of 24 bits stand in the upper of 32."""
    form = "s16" if codec == "pcm_s16le" else "s32"
    with av.open(str(path), "w") as container:
        stream = cast("AudioStream", container.add_stream(codec, rate=RATE))
        stream.layout, stream.format = layout, form
        kind = np.int16 if form == "s16" else np.int32
        array = np.ascontiguousarray(samples.astype(kind)).reshape(1, -1)
        frame = av.AudioFrame.from_ndarray(array, format=form, layout=layout)
        frame.sample_rate, frame.pts, frame.time_base = RATE, 0, Fraction(1, RATE)
        container.mux(stream.encode(frame))
        container.mux(stream.encode(None))
    return path


def decoded(path: Path, channels: int = 2, stream: int = 0) -> NDArray[np.float64]:
    """Return a file's sound as the ffmpeg program decodes it, shape (samples, channels)."""
    command = [imageio_ffmpeg.get_ffmpeg_exe(), "-nostdin", "-v", "error", "-i", str(path)]
    command += ["-map", f"0:a:{stream}", "-f", "f64le", "-"]
    done = subprocess.run(command, capture_output=True, check=True)
    return np.frombuffer(done.stdout, "<f8").reshape(-1, channels)
