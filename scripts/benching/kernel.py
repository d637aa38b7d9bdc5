"""Mixes planes in linear light and writes how long each took to standard output, as JSON.

Run as a program of its own, with the number of runs, so that its memory is nobody else's.
"""

import json
import sys
from collections.abc import Iterator
from fractions import Fraction
from time import process_time

import numpy as np
from av.video.frame import VideoFrame

from benching.drawing import HEIGHT, WIDTH
from retime.light.format import PictureFormat
from retime.light.transfer import Transfer
from retime.picture.mix import Mixer

__all__ = ["kernel"]

_PLANE = PictureFormat(width=WIDTH, height=HEIGHT, pixel_format="gray10le", range=1)
_MIDDLE, _SPREAD = 500, 170  # 10-bit codes: no two samples beside each other are near in a table
_WEIGHTS = (Fraction(5, 6), Fraction(1, 6))
_TIMES = 20  # planes a run


def _noise(seed: int) -> VideoFrame:
    codes = np.random.default_rng(seed).normal(_MIDDLE, _SPREAD, (HEIGHT, WIDTH))
    whole = np.clip(codes, 0, 1023).astype("<u2")
    return VideoFrame.from_ndarray(whole, format=_PLANE.pixel_format)


def kernel(runs: int) -> Iterator[float]:
    """Yield, a run each, how many ms of one core a plane of noise takes to be mixed of two."""
    mixer = Mixer(_PLANE, Transfer.BT1886)
    parts = [(_noise(seed), weight) for seed, weight in enumerate(_WEIGHTS)]
    mixer.mix(parts)
    for _ in range(runs):
        started = process_time()
        for _ in range(_TIMES):
            mixer.mix(parts)
        yield (process_time() - started) / _TIMES * 1000


if __name__ == "__main__":
    json.dump(list(kernel(int(sys.argv[1]))), sys.stdout)
