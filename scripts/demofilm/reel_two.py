"""The scenes of the second reel: the night, the light and the morning after.

Each takes the frame of its shot.
"""

from functools import cache
from math import cos, exp, pi, sin, tau

import numpy as np

from demofilm import motion
from demofilm.figures import Dress, boat, gull, lantern, sailing_ship, stander, walker
from demofilm.raster import Picture, Point, blank, disc, fill, glow, grid, limb, smooth, trace
from demofilm.scenery import beam, clouded, lighthouse, ridge, sea, sky, stars

__all__ = ["beam_at_night", "cliff_path", "dawn", "lamp_room", "rowing"]


def rowing(frame: int) -> Picture:
    """The mate rows ashore under the moon; the camera is cranked faster and faster."""
    seconds = float(motion.CRANK.elapsed(frame))
    horizon, moon = 262, (462.0, 112.0)
    picture = sky(0.1, 0.3, horizon)
    stars(picture, 71, horizon, 70)
    glow(picture, moon, 260, 0.42)
    clouded(picture, 83, horizon, 0.2, 0.45)
    disc(picture, moon, 27, 0.93)
    disc(picture, (moon[0] - 8, moon[1] - 5), 5, 0.84)
    disc(picture, (moon[0] + 9, moon[1] + 8), 7, 0.86)
    sea(picture, horizon, seconds, (0.22, 0.08), (moon[0], 44, 0.62))
    sailing_ship(picture, (196, horizon + 9 + 0.6 * sin(seconds * 2)), 128, 0.07, 0.17)
    blade = motion.ROWING.blade(seconds)
    x = 110 + motion.ROWING.metres_a_second * _PIXELS_TO_THE_METRE * seconds
    x += 4 * motion.ROWING.surge(seconds)
    boat(picture, (x, 372 + 2 * sin(seconds * 2.4)), 92, blade, 0.035)
    for ring in range(3):
        trail = x - 66 - ring * 34
        limb(picture, (trail - 26, 377 + 2 * ring), (trail, 376 + 2 * ring), (1.2, 2.4), 0.34)
    return picture


_PIXELS_TO_THE_METRE = 46.0
_FLAME = ((-0.7, 0), (-1, 0.3), (-0.4, 0.7), (0, 1), (0.4, 0.7), (1, 0.3), (0.7, 0))


def lamp_room(frame: int) -> Picture:
    """Wenna puts a taper to the lamp; it catches and floods the glass."""
    caught = max(frame - 12, 0)
    burning = 1 - exp(-caught / 7) if caught else 0.0
    burning *= 1 + 0.05 * sin(frame * 2.1)
    picture = _lantern_glass().copy()
    lamp = 392.0, 236.0
    if burning:
        glow(picture, lamp, 560, 0.62 * burning)
    _lens(picture, lamp, burning)
    if burning:
        glow(picture, lamp, 150, 0.9 * burning)
        flame = [(lamp[0] + 9 * u, lamp[1] + 14 - v * (40 + 4 * sin(frame * 1.7)))
                 for u, v in _FLAME]  # fmt: skip
        fill(picture, flame, 1.0, min(burning * 1.4, 1))
    reach = min(frame / 10, 1.0, max((30 - frame) / 10, 0.0))
    _wenna(picture, (1 - cos(pi * reach)) / 2, frame)
    return picture


@cache
def _lantern_glass() -> Picture:
    """The lantern room: night outside its panes, a floor, a rail."""
    picture = sky(0.1, 0.27, 360)
    stars(picture, 91, 330, 34)
    sea(picture, 322, 0.4, (0.2, 0.12), (120, 60, 0.16))
    for x in (20, 148, 276, 508, 628):
        trace(picture, [(x, -2), (x, 402)], 7, 0.04)
    for y in (96, 300):
        trace(picture, [(-2, y), (642, y)], 4, 0.045)
    fill(picture, [(-2, 392), (642, 392), (642, 482), (-2, 482)], 0.07)
    trace(picture, [(-2, 392), (642, 392)], 5, 0.12)
    return picture


def _lens(picture: Picture, lamp: tuple[float, float], burning: float) -> None:
    """A great lens: a barrel of glass rings on an iron stand."""
    x, y = lamp
    fill(picture, [(x - 34, 480), (x - 24, 352), (x + 24, 352), (x + 34, 480)], 0.045)
    fill(picture, [(x - 84, 352), (x - 96, 340), (x + 96, 340), (x + 84, 352)], 0.06)
    glass = 0.2 + 0.42 * burning
    for ring in range(-8, 9):
        v = ring / 8.6
        half = 92 * (1 - v * v) ** 0.5
        row = y + 12 * ring
        bow = [(x + half * u, row + 3.5 * (1 - u * u) * (1 if ring >= 0 else -1))
               for u in np.linspace(-1, 1, 13)]  # fmt: skip
        trace(picture, bow, 2.6, glass + 0.1 * (1 - abs(v)))
        trace(picture, [(px, py + 4) for px, py in bow], 1.6, 0.08 + 0.1 * burning)
    for side in (-1, 1):
        rib = [(x + side * 96 * (1 - (k / 9) ** 2) ** 0.5, y + 12 * k) for k in range(-8, 9)]
        trace(picture, rib, 4, 0.05)
    fill(
        picture, [(x - 30, y - 100), (x + 30, y - 100), (x + 12, y - 122), (x - 12, y - 122)], 0.05
    )
    fill(picture, [(x - 11, 352), (x - 11, y + 18), (x + 11, y + 18), (x + 11, 352)], 0.07)


def _wenna(picture: Picture, reach: float, frame: int) -> None:
    """Wenna in profile with the taper; `reach` brings her hand from her side to the lamp."""
    dress = Dress(height=330, tone=0.04, skirt=True)
    stander(picture, (196, 474), 1, dress)
    shoulder = 203.0, 202.0
    elbow = 236 + 30 * reach, 262 - 34 * reach
    hand = 276 + 48 * reach, 258 - 12 * reach
    limb(picture, shoulder, elbow, (30, 22), 0.04)
    limb(picture, elbow, hand, (21, 15), 0.04)
    tip = hand[0] + 54, hand[1] - 8
    trace(picture, [hand, tip], 2.4, 0.3)
    flicker = 0.8 + 0.1 * sin(frame * 1.3)
    glow(picture, (tip[0] + 3, tip[1] - 6), 62, 0.55 * flicker)
    limb(picture, tip, (tip[0] + 2, tip[1] - 11), (6, 2), 0.98)


def beam_at_night(frame: int) -> Picture:
    """The light turns over the sea: one turn of its two beams in a known number of frames."""
    horizon, seconds = 330, frame / motion.LIGHT.taken_at
    turn = motion.LIGHT.turns(frame)
    picture = sky(0.07, 0.2, horizon)
    stars(picture, 101, horizon, 110)
    clouded(picture, 107, horizon, 0.17, 0.42)
    sea(picture, horizon, seconds, (0.14, 0.06), (214, 40, 0.16 + 0.3 * _facing(turn)))
    sailing_ship(picture, (548 - frame * 0.3, 334), 52, 0.04, 0.1)
    ridge(picture, _ISLET, 0.035, 2.0, 354)
    lamp = lighthouse(picture, (214, 320), 252, (0.2, 0.08), 0.85)
    beam(picture, lamp, turn, 0.75)
    return picture


_ISLET: list[Point] = [
    (36, 352), (84, 340), (128, 326), (170, 319), (262, 318), (300, 330), (336, 344), (352, 354),
]  # fmt: skip


def _facing(turn: float) -> float:
    """How squarely one of the two beams looks at the camera, 0 to 1."""
    return abs(cos(tau * turn)) ** 6


def cliff_path(frame: int) -> Picture:
    """Wenna hurries home along the cliff, her father's lantern in her hand."""
    horizon, path = 344, 402
    picture = sky(0.16, 0.42, horizon)
    stars(picture, 113, 220, 40)
    glow(picture, (150, 150), 330, 0.4)
    clouded(picture, 127, horizon, 0.24, 0.56)
    disc(picture, (150, 150), 34, 0.9)
    sea(picture, horizon, frame / 22, (0.3, 0.12), (150, 50, 0.35))
    ridge(picture, [(-2, 328), (60, 330), (110, 334), (140, 341), (158, 348)], 0.1, 0.8, 348)
    lamp = lighthouse(picture, (92, 333), 104, (0.26, 0.1), 0.8)
    beam(picture, lamp, motion.LIGHT.turns(frame), 0.5)
    ridge(
        picture,
        [(-2, path + 3), (160, path), (320, path + 1), (480, path), (642, path + 2)],
        0.05,
        1.3,
    )
    _fence(picture, path)
    steps = float(motion.WENNA.steps(frame))
    dress = Dress(height=160, tone=0.03, skirt=True, lantern=True)
    hand = walker(picture, steps, (556, path + 3), -1, dress)
    lantern(picture, hand, 12, 0.85 + 0.06 * sin(frame * 1.1))
    chance = np.random.default_rng(131)
    for _ in range(46):
        x, tall = chance.uniform(0, 640), chance.uniform(10, 34)
        limb(picture, (x, 484), (x + chance.normal(0, 7), 452 - tall), (5, 1), 0.03)
    return picture


def _fence(picture: Picture, path: float) -> None:
    for post in range(7):
        x = 24 + 104 * post
        limb(picture, (x, path + 4), (x + 3 * sin(post * 2.0), path - 40), (5, 4), 0.07)
    for rail in (14, 30):
        line = [
            (24 + 104 * post, path - rail + 2 * sin(post * 1.7 + rail)) for post in range(-1, 8)
        ]
        trace(picture, line, 2.2, 0.075)


def dawn(frame: int) -> Picture:
    """Morning: the ship comes in, two figures watch from the quay, and the iris closes."""
    horizon = 286
    picture = sky(0.42, 0.82, horizon)
    glow(picture, (420, 276), 380, 0.75)
    clouded(picture, 137, horizon, 0.5, 0.46)
    disc(picture, (420, 272), 26, 0.99)
    sea(picture, horizon, frame / 22, (0.62, 0.3), (420, 52, 0.4))
    sailing_ship(picture, (486 - frame * 0.9, 330), 190, 0.16, 0.36)
    ridge(picture, [(-2, 258), (50, 262), (110, 272), (150, 287)], 0.4, 0.8, 290)
    lighthouse(picture, (66, 262), 120, (0.62, 0.3), 0)
    fill(picture, [(-2, 402), (330, 402), (346, 412), (346, 482), (-2, 482)], 0.11)
    trace(picture, [(-2, 404), (334, 404)], 4, 0.2)
    fill(picture, [(298, 402), (300, 376), (294, 370), (322, 370), (316, 376), (318, 402)], 0.09)
    stander(picture, (150, 404), 1, Dress(height=150, tone=0.07))
    stander(picture, (206, 404), 1, Dress(height=136, tone=0.09, skirt=True))
    _wave(picture, frame)
    for number, (x, y, span) in enumerate(
        ((250, 120, 40), (310, 92, 30), (204, 84, 26), (366, 140, 22))
    ):
        gull(
            picture,
            (x + frame * 1.4, y - frame * 0.3),
            span,
            frame / (10 + number) + number * 0.3,
            0.2,
        )
    return _iris(picture, frame - 21)


def _wave(picture: Picture, frame: int) -> None:
    """Wenna waves."""
    turn = 0.5 * sin(tau * frame / 16)
    elbow = 226.0, 284.0
    limb(picture, (210, 294), elbow, (10, 8), 0.09)
    limb(picture, elbow, (elbow[0] + 22 * sin(turn), elbow[1] - 22 * cos(turn)), (7, 5), 0.09)


def _iris(picture: Picture, frame: int) -> Picture:
    if frame < 0:
        return picture
    columns, rows = grid()
    radius = max(430 * (1 + cos(pi * min(frame / 20, 1))) / 2, 1)
    away = np.hypot(columns - 190, rows - 330).astype(np.float32)
    return (blank(0.0) + picture * smooth(radius, radius * 0.86 - 2, away)).astype(np.float32)
