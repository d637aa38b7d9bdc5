"""Pixels: a picture is a float array of tones, 0 black to 1 white, rows down.

Every picture is 640 units wide, and places and widths are in its units. The film's pictures are
640 by 480 pixels, so there a unit is a pixel; a larger picture has more pixels to the unit.
"""

from collections.abc import Sequence
from functools import cache
from itertools import pairwise
from typing import Any, TypeAlias

import numpy as np
from numpy.typing import NDArray

__all__ = [
    "HEIGHT",
    "WIDTH",
    "Picture",
    "Point",
    "Size",
    "blank",
    "disc",
    "fill",
    "glow",
    "grid",
    "limb",
    "size_of",
    "smooth",
    "soft_noise",
    "trace",
]

WIDTH, HEIGHT = 640, 480
_SUBROWS = 4

Picture: TypeAlias = NDArray[np.float32]
Point: TypeAlias = tuple[float, float]
Size: TypeAlias = tuple[int, int]  # width and height in pixels


def blank(tone: float, size: Size = (WIDTH, HEIGHT)) -> Picture:
    """A picture of one tone."""
    width, height = size
    return np.full((height, width), tone, np.float32)


@cache
def grid(size: Size = (WIDTH, HEIGHT)) -> tuple[Picture, Picture]:
    """Column and row of every pixel's centre, in units."""
    width, height = size
    rows, columns = np.mgrid[0:height, 0:width].astype(np.float32) + np.float32(0.5)
    scale = np.float32(width / WIDTH)
    return columns / scale, rows / scale


def size_of(picture: Picture) -> Size:
    """The width and height of a picture in pixels."""
    height, width = picture.shape
    return width, height


def _scale(picture: Picture) -> float:
    """Pixels to the unit."""
    return size_of(picture)[0] / WIDTH


def smooth(low: float, high: float, value: "NDArray[np.floating[Any]]") -> Picture:
    """0 up to `low`, 1 from `high` on, an even S between (`low` may be the greater)."""
    part = np.clip((value - low) / (high - low), 0, 1)
    return np.asarray(part * part * (3 - 2 * part), np.float32)


def soft_noise(seed: int, across: int, down: int) -> Picture:
    """Cloudy noise from 0 to 1 with so many knots each way."""
    knots = np.random.default_rng(seed).random((down + 2, across + 2)).astype(np.float32)
    x, y = grid()
    u, v = x * across / WIDTH, y * down / HEIGHT
    i, j = u.astype(np.intp), v.astype(np.intp)
    s, t = smooth(0, 1, u - i), smooth(0, 1, v - j)
    top = knots[j, i] * (1 - s) + knots[j, i + 1] * s
    bottom = knots[j + 1, i] * (1 - s) + knots[j + 1, i + 1] * s
    return (top * (1 - t) + bottom * t).astype(np.float32)


def fill(
    picture: Picture, outline: Sequence[Point], tone: "float | Picture", opacity: float = 1
) -> None:
    """Paint a polygon with smooth edges; `tone` may be a whole picture to paint from."""
    points = np.asarray(outline, np.float64) * _scale(picture)
    left, top = np.maximum(np.floor(points.min(axis=0)), 0).astype(int)
    right, bottom = np.minimum(np.ceil(points.max(axis=0)), size_of(picture)).astype(int)
    if left >= right or top >= bottom:
        return
    window = slice(top, bottom), slice(left, right)
    cover = _coverage(points - (left, top), right - left, bottom - top) * opacity
    paint = tone[window] if isinstance(tone, np.ndarray) else tone
    picture[window] += cover * (paint - picture[window])


def _coverage(points: NDArray[np.float64], width: int, height: int) -> Picture:
    """How much of each pixel a polygon covers, from signed crossings of four lines a row."""
    lines = (np.arange(height * _SUBROWS) + 0.5) / _SUBROWS
    columns = np.arange(width) + 1.0
    area = np.zeros((len(lines), width))
    for (x0, y0), (x1, y1) in zip(points, np.roll(points, -1, axis=0), strict=True):
        first, last = np.searchsorted(lines, sorted((y0, y1)))
        if first == last:
            continue
        crossing = x0 + (lines[first:last] - y0) * ((x1 - x0) / (y1 - y0))
        side = 1.0 if y1 > y0 else -1.0
        area[first:last] += side * np.clip(columns - crossing[:, None], 0, 1)
    covered = np.minimum(np.abs(area), 1).reshape(height, _SUBROWS, width).mean(axis=1)
    return np.asarray(covered, np.float32)


def limb(
    picture: Picture,
    start: Point,
    stop: Point,
    widths: tuple[float, float],
    tone: "float | Picture",
) -> None:
    """Paint a rounded, tapering bar between two points."""
    direction = np.arctan2(stop[1] - start[1], stop[0] - start[0])
    turn = np.linspace(np.pi / 2, 3 * np.pi / 2, 9)
    outline: list[Point] = []
    for (x, y), width, angles in (
        (start, widths[0], direction + turn),
        (stop, widths[1], direction + turn + np.pi),
    ):
        outline += [(x + width / 2 * np.cos(a), y + width / 2 * np.sin(a)) for a in angles]
    fill(picture, outline, tone)


def trace(picture: Picture, path: Sequence[Point], width: float, tone: float) -> None:
    """Paint a line of even width through points."""
    for start, stop in pairwise(path):
        limb(picture, start, stop, (width, width), tone)


def disc(
    picture: Picture, centre: Point, radius: float, tone: "float | Picture", opacity: float = 1
) -> None:
    """Paint a round spot."""
    corners = max(12, int(radius * _scale(picture) * 3))
    angles = np.linspace(0, 2 * np.pi, corners, endpoint=False)
    outline = [
        (centre[0] + radius * float(np.cos(a)), centre[1] + radius * float(np.sin(a)))
        for a in angles
    ]
    fill(picture, outline, tone, opacity)


def glow(picture: Picture, centre: Point, radius: float, strength: float) -> None:
    """Add light round a point; it falls to nothing at `radius` and never passes white."""
    scale = _scale(picture)
    (left, right), (top, bottom) = (
        (max(int((at - radius) * scale), 0), max(int((at + radius) * scale), 0) + 1)
        for at in centre
    )
    window = slice(top, bottom), slice(left, right)
    columns, rows = grid(size_of(picture))
    away = np.hypot(columns[window] - centre[0], rows[window] - centre[1]) / radius
    light = strength * np.clip(1 - away, 0, 1) ** 2
    picture[window] += light * (1 - picture[window])
