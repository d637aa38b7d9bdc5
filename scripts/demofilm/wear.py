"""What camera, laboratory and years do to a picture: weave, flicker, vignette, dust."""

from functools import cache

import numpy as np
from numpy.typing import NDArray

from demofilm.raster import HEIGHT, WIDTH, Picture, disc, grid, smooth, trace

__all__ = ["code_values", "printed"]

_BLACK, _WHITE = 16, 235  # code values of black and white in eight bits, limited range
_HAIRS = 0.05  # how many frames in one carry a hair


def printed(picture: Picture, seed: int, frame: int) -> NDArray[np.uint8]:
    """One film frame as the scanner sees it, in code values 16 to 235."""
    chance = np.random.default_rng((seed, frame))
    worn = _woven(picture, seed, frame, chance)
    worn = worn * (1 + 0.012 * np.clip(chance.normal(), -2, 2)) * _vignette()
    _dust(worn, chance)
    return code_values(np.clip(worn, 0, 1) * _aperture())


def code_values(picture: Picture) -> NDArray[np.uint8]:
    """Tones from 0 to 1 in code values 16 to 235."""
    return np.asarray(_BLACK + (_WHITE - _BLACK) * picture + 0.5, np.uint8)


def _woven(picture: Picture, seed: int, frame: int, chance: np.random.Generator) -> Picture:
    """The picture moved by part of a pixel: a slow sway and a small jolt."""
    x = 0.8 * np.sin(frame / 17 + seed) + 0.25 * chance.normal()
    y = 0.5 * np.sin(frame / 11 + seed) + 0.3 * chance.normal()
    return _moved(_moved(picture, x, 1), y, 0)


def _moved(picture: Picture, by: float, axis: int) -> Picture:
    whole = int(np.floor(by))
    part = np.float32(round((by - whole) * 2) / 2)
    near = np.roll(picture, whole, axis)
    return near if part == 0 else near + part * (np.roll(picture, whole + 1, axis) - near)


def _dust(picture: Picture, chance: np.random.Generator) -> None:
    """A few specks, seldom a hair or a short scratch."""
    for _ in range(chance.poisson(1.6)):
        spot = chance.uniform(12, WIDTH - 12), chance.uniform(12, HEIGHT - 12)
        disc(picture, spot, chance.uniform(0.6, 1.9), float(chance.choice([0.02, 0.85])), 0.8)
    if chance.random() < _HAIRS:
        x, y = chance.uniform(40, WIDTH - 40), chance.uniform(40, HEIGHT - 90)
        turns = np.cumsum(chance.normal(0, 2.5, 9))
        trace(picture, [(x + float(t), y + 5 * i) for i, t in enumerate(turns)], 1.0, 0.7)


@cache
def _vignette() -> Picture:
    columns, rows = grid()
    away = np.hypot((columns - WIDTH / 2) / WIDTH, (rows - HEIGHT / 2) / HEIGHT) / 0.7071
    return (1 - 0.4 * away**3).astype(np.float32)


@cache
def _aperture() -> Picture:
    """The rounded window that the camera exposes; nothing is exposed beyond it."""
    columns, rows = grid()
    corner = 26.0
    x = np.maximum(np.abs(columns - WIDTH / 2) - (WIDTH / 2 - 7 - corner), 0)
    y = np.maximum(np.abs(rows - HEIGHT / 2) - (HEIGHT / 2 - 7 - corner), 0)
    return smooth(corner + 0.8, corner - 0.8, np.hypot(x, y).astype(np.float32))
