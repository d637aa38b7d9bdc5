"""The scenes of the first reel: dusk at Skarrow Point. Each takes the frame of its shot."""

from functools import cache
from math import cos, pi, radians, sin

import numpy as np

from demofilm import motion
from demofilm.figures import Dress, gull, lantern, sailing_ship, stander, walker
from demofilm.lettering import letter
from demofilm.raster import (
    Picture,
    Point,
    disc,
    fill,
    glow,
    grid,
    limb,
    smooth,
    soft_noise,
    trace,
)
from demofilm.scenery import clouded, lighthouse, ridge, sea, sky

__all__ = ["clock", "dusk", "fall", "sea_wall"]


_CLIFF: list[Point] = [
    (268, 462), (290, 420), (312, 388), (322, 350), (346, 322), (392, 296), (455, 262), (520, 248),
    (600, 244), (642, 232),
]  # fmt: skip


def dusk(frame: int) -> Picture:
    """The headland at dusk: the lighthouse dark, a ship far out, gulls."""
    horizon = 300
    picture = sky(0.36, 0.74, horizon)
    glow(picture, (170, 292), 330, 0.62)
    clouded(picture, 11, horizon, 0.34, 0.5)
    disc(picture, (170, 281), 19, 0.95)
    sea(picture, horizon, frame / 20, (0.5, 0.16), (170, 46, 0.42))
    sailing_ship(picture, (268 - frame * 0.35, 303), 46, 0.2, 0.3)
    ridge(picture, _CLIFF, 0.12, 1.6)
    lighthouse(picture, (548, 250), 168, (0.5, 0.13), 0)
    fill(picture, [(430, 276), (430, 252), (448, 238), (468, 252), (468, 276)], 0.1)
    fill(picture, [(456, 241), (456, 232), (461, 232), (461, 246)], 0.1)
    fill(picture, [(438, 258), (446, 258), (446, 266), (438, 266)], 0.62)
    ridge(
        picture,
        [(-2, 452), (90, 440), (210, 458), (330, 449), (470, 420), (642, 372)],
        0.06,
        2.2,
    )
    for number, (x, y, span) in enumerate(((300, 150, 30), (345, 128, 24), (262, 184, 20))):
        beat = frame / (9 + number) + number * 0.37
        gull(picture, (x - frame * (1.1 + 0.2 * number), y - frame * 0.25), span, beat, 0.12)
    return picture


def sea_wall(frame: int) -> Picture:
    """Abel Quorn walks the sea wall with his lantern."""
    horizon, wall = 318, 392
    picture = sky(0.32, 0.68, horizon)
    glow(picture, (70, 322), 430, 0.4)
    clouded(picture, 23, horizon, 0.3, 0.52)
    sea(picture, horizon, frame / 20, (0.4, 0.17), (80, 60, 0.22))
    ridge(picture, [(486, 323), (512, 312), (540, 304), (590, 298), (642, 290)], 0.2, 0.8, 323)
    lighthouse(picture, (604, 298), 82, (0.4, 0.2), 0)
    _, rows = grid()
    stone = 0.115 + 0.06 * smooth(wall + 14, wall, rows)
    fill(picture, [(-2, wall), (642, wall), (642, 482), (-2, 482)], stone.astype(np.float32))
    for course in range(3):
        y = wall + 22 + course * 25
        trace(picture, [(-2, y), (642, y)], 1.4, 0.06)
        for joint in range(-1, 10):
            x = joint * 74 + 37 * (course % 2)
            trace(picture, [(x, y - 24), (x, y)], 1.2, 0.065)
    for post in range(4):
        x = 56 + 178 * post
        fill(picture, [(x - 8, wall), (x - 6, wall - 25), (x - 10, wall - 31), (x + 10, wall - 31),
                       (x + 6, wall - 25), (x + 8, wall)], 0.09)  # fmt: skip
        chain = [(x + 178 * i / 12, wall - 26 + 16 * sin(pi * i / 12)) for i in range(13)]
        trace(picture, chain, 1.8, 0.1)
    steps = float(motion.ABEL.steps(frame))
    dress = Dress(height=172, tone=0.055, lantern=True)
    hand = walker(picture, steps, (82, wall + 3), 1, dress)
    lantern(picture, hand, 13, 0.9 + 0.06 * sin(frame * 0.9))
    return picture


def clock(frame: int) -> Picture:
    """The long-case clock: dial, weights and a seconds pendulum behind its glass."""
    picture = _parlour().copy()
    pivot, length = (300.0, 176.0), 216.0
    angle = radians(motion.PENDULUM.angle(frame))
    bob = pivot[0] + length * sin(angle), pivot[1] + length * cos(angle)
    rod_top = pivot[0] + 53 * sin(angle), pivot[1] + 53 * cos(angle)
    trace(picture, [rod_top, bob], 3, 0.5)
    columns, rows = grid()
    brass = 0.88 - 0.5 * smooth(4, 36, np.hypot(columns - bob[0] + 10, rows - bob[1] + 10))
    disc(picture, bob, 27, 0.2)
    disc(picture, bob, 25, brass.astype(np.float32))
    tail = bob[0] + 26 * sin(angle), bob[1] + 26 * cos(angle)
    limb(picture, tail, (tail[0] + 12 * sin(angle), tail[1] + 12 * cos(angle)), (4, 2), 0.45)
    return picture


@cache
def _parlour() -> Picture:
    columns, _ = grid()
    wall = 0.36 + 0.035 * smooth(0.2, 0.8, np.cos(columns * 2 * pi / 40).astype(np.float32))
    picture = (wall * (1 - 0.0009 * columns)).astype(np.float32)
    _window(picture)
    for half, top, low, tone in ((106, 8, 196, 0.1), (84, 178, 482, 0.09)):
        side = tone + 0.07 * smooth(40, -half, columns - 300)
        fill(picture, [(300 - half, top), (300 + half, top), (300 + half, low), (300 - half, low)],
             side.astype(np.float32))  # fmt: skip
    fill(picture, [(178, 16), (200, -4), (400, -4), (422, 16)], 0.2)
    fill(picture, [(184, 196), (416, 196), (398, 210), (202, 210)], 0.19)
    _dial(picture)
    fill(picture, [(236, 222), (364, 222), (364, 482), (236, 482)], 0.24)
    fill(picture, [(241, 227), (359, 227), (359, 482), (241, 482)], 0.045)
    for x, low in ((262, 330), (338, 296)):
        trace(picture, [(x, 227), (x, low)], 1.2, 0.3)
        fill(picture, [(x - 9, low), (x + 9, low), (x + 9, low + 62), (x - 9, low + 62)],
             (0.34 - 0.16 * smooth(-8, 9, columns - x)).astype(np.float32))  # fmt: skip
    fill(picture, [(243, 229), (262, 229), (243, 300)], 0.16, 0.6)
    return picture


def _window(picture: Picture) -> None:
    """A window with the last light, and what it throws on the wall."""
    fill(picture, [(474, 64), (600, 64), (600, 300), (474, 300)], 0.1)
    view = sky(0.42, 0.74, 250)
    glow(view, (520, 240), 120, 0.5)
    for x in (482, 542):
        for y in (72, 150, 228):
            fill(picture, [(x, y), (x + 52, y), (x + 52, y + 70), (x, y + 70)], view)
    fill(picture, [(466, 300), (608, 300), (614, 311), (460, 311)], 0.3)
    fill(picture, [(0, 120), (118, 160), (118, 420), (0, 440)], 0.5, 0.22)
    fill(picture, [(56, 130), (64, 130), (64, 450), (56, 450)], 0.17, 0.5)
    fill(picture, [(0, 268), (118, 282), (118, 290), (0, 278)], 0.17, 0.5)


def _dial(picture: Picture) -> None:
    centre = (300.0, 104.0)
    disc(picture, centre, 82, 0.28)
    disc(picture, centre, 77, 0.72)
    disc(picture, centre, 74, 0.66)
    for hour in range(12):
        angle = radians(hour * 30)
        x, y = centre[0] + 60 * sin(angle), centre[1] - 60 * cos(angle)
        letter(picture, _HOURS[hour], (x, y + 6), 12, 0.06)
    for minute in range(60):
        angle = radians(minute * 6)
        disc(picture, (centre[0] + 71 * sin(angle), centre[1] - 71 * cos(angle)), 0.9, 0.1)
    for angle, reach, width in ((radians(266), 36, 5), (radians(318), 52, 4)):
        tip = centre[0] + reach * sin(angle), centre[1] - reach * cos(angle)
        limb(picture, centre, tip, (width, 1.5), 0.04)
    disc(picture, centre, 5, 0.04)


_HOURS = ("XII", "I", "II", "III", "IIII", "V", "VI", "VII", "VIII", "IX", "X", "XI")

_SCALE = 68.0  # pixels to the metre in the yard
_GROUND = 424.0


def fall(frame: int) -> Picture:
    """The oil can slips from the hoist of the store and falls to the yard."""
    horizon = 330
    picture = sky(0.34, 0.7, horizon)
    glow(picture, (90, 330), 380, 0.4)
    clouded(picture, 47, horizon, 0.3, 0.5)
    sea(picture, horizon, frame / 20, (0.42, 0.2), (90, 60, 0.2))
    ridge(picture, [(-2, 320), (60, 322), (118, 327), (150, 334), (176, 342)], 0.17, 0.8, 342)
    lighthouse(picture, (66, 324), 150, (0.46, 0.18), 0)
    fill(picture, [(-2, _GROUND - 6), (642, _GROUND - 6), (642, 482), (-2, 482)], 0.13)
    _store(picture)
    _startle(picture, frame)
    dropped = motion.FALL.dropped(frame)
    landed = frame - motion.FALL.let_go - motion.FALL.frames
    hook = 330.0, _GROUND - motion.FALL.metres * _SCALE - 22
    sway = 4 * sin(max(frame - motion.FALL.let_go, 0) * 0.5)
    trace(picture, [(hook[0], hook[1] - 36), (hook[0] + sway, hook[1] - 6)], 1.6, 0.05)
    if landed > 0:
        spread = 62 * (1 - 2.7 ** (-landed / 4))
        pool = [(330 + spread * 1.3 * cos(a), _GROUND + 7 + spread * 0.13 * sin(a))
                for a in np.linspace(0, 2 * pi, 25)[:-1]]  # fmt: skip
        fill(picture, pool, 0.035)
        _splash(picture, landed)
    _can(picture, (330.0, _GROUND - (motion.FALL.metres - dropped) * _SCALE), landed)
    return picture


def _startle(picture: Picture, frame: int) -> None:
    """The keeper's arm: stretched to the hook, thrown up once the can has slipped."""
    up = min(max(frame - motion.FALL.let_go - 3, 0) / 5, 1)
    elbow = 396 - 2 * up, 110 - 22 * up
    limb(picture, (421, 112), elbow, (9, 7), 0.2)
    limb(picture, elbow, (374 + 12 * up, 96 - 34 * up), (7, 5), 0.2)


def _can(picture: Picture, foot: tuple[float, float], landed: float) -> None:
    """An oil can standing on `foot`, or lying on its side once it has struck."""
    x, y = foot
    tip = min(max(landed, 0) / 3, 1) * 1.45
    hop = 9 * abs(sin(landed * 0.75)) * 2.7 ** (-landed / 3) if landed > 0 else 0.0

    def to(u: float, v: float) -> tuple[float, float]:
        return x + u * cos(tip) + v * sin(tip), y - hop + u * sin(tip) - v * cos(tip)

    body = [to(-11, 0), to(11, 0), to(11, 24), to(4, 31), to(-4, 31), to(-11, 24)]
    fill(picture, body, 0.07)
    limb(picture, to(-6, 4), to(-6, 22), (3, 3), 0.42)
    trace(picture, [to(4, 30), to(15, 36)], 2.6, 0.07)
    trace(picture, [to(-6, 30), to(0, 38), to(6, 30)], 1.5, 0.07)


def _splash(picture: Picture, landed: float) -> None:
    for drop in range(9):
        seconds = landed / motion.FALL.taken_at
        push = (drop - 4) * 46 * (1 + 0.15 * (drop % 3))
        rise = 150 + 50 * ((drop * 7) % 4)
        y = rise * seconds - motion.GRAVITY / 2 * _SCALE * seconds**2
        if y > 0:
            disc(picture, (330 + push * seconds, _GROUND - y), 2.6, 0.04)


def _store(picture: Picture) -> None:
    """The gable of the oil store with loft door, hoist and the keeper aghast."""
    columns, _ = grid()
    plaster = 0.36 + 0.05 * soft_noise(61, 7, 7) - 0.0004 * (columns - 350)
    gable = [(352, _GROUND), (352, 130), (498, 12), (642, 120), (642, _GROUND)]
    fill(picture, gable, plaster.astype(np.float32))
    for x0, y0, x1, y1 in ((338, 142, 498, 8), (498, 8, 652, 126)):
        limb(picture, (x0, y0), (x1, y1), (13, 13), 0.1)
    limb(picture, (316, 47), (470, 47), (8, 8), 0.07)
    disc(picture, (330, 55), 6, 0.07)
    fill(picture, [(404, 82), (468, 82), (468, 190), (404, 190)], 0.05)
    fill(picture, [(396, 188), (476, 188), (476, 196), (396, 196)], 0.1)
    stander(picture, (428, 190), -1, Dress(height=98, tone=0.2))
    fill(picture, [(520, _GROUND), (520, _GROUND - 2.0 * _SCALE), (588, _GROUND - 2.0 * _SCALE),
                   (588, _GROUND)], 0.09)  # fmt: skip
    trace(picture, [(554, _GROUND), (554, _GROUND - 2.0 * _SCALE)], 1.2, 0.16)
    fill(picture, [(512, _GROUND - 2.0 * _SCALE - 8), (596, _GROUND - 2.0 * _SCALE - 8),
                   (596, _GROUND - 2.0 * _SCALE), (512, _GROUND - 2.0 * _SCALE)], 0.24)  # fmt: skip
