"""The lost scene as a production drawing: pen and wash on paper, wider than the film's picture."""

from itertools import pairwise
from math import cos, pi, radians, sin

import numpy as np

from demofilm.figures import Dress, sailing_ship, stander
from demofilm.lettering import letter, stroke
from demofilm.raster import (
    WIDTH,
    Picture,
    Point,
    Size,
    blank,
    disc,
    fill,
    grid,
    limb,
    smooth,
    trace,
)
from demofilm.scenery import lighthouse

__all__ = ["drawing"]

_PIXELS: Size = (1280, 740)
_TALL = WIDTH * _PIXELS[1] / _PIXELS[0]  # the sheet's height in units
_PAPER, _INK = 0.9, 0.1
_PANEL = (24, 20, 616, 326)  # left, top, right, bottom of what is drawn
_HORIZON = 118.0
_MOON: Point = (452, 66)
_NEAR_CLIFF: list[Point] = [
    (20, 196), (74, 200), (128, 206), (160, 214), (182, 232), (188, 262), (206, 290), (216, 330),
    (20, 330),
]  # fmt: skip
_HEADLAND: list[Point] = [
    (470, 123), (500, 116), (522, 106), (552, 99), (590, 94), (640, 90), (640, 146), (560, 134),
]  # fmt: skip
_REEF: list[list[Point]] = [
    [(296, 236), (318, 222), (340, 228), (352, 214), (378, 226), (402, 232), (424, 246), (410, 254),
     (350, 256), (308, 250)],
    [(430, 226), (446, 214), (464, 220), (478, 230), (456, 236)],
    [(258, 262), (276, 254), (292, 262), (280, 270)],
    [(468, 262), (490, 248), (512, 258), (524, 268), (488, 274)],
]  # fmt: skip


def drawing() -> Picture:
    """The boat on the reef, seen from the cliff: the sheet with its frame and its caption."""
    left, top, right, bottom = _PANEL
    panel = _scene()
    sheet = blank(_PAPER, _PIXELS)
    edge = [(left, top), (right, top), (right, bottom), (left, bottom)]
    fill(sheet, edge, panel)
    for (x0, y0), (x1, y1) in pairwise([*edge, edge[0]]):
        over = 5.0  # the ruler's lines cross in the corners
        ahead = (np.sign(x1 - x0) * over, np.sign(y1 - y0) * over)
        trace(sheet, [(x0 - ahead[0], y0 - ahead[1]), (x1 + ahead[0], y1 + ahead[1])], 0.9, _INK)
    letter(sheet, "The reef, seen from the cliff", (WIDTH / 2, 349), 11, 0.25)
    return sheet


def _scene() -> Picture:
    """What is drawn within the frame: a moonlit bay from above."""
    picture = blank(0.6, _PIXELS)
    _night(picture)
    _water(picture)
    sailing_ship(picture, (236, _HORIZON + 5), 58, 0.2, 0.34)
    land = _rounded(_HEADLAND)
    breakers = [(x - 3, y + 2.5 + sin(x)) for x, y in _rounded(_HEADLAND[6:] + _HEADLAND[:1])]
    fill(picture, [*breakers, *reversed(_HEADLAND[6:] + _HEADLAND[:1])], 0.86)
    fill(picture, land, 0.3)
    _hatch(picture, land, (3.2, 62), 0.16)
    _contour(picture, land[:22], 1.2)
    lighthouse(picture, (560, 98), 66, (0.66, 0.3), 0)
    _surf(picture)
    _boat(picture, (352, 216))
    _cliff(picture)
    return picture


def _night(picture: Picture) -> None:
    """The sky: washes laid over one another, a moon left white, clouds in pen."""
    chance = np.random.default_rng(7)
    for low in (100, 74, 50, 28):
        edge: list[Point] = [(x, low + 4 * chance.normal()) for x in range(640, -1, -40)]
        fill(picture, [(0, 0), (640, 0), *_rounded(edge)], 0.28, 0.2)
    for radius, opacity in ((48, 0.13), (35, 0.18), (25, 0.3)):
        disc(picture, _MOON, radius, _PAPER, opacity)
    disc(picture, _MOON, 16, 0.97)
    for x, y, wide in ((424, 96, 84), (512, 66, 40), (300, 52, 92), (110, 66, 100), (604, 44, 60)):
        puffs = [(x - wide + wide * i / 6, y - 9 * abs(sin(i * 1.7 + x))) for i in range(13)]
        bank = _ring([*puffs, (x + wide * 0.8, y + 7), (x - wide * 0.7, y + 8)])
        fill(picture, bank, 0.36, 0.55)
        _hatch(picture, bank, (3.4, 12), 0.24)


def _water(picture: Picture) -> None:
    """The sea from the horizon down: washes, short strokes of the pen, the moon's path."""
    fill(picture, [(0, _HORIZON), (640, _HORIZON), (640, _TALL), (0, _TALL)], 0.47)
    chance = np.random.default_rng(19)
    for high in (146, 184, 232, 282):
        edge: list[Point] = [(x, high + 6 * chance.normal()) for x in range(0, 641, 40)]
        fill(picture, [*_rounded(edge), (640, _TALL), (0, _TALL)], 0.22, 0.18)
    _contour(picture, [(0, _HORIZON), (640, _HORIZON)], 0.9)
    for _ in range(640):
        near = chance.random() ** 1.5
        x, y = chance.uniform(0, 640), _HORIZON + 4 + 202 * near
        long, rise = (3 + 13 * near) * chance.uniform(0.6, 1.5), (0.4 + 2 * near) * chance.random()
        swell = [(x + long * i / 4, y - rise * sin(pi * i / 4)) for i in range(5)]
        stroke(picture, swell, 0.5 + 0.5 * near, 0.4, 0.18)
    for _ in range(150):
        near = chance.random() ** 1.3
        x = _MOON[0] + (5 + 24 * near) * float(np.clip(chance.normal(), -1.7, 1.7))
        y, half = _HORIZON + 3 + 206 * near, (2 + 7 * near) * chance.uniform(0.4, 1.2)
        for side in (-half, half):
            limb(picture, (x, y), (x + side, y), (0.8 + 1.3 * near, 0.3), 0.86)


def _surf(picture: Picture) -> None:
    """The rocks of the reef with the sea breaking white about them."""
    chance = np.random.default_rng(31)
    for spread, tone in ((1.75, 0.56), (1.34, 0.92)):
        for rock in _REEF:
            x, y = (sum(part) / len(rock) for part in zip(*rock, strict=True))
            foam = [
                (x + spread * (px - x) + 5 * chance.normal(), y + 4 + spread * (py - y))
                for px, py in _ring(rock)[::2]
            ]
            fill(picture, _ring(foam), tone)
    for _ in range(44):
        x, out, up = 420 + 10 * chance.normal(), 15 * chance.normal(), chance.uniform(14, 50)
        foot = 244 + 3 * chance.normal()
        spray = [(x + out * i / 8, foot - up * sin(0.6 * pi * i / 8)) for i in range(9)]
        for number, (start, stop) in enumerate(pairwise(spray)):
            limb(picture, start, stop, (2.6 - 0.3 * number, 2.3 - 0.3 * number), 0.93)
    for rock in _REEF:
        fill(picture, rock, 0.24)
        _hatch(picture, rock, (2.4, 58), _INK)
        _contour(picture, [*rock, rock[0]], 1.3)


def _boat(picture: Picture, at: Point) -> None:
    """The boat thrown on the rocks, its bow in the air, and the mate who calls from it."""
    lean = radians(17)

    def to(u: float, v: float) -> Point:
        return at[0] + u * cos(lean) + v * sin(lean), at[1] - u * sin(lean) - v * cos(lean)

    hull = [to(-40, 13), to(-20, 8), to(18, 8), to(46, 16), to(37, 0), to(24, -6), to(-30, -6)]
    mate = [to(1, 6), to(0, 24), to(2, 32), to(12, 32), to(14, 24), to(13, 6)]
    fill(picture, mate, 0.12)
    limb(picture, to(7, 30), to(7, 39), (4, 4), 0.12)
    disc(picture, to(7, 39), 4.2, 0.12)
    for shoulder, elbow, hand in (((3, 30), (-6, 35), (-4, 49)), ((11, 30), (20, 35), (21, 49))):
        limb(picture, to(*shoulder), to(*elbow), (4, 3.2), 0.12)
        limb(picture, to(*elbow), to(*hand), (3.2, 2.4), 0.12)
    fill(picture, hull, 0.2)
    _hatch(picture, hull, (2.2, 20), 0.06)
    _contour(picture, [*hull, hull[0]], 1.4)
    trace(picture, [to(-36, 7), to(40, 10)], 0.9, 0.7)
    trace(picture, [to(-14, 11), to(-44, -14)], 1.4, 0.72)
    limb(picture, to(-40, -11), to(-48, -17), (2.4, 4.6), 0.72)


def _cliff(picture: Picture) -> None:
    """The cliff at the drawing's foot, and Wenna who sees it all."""
    fill(picture, _NEAR_CLIFF, 0.22)
    _hatch(picture, _NEAR_CLIFF, (3.6, 68), 0.1)
    face = _rounded([*_NEAR_CLIFF[3:8], (196, 330), (176, 300), (168, 262), (152, 240)])
    _hatch(picture, face, (2.8, -24), 0.05)
    _contour(picture, _NEAR_CLIFF[:8], 1.8)
    brow = np.asarray(_NEAR_CLIFF[:5])
    chance = np.random.default_rng(43)
    for _ in range(80):
        x = chance.uniform(22, 176)
        y = float(np.interp(x, brow[:, 0], brow[:, 1])) + 2
        tip = x + 2 + 2 * chance.normal(), y - chance.uniform(3, 9)
        limb(picture, (x, y), tip, (1.4, 0.5), 0.1)
    stander(picture, (112, 206), 1, Dress(height=104, tone=0.07, skirt=True))
    limb(picture, (116, 123), (137, 120), (7.5, 5.4), 0.07)
    limb(picture, (137, 120), (157, 113), (5.2, 3.4), 0.07)
    limb(picture, (157, 113), (163, 111), (3, 1.4), 0.07)


def _rounded(path: list[Point]) -> list[Point]:
    """The path with its corners cut twice, each time at a quarter of the way."""
    for _ in range(2):
        cut = [
            (a[0] + part * (b[0] - a[0]), a[1] + part * (b[1] - a[1]))
            for a, b in pairwise(path)
            for part in (0.25, 0.75)
        ]
        path = [path[0], *cut, path[-1]]
    return path


def _ring(path: list[Point]) -> list[Point]:
    """A closed path with its corners cut, that at its start too."""
    (x0, y0), (x1, y1) = path[-1], path[0]
    middle = (x0 + x1) / 2, (y0 + y1) / 2
    return _rounded([middle, *path, middle])


def _hatch(picture: Picture, outline: list[Point], rule: tuple[float, float], tone: float) -> None:
    """Shade a shape with pen lines: how far apart, and how steep in degrees."""
    gap, slope = rule[0], radians(rule[1])
    columns, rows = grid(_PIXELS)
    across = (columns - outline[0][0]) * sin(slope) - (rows - outline[0][1]) * cos(slope)
    off = np.abs(across % gap - gap / 2)  # from the middle of the nearest line
    lines = smooth(0.6, 0.1, off)
    fill(picture, outline, picture + lines * (tone - picture))


def _contour(picture: Picture, path: list[Point], breadth: float) -> None:
    """A contour in ink, whose line trembles as a hand does."""
    chance = np.random.default_rng([int(x) for x, _ in path])
    for start, stop in pairwise(path):
        x, y = ((a + b) / 2 + 0.6 * chance.normal() for a, b in zip(start, stop, strict=True))
        stroke(picture, [start, (x, y), stop], breadth, breadth * 0.5, _INK)
