"""Stick figures that walk at a cadence, filmed by a crank: what the measuring is held against.

Legs and arms are two bars each, swinging by sines of the stride's phase; the far limbs may be of
another tone, so that one step looks like the next or does not. Film is worn by grain, flicker,
weave and dirt. Everything is drawn here, from seeds, and known because it was drawn so.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import cos, pi, radians, sin
from typing import TYPE_CHECKING, TypeAlias

import numpy as np
from PIL import Image, ImageDraw

from retime.light.raster import Rectangle
from retime.pace.box import Course

if TYPE_CHECKING:
    from numpy.typing import NDArray

__all__ = ["CLEAN", "WORN", "Walk", "Wear", "filmed", "planes", "walk"]

WIDTH, HEIGHT = 240, 120
_FINE = 2  # samples are drawn so much finer
_GROUND, _TALL, _STEP = 104, 70, 26  # pixels
_START = 32

_Point: TypeAlias = tuple[float, float]


@dataclass(frozen=True, slots=True, kw_only=True)
class Wear:
    """How far film is worn: deviations of white, of brightness, of pixels; specks a frame."""

    grain: float
    flicker: float
    weave: float
    dirt: float


CLEAN = Wear(grain=0.004, flicker=0, weave=0, dirt=0)
WORN = Wear(grain=0.012, flicker=0.03, weave=0.5, dirt=1.5)


@dataclass(frozen=True, slots=True, kw_only=True)
class Walk:
    """A film of a walk across the picture, and the box that goes along with it."""

    frames: NDArray[np.float32]
    frames_a_step: float
    course: Course


def walk(  # noqa: PLR0913 - what is drawn
    fps: float,
    cadence: float,
    *,
    steps: float,
    far: float,
    wear: Wear,
    seed: int,
    stays: bool = False,
) -> Walk:
    """Draw a walk of so many steps at a cadence in steps a second; ``far`` brightens far limbs."""
    chance = np.random.default_rng(seed)
    count = round(steps * fps / cadence)
    scenery = _scenery(chance)
    begin = chance.uniform(0, 2)
    each = 1 + 0.02 * chance.normal(size=int(steps) + 3)  # no walker is a clock
    ends = np.concatenate([[0.0], np.cumsum(each)])
    pictures, at = [], float(_START)
    for frame in range(count):
        taken = float(np.interp(frame * cadence / fps, ends, np.arange(len(ends))))
        at = WIDTH / 2 if stays else _START + taken * _STEP
        pictures.append(_figure(scenery, at, pi * (begin + taken), far))
    last = round(at) - _START
    course = Course(
        first=Rectangle(left=0, top=26, width=64, height=86),
        last=Rectangle(left=min(last, WIDTH - 64), top=26, width=64, height=86),
        frames=count,
    )
    if stays:
        place = Rectangle(left=WIDTH // 2 - 32, top=26, width=64, height=86)
        course = Course(first=place, last=place, frames=count)
    frames = filmed(np.stack(pictures), wear, chance)
    return Walk(frames=frames, frames_a_step=fps / cadence, course=course)


def filmed(
    pictures: NDArray[np.float32], wear: Wear, chance: np.random.Generator
) -> NDArray[np.float32]:
    """Return pictures, black 0 and white 1, as worn film shows them."""
    worn = []
    for picture in pictures:
        seen = picture
        for axis in (0, 1):
            seen = _moved(seen, float(wear.weave * chance.normal()), axis)
        seen = seen * (1 + wear.flicker * chance.normal())
        seen = seen + wear.grain * chance.normal(size=seen.shape)
        for _ in range(chance.poisson(wear.dirt)):
            row, column = (chance.integers(0, side - 2) for side in seen.shape)
            seen[row : row + 2, column : column + 2] = chance.choice([0.02, 0.9])
        worn.append(np.clip(seen, 0, 1))
    return np.stack(worn).astype(np.float32)


def planes(frames: NDArray[np.float32]) -> NDArray[np.uint16]:
    """Return frames in 16-bit codes, as a scan's luma is read."""
    return (frames * 65_535 + 0.5).astype(np.uint16)


def _moved(picture: NDArray[np.float32], by: float, axis: int) -> NDArray[np.float32]:
    whole = int(np.floor(by))
    part = np.float32(by - whole)
    near = np.roll(picture, whole, axis)
    return np.asarray(near + part * (np.roll(picture, whole + 1, axis) - near))


def _scenery(chance: np.random.Generator) -> NDArray[np.uint8]:
    """Draw a street: a sky, houses, and the ground."""
    rows = np.linspace(0.75, 0.45, HEIGHT * _FINE)[:, None]
    street = np.repeat(rows, WIDTH * _FINE, axis=1)
    street[(_GROUND - 12) * _FINE :] = 0.3
    for _ in range(10):
        left, top = chance.integers(0, WIDTH * _FINE), chance.integers(20, 70) * _FINE
        wide, tall = chance.integers(6, 40), chance.integers(10, 70)
        street[top : top + tall, left : left + wide] *= chance.uniform(0.6, 1.2)
    street += 0.02 * chance.normal(size=street.shape)
    return np.asarray(np.clip(street, 0.05, 0.95) * 255, np.uint8)


def _figure(scenery: NDArray[np.uint8], x: float, phase: float, far: float) -> NDArray[np.float32]:
    """Draw the figure at a phase of its stride, 2 pi being two steps."""
    picture = Image.fromarray(scenery)
    pen = ImageDraw.Draw(picture)
    near_tone, far_tone = round(0.12 * 255), round((0.12 + far) * 255)
    hip = x, _GROUND - (0.47 + 0.012 * cos(2 * phase)) * _TALL
    shoulder = x, hip[1] - 0.3 * _TALL

    def limb(top: _Point, upper: float, lower: float, length: float, tone: int) -> None:
        joint = top[0] + length * sin(upper), top[1] + length * cos(upper)
        end = joint[0] + length * sin(lower), joint[1] + length * cos(lower)
        points = [(_FINE * px, _FINE * py) for px, py in (top, joint, end)]
        pen.line(points, fill=tone, width=round(_FINE * 0.05 * _TALL))

    def leg(turn: float, tone: int) -> None:
        thigh = radians(24) * sin(turn)
        limb(hip, thigh, thigh - radians(8 + 45 * max(0.0, cos(turn)) ** 2), 0.235 * _TALL, tone)

    def arm(turn: float, tone: int) -> None:
        upper = radians(20) * sin(turn)
        limb(shoulder, upper, upper + radians(18), 0.155 * _TALL, tone)

    arm(phase, far_tone)
    leg(phase + pi, far_tone)
    points = [(_FINE * px, _FINE * py) for px, py in (hip, shoulder)]
    pen.line(points, fill=near_tone, width=round(_FINE * 0.12 * _TALL))
    head = 0.06 * _TALL
    corners = (x - head, shoulder[1] - 2.5 * head, x + head, shoulder[1] - 0.5 * head)
    pen.ellipse([_FINE * corner for corner in corners], fill=near_tone)
    leg(phase, near_tone)
    arm(phase + pi, near_tone)
    fine = np.asarray(picture, np.float32) / 255
    return np.asarray(fine.reshape(HEIGHT, _FINE, WIDTH, _FINE).mean(axis=(1, 3)), np.float32)
