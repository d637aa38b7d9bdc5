"""Intertitles and leaders: a dark ground, an ornamental border, lettering."""

from functools import cache
from math import cos, pi, sin

from demofilm.lettering import letter, stroke
from demofilm.raster import HEIGHT, WIDTH, Picture, Point, Size, blank, disc, fill, trace

__all__ = ["card", "leader"]

_INK = 0.9
_RULE = 0.6
_LINE_STEP = 1.62  # base line to base line over cap height


@cache
def card(
    lines: tuple[str, ...],
    size: float = 25,
    opening: str = "",
    foot: str = "",
    pixels: Size = (WIDTH, HEIGHT),
) -> Picture:
    """A title card of 4:3: lines in the middle, a smaller line above and another below them."""
    picture = blank(0.07, pixels)
    _border(picture)
    step = size * _LINE_STEP
    base = HEIGHT / 2 - 14 + size / 2 - (len(lines) - 1) * step / 2
    if opening:
        letter(picture, opening, (WIDTH / 2, base - step - 16), 15, _RULE)
    for number, line in enumerate(lines):
        letter(picture, line, (WIDTH / 2, base + number * step), size, _INK)
    if foot:
        letter(picture, foot, (WIDTH / 2, base + len(lines) * step + 6), 14, _RULE)
    return picture


@cache
def leader(lines: tuple[str, ...], ground: float, ink: float) -> Picture:
    """A frame of leader: what is written on the film by hand before and after the picture."""
    picture = blank(ground)
    for number, line in enumerate(lines):
        letter(picture, line, (WIDTH / 2, 220 + 58 * number), 30, ink)
    return picture


def _border(picture: Picture) -> None:
    left, top, right, bottom = 44, 40, WIDTH - 44, HEIGHT - 40
    for inset, width in ((0, 2.6), (8, 1.1)):
        notch = 26 - inset
        x0, y0, x1, y1 = left + inset, top + inset, right - inset, bottom - inset
        trace(picture, [(x0 + notch, y0), (x1 - notch, y0)], width, _RULE)
        trace(picture, [(x0 + notch, y1), (WIDTH / 2 - 44, y1)], width, _RULE)
        trace(picture, [(WIDTH / 2 + 44, y1), (x1 - notch, y1)], width, _RULE)
        trace(picture, [(x0, y0 + notch), (x0, y1 - notch)], width, _RULE)
        trace(picture, [(x1, y0 + notch), (x1, y1 - notch)], width, _RULE)
    for x, turn_x in ((left, 1), (right, -1)):
        for y, turn_y in ((top, 1), (bottom, -1)):
            _corner(picture, (x, y), turn_x, turn_y)
    _emblem(picture, (WIDTH / 2, bottom - 4))


def _corner(picture: Picture, at: Point, turn_x: int, turn_y: int) -> None:
    """Two curling waves that meet in the corner."""
    for swap in (False, True):
        curl = [(26 - 13 * cos(a) * (1 - a / 9), 13 - 13 * sin(a) * (1 - a / 9)) for a in _TURN]
        path = [
            (at[0] + turn_x * (v if swap else u), at[1] + turn_y * (u if swap else v))
            for u, v in curl
        ]
        stroke(picture, path, 2.4, 1.2, _RULE)
    disc(picture, (at[0] + turn_x * 7, at[1] + turn_y * 7), 3.4, _RULE)


_TURN = [i * pi / 8 - pi / 2 for i in range(20)]


def _emblem(picture: Picture, at: Point) -> None:
    """The studio's mark: a lamp between two waves."""
    x, y = at
    fill(picture, [(x - 9, y + 8), (x - 5, y - 16), (x + 5, y - 16), (x + 9, y + 8)], _RULE)
    fill(picture, [(x - 4, y - 18), (x - 4, y - 25), (x + 4, y - 25), (x + 4, y - 18)], _INK)
    fill(picture, [(x - 6, y - 26), (x, y - 33), (x + 6, y - 26)], _RULE)
    for side in (-1, 1):
        for rise in (0.1, 0.45, 0.8):
            ray = [(x + side * 10, y - 22 - rise * 2), (x + side * 26, y - 22 - rise * 14 + 5)]
            trace(picture, ray, 1.1, _RULE)
        for row in (0, 6):
            wave = [(x + side * (13 + 2 * i), y + row - 2 * sin(i * 0.9)) for i in range(14)]
            trace(picture, wave, 1.3, _RULE)
