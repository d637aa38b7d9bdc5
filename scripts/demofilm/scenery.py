"""Sky, sea, rock, the lighthouse and its beam."""

from functools import lru_cache
from itertools import pairwise
from math import cos, hypot, sin, tau

import numpy as np

from demofilm.raster import (
    HEIGHT,
    WIDTH,
    Picture,
    Point,
    disc,
    fill,
    glow,
    grid,
    size_of,
    smooth,
    soft_noise,
    trace,
)

__all__ = ["beam", "clouded", "lighthouse", "ridge", "sea", "sky", "stars"]


def sky(top: float, low: float, horizon: int) -> Picture:
    """A sky from one tone overhead to another at the horizon."""
    _, rows = grid()
    return (top + (low - top) * np.clip(rows / horizon, 0, 1) ** 1.4).astype(np.float32)


@lru_cache(maxsize=4)
def _clouds(seed: int) -> Picture:
    return (0.68 * soft_noise(seed, 4, 9) + 0.32 * soft_noise(seed + 1, 9, 20)).astype(np.float32)


def clouded(picture: Picture, seed: int, horizon: int, tone: float, cover: float) -> None:
    """Banks of cloud above the horizon: `tone` is theirs, `cover` 0 to 1."""
    _, rows = grid()
    bank = smooth(1 - cover, 1.25 - cover, _clouds(seed)) * smooth(1, 0.75, rows / horizon)
    picture += 0.8 * bank * (tone - picture)


def stars(picture: Picture, seed: int, horizon: int, count: int) -> None:
    """Stars, brighter overhead."""
    chance = np.random.default_rng(seed)
    for _ in range(count):
        x, y = chance.uniform(0, WIDTH), chance.uniform(0, horizon * 0.85)
        disc(picture, (x, y), chance.uniform(0.5, 1.2), 0.85, 0.9 - 0.7 * y / horizon)


def sea(
    picture: Picture,
    horizon: int,
    seconds: float,
    tones: tuple[float, float],
    path: tuple[float, float, float],
) -> None:
    """The sea below a horizon at a time: far and near tone, and a path of light.

    The path has the column it lies under, its breadth at the horizon in pixels, its strength.
    """
    columns, rows = (plane[horizon:] for plane in grid())
    near = (rows - horizon) / (HEIGHT - horizon)
    size = 0.75 * near + 0.065
    across, depth = (columns - WIDTH / 2) / (size * 62), 8.5 * np.log(size)
    swell = (
        np.sin(across * 1.1 + depth * 2.3 + 1.9 * seconds)
        + 0.8 * np.sin(across * 2.3 - depth * 1.6 + 2.6 * seconds + 1.0)
        + 0.7 * np.sin(across * 0.45 + depth * 3.4 + 3.1 * seconds + 2.0)
    ) / 2.5
    crest = smooth(0.32, 0.6, swell.astype(np.float32)) * np.clip(near * 9, 0.25, 1)
    off = np.abs(columns - path[0]) / (path[1] * (0.5 + 1.9 * near))
    light = path[2] * np.exp(-(off**2)) * (1 - 0.45 * near)
    water = tones[0] + (tones[1] - tones[0]) * np.sqrt(near)
    picture[horizon:] = water + crest * (0.055 + light) + light * 0.16


def ridge(
    picture: Picture,
    line: list[Point],
    tone: float,
    rough: float,
    base: float = HEIGHT + 2,
) -> None:
    """Land from a rough line down to its base: the bottom of the picture or a water line.

    The same line is always rough in the same way.
    """
    chance = np.random.default_rng([int(abs(x)) for x, _ in line])
    outline: list[Point] = []
    for (x0, y0), (x1, y1) in pairwise(line):
        count = max(int(hypot(x1 - x0, y1 - y0) / 7), 1)
        for i in range(count):
            part = i / count
            jag_x, jag_y = rough * chance.normal(size=2)
            outline.append((x0 + (x1 - x0) * part + jag_x, y0 + (y1 - y0) * part + jag_y))
    outline += [line[-1], (line[-1][0], base), (line[0][0], base)]
    fill(picture, outline, tone)


def lighthouse(
    picture: Picture, foot: Point, height: float, tones: tuple[float, float], lamp: float
) -> Point:
    """A tower lit from the left: lit and shaded tone, and the lamp's light. Returns the lamp."""
    x, y = foot
    broad, narrow = height * 0.15, height * 0.09
    top = y - height * 0.78
    columns, _ = grid(size_of(picture))
    shade = tones[1] + (tones[0] - tones[1]) * smooth(1.0, -1.1, (columns - x) / broad)
    fill(picture, [(x - broad, y), (x - narrow, top), (x + narrow, top), (x + broad, y)], shade)
    for low in (0.2, 0.52):
        w0, w1 = (broad + (narrow - broad) * part for part in (low, low + 0.15))
        under, over = y - height * 0.78 * low, y - height * 0.78 * (low + 0.15)
        band = [(x - w0, under), (x - w1, over), (x + w1, over), (x + w0, under)]
        fill(picture, band, (shade * 0.5).astype(np.float32))
    for rise in (0.42, 0.68):
        disc(picture, (x, y - height * 0.78 * rise), height * 0.018, tones[1] * 0.5)
    dark = tones[1] * 0.55
    _gallery(picture, (x, top), height, narrow, dark)
    lamp_at = (x, top - height * 0.085)
    if lamp > 0:
        glow(picture, lamp_at, height * 0.5, 0.75 * lamp)
        glow(picture, lamp_at, height * 0.13, lamp)
    for bar in (-1, -0.35, 0.35, 1):
        column = x + bar * narrow * 0.62
        trace(picture, [(column, top - height * 0.04), (column, top - height * 0.135)], 1.3, dark)
    return lamp_at


def _gallery(picture: Picture, at: Point, height: float, narrow: float, dark: float) -> None:
    x, top = at
    deck = narrow * 1.55
    fill(picture, [(x - narrow, top + height * 0.03), (x - deck, top), (x + deck, top),
                   (x + narrow, top + height * 0.03)], dark)  # fmt: skip
    trace(picture, [(x - deck, top - height * 0.04), (x + deck, top - height * 0.04)], 1.1, dark)
    for post in (-1, -0.6, 0.6, 1):
        trace(picture, [(x + post * deck, top), (x + post * deck, top - height * 0.04)], 1.1, dark)
    sill, half = top - height * 0.04, narrow * 0.7
    fill(picture, [(x - half, top), (x - half, sill), (x + half, sill), (x + half, top)], dark)
    roof = top - height * 0.135
    dome = [(x + narrow * 0.85 * cos(a), roof - height * 0.07 * sin(a))
            for a in np.linspace(0, tau / 2, 15)]  # fmt: skip
    fill(picture, dome, dark)
    trace(picture, [(x, roof), (x, roof - height * 0.11)], 1.3, dark)
    disc(picture, (x, roof - height * 0.075), height * 0.012, dark)


def beam(picture: Picture, lamp: Point, turn: float, strength: float) -> None:
    """Two opposite beams of a turning lens; `turn` counts whole turns, 0 is at the camera."""
    columns, rows = grid()
    x, y = columns - lamp[0], rows - lamp[1]
    for side in (0.0, 0.5):
        angle = tau * (turn + side)
        toward, sideways = cos(angle), sin(angle)
        away = np.abs(x) + 1e-3
        same = smooth(-2, 6, x * (1 if sideways > 0 else -1))
        spread = (0.02 + 0.1 * max(toward, 0) ** 2) * away + 2.2
        rise = 0.1 * toward * away / (abs(sideways) + 0.15)
        cone = np.exp(-(((y - rise) / spread) ** 2)) * same
        reach = np.exp(-away / (620 * abs(sideways) + 10))
        picture += strength * (0.6 + 0.3 * toward) * cone * reach * (1 - picture)
        glow(picture, lamp, 60 + 150 * max(toward, 0) ** 6, 0.2 + 0.7 * max(toward, 0) ** 6)
