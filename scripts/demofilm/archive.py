"""What the invented archive puts before the German edition: its logo and a slate."""

from functools import cache
from math import cos, pi, sin, tau

import numpy as np

from demofilm.lettering import letter
from demofilm.raster import (
    HEIGHT,
    WIDTH,
    Picture,
    Point,
    blank,
    fill,
    grid,
    smooth,
    trace,
)

__all__ = ["LOGO_FRAMES", "LOGO_RATE", "logo", "slate"]

LOGO_RATE = 24
LOGO_FRAMES = 48

_ARCHIVE = "Filmarchiv Hollin"
_GROUND, _INK, _LIGHT = 0.06, 0.78, 0.5
_FADE = 12  # frames: half a second each way, far slower than any flash
_LAMP: Point = (WIDTH / 2, 192)
_REACH = 112.0
_HOLES = 44
_SLATE_PIXELS = (1440, 1080)


def logo(frame: int) -> Picture:
    """A lamp whose light goes round once; it comes up out of the dark and goes back into it.

    Every spot brightens once and darkens once, over several frames: nothing flashes.
    """
    columns, rows = grid()
    x, y = columns - _LAMP[0], rows - _LAMP[1]
    toward = tau * (frame / LOGO_FRAMES - 0.25)
    away = np.hypot(x, y)
    facing = (x * cos(toward) + y * sin(toward)) / np.maximum(away, 1)
    light = np.exp(7 * (facing - 1)) * smooth(_REACH, 30, away) * smooth(6, 16, away)
    still, cover = _emblem()
    shown = still - _GROUND + (1 - cover) * light * (_LIGHT - _GROUND)
    up, down = (min((n + 0.5) / _FADE, 1) for n in (frame, LOGO_FRAMES - 1 - frame))
    seen = (1 - cos(pi * up)) * (1 - cos(pi * down)) / 4
    return np.asarray(_GROUND + seen * shown, np.float32)


@cache
def _emblem() -> tuple[Picture, Picture]:
    """What stands still in the logo: its tones, and where they cover the light."""
    tones, cover = blank(_GROUND), blank(0)
    for picture, ink, iron in ((tones, _INK, 0.34), (cover, 1.0, 1.0)):
        _perforations(picture, ink)
        _tower(picture, ink, iron)
        letter(picture, _ARCHIVE, (WIDTH / 2, 392), 30, ink)
    return tones, cover


def _perforations(picture: Picture, ink: float) -> None:
    """The perforations of a strip of film bent into a ring."""
    for angle in np.linspace(0, tau, _HOLES, endpoint=False):
        ahead, aside = (cos(angle), sin(angle)), (-sin(angle), cos(angle))
        corners = [
            (_LAMP[0] + u * ahead[0] + v * aside[0], _LAMP[1] + u * ahead[1] + v * aside[1])
            for u, v in ((120, -4), (131, -4), (131, 4), (120, 4))
        ]
        fill(picture, corners, ink)


def _tower(picture: Picture, ink: float, iron: float) -> None:
    """A lighthouse whose lamp is the middle of the ring, on a rock in the ring's foot."""
    x, y = _LAMP
    foot = y + 98
    fill(picture, [(x - 15, foot), (x - 8, y + 14), (x + 8, y + 14), (x + 15, foot)], iron)
    fill(picture, [(x - 13, y + 14), (x - 13, y + 10), (x + 13, y + 10), (x + 13, y + 14)], iron)
    fill(picture, [(x - 6, y + 10), (x - 6, y - 8), (x + 6, y - 8), (x + 6, y + 10)], ink)
    fill(picture, [(x - 10, y - 8), (x, y - 19), (x + 10, y - 8)], iron)
    for row, half in ((0, 58), (7, 46)):
        wave = [(x - half + 2 * half * i / 40, foot + row - 2 * sin(i * pi / 4)) for i in range(41)]
        trace(picture, wave, 1.8, ink)


def slate() -> Picture:
    """What the file holds: film, edition, speed, archive; corners and a wedge of greys."""
    picture = blank(0.12, _SLATE_PIXELS)
    _corners(picture)
    for text, base, size, ink in (
        ("Die Lampe des Flutwächters", 112, 27, 0.9),
        ("The Tidewatcher\N{RIGHT SINGLE QUOTATION MARK}s Lamp", 148, 15, 0.65),
        ("Deutsche Fassung", 204, 20, 0.85),
        ("35 mm, stumm", 240, 20, 0.85),
        ("24 fps", 276, 20, 0.85),
        (_ARCHIVE, 326, 20, 0.85),
    ):
        letter(picture, text, (WIDTH / 2, base), size, ink)
    for step in range(11):
        left, right = 100 + 40 * step, 140 + 40 * step
        fill(picture, [(left, 366), (right, 366), (right, 412), (left, 412)], step / 10)
    edge = [(100, 366), (540, 366), (540, 412), (100, 412), (100, 366)]
    trace(picture, edge, 1.2, 0.65)
    return picture


def _corners(picture: Picture) -> None:
    """Marks where the picture ends, a twentieth of it inwards."""
    for x, turn_x in ((WIDTH / 20, 1), (WIDTH * 19 / 20, -1)):
        for y, turn_y in ((HEIGHT / 20, 1), (HEIGHT * 19 / 20, -1)):
            trace(picture, [(x + 36 * turn_x, y), (x, y), (x, y + 36 * turn_y)], 1.6, 0.65)
