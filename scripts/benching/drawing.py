"""Draws pictures that cost a coder what film costs it, and writes them raw to standard output.

A picture has the spectrum of natural scenes, which falls with the frequency, a figure that walks
through it, unsteadiness, flicker, and grain of about two pixels' size that is new in every frame.
Run as a program of its own, with the number of pictures, so that its memory is nobody else's.
"""

import sys
from collections.abc import Iterable

import numpy as np
from numpy.typing import NDArray

__all__ = ["HEIGHT", "PIXEL_FORMAT", "WIDTH", "pictures"]

WIDTH, HEIGHT = 1920, 1080
PIXEL_FORMAT = "yuv422p10le"

_FIELD = (1536, 4096)  # a scene and a grain to cut pictures from, rows and columns
_SLOPE = 1.4  # how fast the scene's spectrum falls
_GRAIN, _COLOUR_GRAIN = 8.0, 2.0  # standard deviations in 10-bit codes
_BLACK, _WHITE, _NEUTRAL = 64, 940, 512  # 10-bit codes: ITU-R BT.709

Plane = NDArray[np.floating]


def _noise(seed: int, slope: float, reach: float) -> Plane:
    """Return noise of deviation 1 whose spectrum falls by ``slope`` and ends near ``reach``."""
    white = np.random.default_rng(seed).standard_normal(_FIELD, dtype=np.float32)
    rows = np.fft.fftfreq(_FIELD[0])[:, None]
    columns = np.fft.rfftfreq(_FIELD[1])[None, :]
    frequency = np.hypot(rows, columns)
    frequency[0, 0] = 1
    shape = frequency**-slope * np.exp(-((frequency / reach) ** 2))
    shape[0, 0] = 0
    drawn: Plane = np.fft.irfft2(np.fft.rfft2(white) * shape, s=_FIELD).astype(np.float32)
    drawn /= drawn.std()
    return drawn


def _cut(field: Plane, corner: Iterable[int], width: int = WIDTH) -> Plane:
    row, column = corner
    rows = (np.arange(HEIGHT) + row) % _FIELD[0]
    columns = (np.arange(width) + column) % _FIELD[1]
    return field[np.ix_(rows, columns)]


def pictures(count: int) -> None:
    """Write ``count`` pictures, each a luma plane and two chroma planes of half its width."""
    scene = 500 + 230 * np.tanh(_noise(1, _SLOPE, 0.35))
    grain = _noise(2, 0, 0.4)
    chance = np.random.default_rng(3)
    down, across = np.ogrid[:HEIGHT, :WIDTH]
    for number in range(count):
        weave = chance.integers(-1, 2, 2)
        luma = _cut(scene, (8 + weave[0], 4 * number + weave[1]))
        walker = ((across - 60 - 9 * number % WIDTH) / 120) ** 2 + ((down - 620) / 330) ** 2 < 1
        luma = np.where(walker, luma * 0.45, luma) * (1 + 0.02 * chance.standard_normal())
        luma = luma + _GRAIN * _cut(grain, chance.integers(0, 1500, 2))
        planes = [luma]
        for _ in range(2):
            cut = _cut(grain, chance.integers(0, 1500, 2), WIDTH // 2)
            planes.append(_NEUTRAL + _COLOUR_GRAIN * cut)
        for plane in planes:
            coded = np.clip(np.rint(plane), _BLACK, _WHITE).astype("<u2")
            sys.stdout.buffer.write(coded.tobytes())


if __name__ == "__main__":
    pictures(int(sys.argv[1]))
