"""People, boats and birds, mostly as silhouettes."""

from collections.abc import Callable
from dataclasses import dataclass
from math import acos, atan2, cos, hypot, pi, sin, tau
from typing import TypeAlias

from demofilm.raster import Picture, Point, disc, fill, glow, limb, trace

__all__ = ["Dress", "Gait", "boat", "gait", "gull", "lantern", "sailing_ship", "stander", "walker"]


_Place: TypeAlias = Callable[[Point], Point]  # from heights of the figure to pixels
_Bar: TypeAlias = Callable[[Point, Point, float, float, float], None]


@dataclass(frozen=True, slots=True, kw_only=True)
class Dress:
    """How a figure is built, clothed and lit."""

    height: float  # pixels
    tone: float
    skirt: bool = False
    lantern: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Gait:
    """A walker's joints in heights of the figure, x ahead of the start, y above the ground."""

    hip: Point
    knees: tuple[Point, Point]
    ankles: tuple[Point, Point]
    swing: float  # of the arms: 1 is the near arm far ahead


_OAR = 0.3
_STEP = 0.36  # step over height
_THIGH, _SHIN = 0.25, 0.245
_KNEE_HIGH = 0.26


def gait(steps: float) -> Gait:
    """The pose after so many steps; poses two whole steps apart are the same, moved on."""
    whole = int(steps // 1)
    part = steps - whole
    hip_x = (steps + 0.5) * _STEP
    hip_y = 0.478 + 0.014 * (1 - cos(tau * part)) / 2
    eased = part - sin(tau * part) / tau
    planted = ((whole + 1) * _STEP, 0.035)
    moving = ((whole + 2 * eased) * _STEP, 0.035 + 0.075 * sin(pi * part) ** 1.5)
    ankles = (planted, moving) if whole % 2 == 0 else (moving, planted)
    hip = (hip_x, hip_y)
    return Gait(
        hip=hip,
        knees=(_knee(hip, ankles[0]), _knee(hip, ankles[1])),
        ankles=ankles,
        swing=cos(pi * steps),
    )


def _knee(hip: Point, ankle: Point) -> Point:
    reach = min(hypot(ankle[0] - hip[0], ankle[1] - hip[1]), _THIGH + _SHIN - 0.002)
    bend = acos((_THIGH**2 + reach**2 - _SHIN**2) / (2 * _THIGH * reach))
    down = atan2(ankle[1] - hip[1], ankle[0] - hip[0]) + bend
    return hip[0] + _THIGH * cos(down), hip[1] + _THIGH * sin(down)


def walker(picture: Picture, steps: float, start: Point, ahead: int, dress: Dress) -> Point:
    """A figure walking; `start` is its first footfall, `ahead` 1 to the right, -1 to the left.

    Returns where the hand is that may hold a lantern.
    """
    pose = gait(steps)
    tone, height = dress.tone, dress.height

    def at(point: Point) -> Point:
        return start[0] + ahead * point[0] * height, start[1] - point[1] * height

    def bar(a: Point, b: Point, w0: float, w1: float, shade: float) -> None:
        limb(picture, at(a), at(b), (w0 * height, w1 * height), shade)

    hip_x, hip_y = pose.hip
    shoulder = (hip_x + 0.025, hip_y + 0.335)
    far = tone * 0.75
    for leg, shade in ((1, far), (0, tone)):
        knee, ankle = pose.knees[leg], pose.ankles[leg]
        bar(pose.hip, knee, 0.085, 0.062, shade)
        bar(knee, ankle, 0.058, 0.042, shade)
        bar(
            (ankle[0] - 0.02, ankle[1] - 0.012),
            (ankle[0] + 0.075, ankle[1] - 0.018),
            0.04,
            0.03,
            shade,
        )
    far_hand = _arm(bar, shoulder, -0.55 * pose.swing, far)
    _coat(picture, at, pose, shoulder, dress)
    bar((hip_x + 0.03, hip_y + 0.34), (hip_x + 0.04, hip_y + 0.42), 0.055, 0.05, tone)
    _head(picture, at, (hip_x + 0.045, hip_y + 0.445), dress)
    near_swing = 0.2 if dress.lantern else 0.55
    hand = _arm(bar, shoulder, near_swing * pose.swing, tone * 1.25)
    return at(hand if dress.lantern else far_hand)


def _arm(bar: _Bar, shoulder: Point, swing: float, shade: float) -> Point:
    elbow = (shoulder[0] + 0.15 * sin(swing) - 0.01, shoulder[1] - 0.16 * cos(swing))
    hand = (elbow[0] + 0.14 * sin(swing + 0.3), elbow[1] - 0.14 * cos(swing + 0.3))
    bar(shoulder, elbow, 0.07, 0.055, shade)
    bar(elbow, hand, 0.052, 0.04, shade)
    return hand


def _coat(picture: Picture, at: _Place, pose: Gait, shoulder: Point, dress: Dress) -> None:
    hip_x, hip_y = pose.hip
    low = 0.09 if dress.skirt else hip_y - 0.19
    knees, ankles = ([joint[0] for joint in pair] for pair in (pose.knees, pose.ankles))
    lowest = [*ankles, *(x - 0.03 for x in knees)] if dress.skirt else knees
    hem_back, hem_front = min(*lowest, hip_x - 0.08) - 0.03, max(*lowest, hip_x + 0.06) + 0.05
    front = max((hip_x + hem_front) / 2 + 0.05, max(knees) + 0.035)
    back = min((hip_x + hem_back) / 2 - 0.05, min(knees) - 0.035)
    waist = 0.062 if dress.skirt else 0.085
    outline = [
        (shoulder[0] + 0.06, shoulder[1] + 0.03),
        (shoulder[0] + 0.075, shoulder[1] - 0.09),
        (hip_x + 0.02 + waist, hip_y + 0.12),
        (hip_x + waist + 0.02, hip_y),
        *([(front, _KNEE_HIGH)] if dress.skirt else []),
        (hem_front, low),
        ((hem_front + hem_back) / 2, low - 0.012),
        (hem_back, low),
        *([(back, _KNEE_HIGH)] if dress.skirt else []),
        (hip_x - waist - 0.015, hip_y),
        (hip_x + 0.01 - waist, hip_y + 0.12),
        (shoulder[0] - 0.085, shoulder[1] - 0.07),
        (shoulder[0] - 0.06, shoulder[1] + 0.03),
        (shoulder[0], shoulder[1] + 0.055),
    ]
    fill(picture, [at(point) for point in outline], dress.tone)


def _head(picture: Picture, at: _Place, centre: Point, dress: Dress) -> None:
    x, y = centre
    disc(picture, at(centre), 0.052 * dress.height, dress.tone)
    fill(picture, [at((x + 0.04, y + 0.015)), at((x + 0.068, y - 0.014)), at((x + 0.03, y - 0.03))],
         dress.tone)  # fmt: skip
    if dress.skirt:
        shawl = [(x + 0.03, y + 0.062), (x - 0.045, y + 0.05), (x - 0.075, y - 0.02),
                 (x - 0.105, y - 0.15), (x + 0.02, y - 0.12), (x + 0.0, y - 0.03)]  # fmt: skip
        fill(picture, [at(point) for point in shawl], dress.tone)
        return
    hat = [(x + 0.085, y + 0.018), (x + 0.045, y + 0.03), (x + 0.035, y + 0.072),
           (x - 0.03, y + 0.075), (x - 0.055, y + 0.03), (x - 0.11, y - 0.03),
           (x - 0.05, y + 0.002)]  # fmt: skip
    fill(picture, [at(point) for point in hat], dress.tone)
    fill(picture, [at((x + 0.02, y - 0.025)), at((x + 0.05, y - 0.085)), at((x - 0.02, y - 0.06))],
         dress.tone)  # fmt: skip


def stander(picture: Picture, foot: Point, ahead: int, dress: Dress) -> None:
    """A figure at rest."""
    x, y = foot
    height = dress.height

    def at(point: Point) -> Point:
        return x + ahead * point[0] * height, y - point[1] * height

    pose = Gait(hip=(0, 0.49), knees=((-0.03, 0.26), (0.03, 0.26)),
                ankles=((-0.04, 0.03), (0.03, 0.03)), swing=0)  # fmt: skip
    for side in (-0.04, 0.03):
        limb(picture, at((side, 0.5)), at((side, 0.03)), (0.08 * height, 0.05 * height), dress.tone)
        limb(picture, at((side, 0.02)), at((side + 0.06, 0.018)), (0.04 * height,) * 2, dress.tone)
    _coat(picture, at, pose, (0.0, 0.825), dress)
    limb(picture, at((0.01, 0.83)), at((0.01, 0.9)), (0.055 * height,) * 2, dress.tone)
    _head(picture, at, (0.015, 0.93), dress)


def lantern(picture: Picture, hand: Point, size: float, strength: float) -> None:
    """A storm lantern hanging from a hand, and its light."""
    x, y = hand
    glow(picture, (x, y + size), size * 9, 0.34 * strength)
    trace(picture, [(x, y), (x, y + size * 0.5)], 1.2, 0.05)
    case = [(-0.42, 0.45), (0.42, 0.45), (0.5, 1.6), (-0.5, 1.6)]
    fill(picture, [(x + size * u, y + size * v) for u, v in case], 0.05)
    glow(picture, (x, y + size), size * 1.7, strength)
    disc(picture, (x, y + size * 1.02), size * 0.36, 0.98)


def gull(picture: Picture, at: Point, span: float, beat: float, tone: float) -> None:
    """A gull; `beat` turns once for each stroke of its wings."""
    x, y = at
    lift = 0.16 + 0.22 * sin(tau * beat)
    for side in (-1, 1):
        wrist = x + side * span * 0.24, y - span * (0.12 + lift * 0.5)
        tip = x + side * span * 0.52, y - span * (lift * 0.7 - 0.06)
        limb(picture, (x, y), wrist, (span * 0.085, span * 0.07), tone)
        limb(picture, wrist, tip, (span * 0.07, span * 0.015), tone)
    limb(picture, (x - span * 0.05, y), (x + span * 0.07, y), (span * 0.08, span * 0.05), tone)


def sailing_ship(picture: Picture, water: Point, size: float, tone: float, sail: float) -> None:
    """A two-masted vessel under sail, seen from the side, bound left."""
    x, y = water
    hull = [(-0.52, -0.12), (-0.4, -0.075), (0.36, -0.075), (0.42, -0.12), (0.36, 0), (-0.38, 0)]
    fill(picture, [(x + u * size, y + v * size) for u, v in hull], tone)
    trace(
        picture, [(x - 0.45 * size, y - 0.09 * size), (x - 0.68 * size, y - 0.17 * size)], 1.4, tone
    )
    for mast, top in ((-0.16, 0.78), (0.2, 0.7)):
        trace(picture, [(x + mast * size, y), (x + mast * size, y - top * size)], 1.5, tone)
        gaff = [(mast + 0.015, -0.13), (mast + 0.29, -0.15), (mast + 0.2, -top + 0.1),
                (mast + 0.015, -top + 0.16)]  # fmt: skip
        fill(picture, [(x + u * size, y + v * size) for u, v in gaff], sail)
    for foot, head in ((-0.64, -0.66), (-0.44, -0.55)):
        jib = [(foot, -0.15), (-0.185, head - 0.05), (-0.19, -0.16)]
        fill(picture, [(x + u * size, y + v * size) for u, v in jib], sail * 0.86)


def boat(picture: Picture, at: Point, size: float, blade: Point, tone: float) -> None:
    """A rowing boat bound right with one man at the oars; `blade` is the oar's sweep and lift."""
    x, y = at
    sweep, lift = blade
    lean = -0.2 * sweep

    def to(u: float, v: float) -> Point:
        return x + u * size, y - v * size

    seat, neck = (-0.02, 0.16), (-0.02 + 0.3 * sin(lean), 0.16 + 0.3 * cos(lean))
    head = (neck[0] + 0.02, neck[1] + 0.08)
    limb(picture, to(*seat), to(*neck), (0.15 * size, 0.17 * size), tone)
    disc(picture, to(*head), 0.062 * size, tone)
    cap = [(-0.09, 0.03), (0.06, 0.03), (0.05, 0.08), (-0.05, 0.08)]
    fill(picture, [to(head[0] + u, head[1] + v) for u, v in cap], tone)
    limb(picture, to(-0.02, 0.14), to(-0.24, 0.2), (0.1 * size, 0.07 * size), tone)
    hull = [(-0.62, 0.2), (-0.3, 0.13), (0.3, 0.13), (0.68, 0.24), (0.55, 0.02), (0.42, -0.05),
            (-0.45, -0.05), (-0.58, 0.03)]  # fmt: skip
    fill(picture, [to(u, v) for u, v in hull], tone)
    lock = (-0.16, 0.16)
    grip = (-0.13 + 0.07 * sweep, 0.27 - 0.03 * lift)
    limb(picture, to(neck[0], neck[1] - 0.03), to(*grip), (0.06 * size, 0.04 * size), tone)
    tip = (lock[0] - 0.42 * sweep, -0.1 + 0.13 * max(lift, -0.4))
    limb(picture, to(*grip), to(*tip), (2.2, 2.2), _OAR)
    limb(picture, to(*tip), to(tip[0] - 0.1 * sweep, tip[1] - 0.04), (3, 7), _OAR)
