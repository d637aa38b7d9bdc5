"""Lettering: Roman capitals and small capitals, as skeletons swept with a broad nib."""

from collections.abc import Sequence
from itertools import pairwise
from math import cos, radians, sin
from typing import TypeAlias

from demofilm.raster import Picture, Point, fill

__all__ = ["letter", "measure", "stroke"]

Path: TypeAlias = list[Point]

_NIB = 0.135  # nib's breadth over cap height
_NIB_ANGLE = radians(24)
_HAIR = 0.034  # least thickness of a line over cap height
_GAP = 0.17  # white between letters over cap height
_SPACE = 0.42
_SMALL = 0.78  # small capitals over capitals


def _arc(x: float, y: float, width: float, height: float, turn: tuple[int, int]) -> Path:
    """Points on an ellipse from one angle to another, degrees, anticlockwise from the right."""
    start, stop = turn
    count = max(abs(stop - start) // 12, 2)
    angles = [radians(start + (stop - start) * i / count) for i in range(count + 1)]
    return [(x + width * cos(a), y + height * sin(a)) for a in angles]


def _bow(x: float, low: float, high: float, reach: float) -> Path:
    """The bow of a B, D, P or R: out from a stem at the top and back lower down."""
    half = (high - low) / 2
    return [(x, high), *_arc(x + reach - half, low + half, half, half, (90, -90)), (x, low)]


def _comma(x: float, y: float) -> Path:
    return [(x, y), (x + 0.01, y - 0.08), (x - 0.05, y - 0.22)]


def _turned_comma(x: float) -> Path:
    return [(x, 1.04), (x - 0.06, 0.9), (x - 0.05, 0.82)]


def _dots(x: float) -> list[Path]:
    """The two dots of an umlaut about a column."""
    return [[(at, 1.18), (at, 1.27)] for at in (x - 0.17, x + 0.17)]


# Each letter: width, strokes (0 to 1 above the base line), feet and heads that take a serif.
_LETTERS: dict[str, tuple[float, list[Path], list[Point]]] = {
    "A": (0.74, [[(0.02, 0), (0.37, 1)], [(0.37, 1), (0.72, 0)], [(0.15, 0.34), (0.6, 0.34)]],
          [(0.02, 0), (0.72, 0)]),
    "B": (0.56, [[(0.08, 0), (0.08, 1)], _bow(0.08, 0.53, 1, 0.42), _bow(0.08, 0, 0.53, 0.5)],
          [(0.04, 0), (0.04, 1)]),
    "C": (0.72, [_arc(0.45, 0.5, 0.41, 0.52, (48, 312)), [(0.72, 0.78), (0.71, 0.92)]], []),
    "D": (0.72, [[(0.08, 0), (0.08, 1)], _bow(0.08, 0, 1, 0.66)], [(0.04, 0), (0.04, 1)]),
    "E": (0.54, [[(0.08, 0), (0.08, 1)], [(0.08, 1), (0.5, 1), (0.51, 0.87)],
                 [(0.08, 0.52), (0.42, 0.52)], [(0.08, 0), (0.53, 0), (0.55, 0.15)]],
          [(0.04, 0), (0.04, 1)]),
    "F": (0.5, [[(0.08, 0), (0.08, 1)], [(0.08, 1), (0.49, 1), (0.5, 0.86)],
                [(0.08, 0.52), (0.41, 0.52)]], [(0.08, 0), (0.04, 1)]),
    "G": (0.76, [_arc(0.45, 0.5, 0.41, 0.52, (48, 310)), [(0.7, 0.06), (0.7, 0.42)],
                 [(0.71, 0.78), (0.7, 0.92)]], [(0.7, 0.42)]),
    "H": (0.74, [[(0.08, 0), (0.08, 1)], [(0.66, 0), (0.66, 1)], [(0.08, 0.52), (0.66, 0.52)]],
          [(0.08, 0), (0.08, 1), (0.66, 0), (0.66, 1)]),
    "I": (0.16, [[(0.08, 0), (0.08, 1)]], [(0.08, 0), (0.08, 1)]),
    "J": (0.3, [[(0.22, 1), (0.22, 0.14), *_arc(0.06, 0.12, 0.16, 0.2, (0, -100))]], [(0.22, 1)]),
    "K": (0.68, [[(0.08, 0), (0.08, 1)], [(0.6, 1), (0.1, 0.46)], [(0.24, 0.6), (0.66, 0)]],
          [(0.08, 0), (0.08, 1), (0.6, 1), (0.66, 0)]),
    "L": (0.52, [[(0.08, 0), (0.08, 1)], [(0.08, 0), (0.5, 0), (0.53, 0.17)]],
          [(0.04, 0), (0.08, 1)]),
    "M": (0.88, [[(0.06, 0), (0.14, 1)], [(0.14, 1), (0.44, 0.08)], [(0.44, 0.08), (0.74, 1)],
                 [(0.74, 1), (0.82, 0)]], [(0.06, 0), (0.82, 0), (0.1, 1), (0.78, 1)]),
    "N": (0.76, [[(0.08, 0), (0.08, 1)], [(0.08, 1), (0.68, 0)], [(0.68, 0), (0.68, 1)]],
          [(0.08, 0), (0.04, 1), (0.68, 1)]),
    "O": (0.84, [_arc(0.42, 0.5, 0.4, 0.52, (0, 360))], []),
    "P": (0.54, [[(0.08, 0), (0.08, 1)], _bow(0.08, 0.46, 1, 0.47)], [(0.08, 0), (0.04, 1)]),
    "Q": (0.84, [_arc(0.42, 0.5, 0.4, 0.52, (0, 360)), [(0.46, 0.1), (0.62, -0.1), (0.86, -0.16)]],
          []),
    "R": (0.64, [[(0.08, 0), (0.08, 1)], _bow(0.08, 0.48, 1, 0.46), [(0.26, 0.48), (0.62, 0)]],
          [(0.08, 0), (0.04, 1), (0.62, 0)]),
    "S": (0.5, [[*_arc(0.26, 0.75, 0.2, 0.26, (35, 270)),
                 *_arc(0.25, 0.25, 0.22, 0.26, (80, -150))],
                [(0.44, 0.84), (0.44, 0.96)], [(0.05, 0.04), (0.05, 0.18)]], []),
    "T": (0.66, [[(0.33, 0), (0.33, 1)], [(0.02, 0.85), (0.03, 1), (0.63, 1), (0.64, 0.85)]],
          [(0.33, 0)]),
    "U": (0.72, [[(0.08, 1), (0.08, 0.32), *_arc(0.36, 0.3, 0.28, 0.32, (180, 360)), (0.64, 1)]],
          [(0.08, 1), (0.64, 1)]),
    "V": (0.7, [[(0.02, 1), (0.36, 0)], [(0.36, 0), (0.68, 1)]], [(0.02, 1), (0.68, 1)]),
    "W": (1.04, [[(0.02, 1), (0.28, 0)], [(0.28, 0), (0.52, 1)], [(0.52, 1), (0.78, 0)],
                 [(0.78, 0), (1.02, 1)]], [(0.02, 1), (0.52, 1), (1.02, 1)]),
    "X": (0.68, [[(0.04, 1), (0.64, 0)], [(0.62, 1), (0.06, 0)]],
          [(0.04, 1), (0.64, 0), (0.62, 1), (0.06, 0)]),
    "Y": (0.66, [[(0.02, 1), (0.33, 0.48)], [(0.64, 1), (0.33, 0.48)], [(0.33, 0.48), (0.33, 0)]],
          [(0.02, 1), (0.64, 1), (0.33, 0)]),
    "Z": (0.62, [[(0.06, 0.85), (0.07, 1), (0.58, 1)], [(0.58, 1), (0.04, 0)],
                 [(0.04, 0), (0.58, 0), (0.6, 0.15)]], []),
    "\N{LATIN CAPITAL LETTER SHARP S}": (
        0.62, [[(0.08, 0), (0.08, 0.72), *_arc(0.31, 0.74, 0.23, 0.28, (180, 50)), (0.52, 0.93)],
               [(0.52, 0.93), (0.3, 0.58)],
               [*_arc(0.3, 0.29, 0.27, 0.3, (85, -120))]], [(0.08, 0)]),
    "1": (0.3, [[(0.02, 0.8), (0.16, 1)], [(0.16, 1), (0.16, 0)]], [(0.16, 0)]),
    "2": (0.54, [[*_arc(0.26, 0.72, 0.22, 0.3, (165, -30)), (0.04, 0)],
                 [(0.04, 0), (0.5, 0), (0.52, 0.14)]], []),
    "3": (0.5, [[*_arc(0.24, 0.76, 0.2, 0.26, (150, -80)), (0.18, 0.52)],
                [(0.18, 0.52), *_arc(0.23, 0.25, 0.24, 0.28, (80, -145))]], []),
    "4": (0.58, [[(0.4, 1), (0.03, 0.28)], [(0.03, 0.28), (0.55, 0.28)], [(0.4, 1), (0.4, 0)]],
          [(0.4, 0)]),
    "5": (0.5, [[(0.44, 1), (0.12, 1), (0.09, 0.56)],
                [(0.09, 0.56), *_arc(0.23, 0.3, 0.24, 0.32, (100, -145))]], []),
    ".": (0.1, [[(0.05, 0.0), (0.05, 0.05)]], []),
    ",": (0.1, [_comma(0.06, 0.05)], []),
    "!": (0.12, [[(0.06, 0.3), (0.06, 1)], [(0.06, 0.0), (0.06, 0.05)]], []),
    "\N{RIGHT SINGLE QUOTATION MARK}": (0.1, [_comma(0.06, 1)], []),
    "\N{LEFT DOUBLE QUOTATION MARK}": (0.3, [_turned_comma(0.08), _turned_comma(0.26)], []),
    "\N{RIGHT DOUBLE QUOTATION MARK}": (0.3, [_comma(0.06, 1), _comma(0.24, 1)], []),
    "\N{DOUBLE LOW-9 QUOTATION MARK}": (0.3, [_comma(0.08, 0.08), _comma(0.26, 0.08)], []),
    ":": (0.1, [[(0.05, 0.0), (0.05, 0.08)], [(0.05, 0.52), (0.05, 0.6)]], []),
    "-": (0.34, [[(0.04, 0.4), (0.3, 0.42)]], []),
}  # fmt: skip
_LETTERS |= {
    whole: (width, [*strokes, *_dots(column)], ends)
    for whole, plain, column in (("Ä", "A", 0.37), ("Ö", "O", 0.42), ("Ü", "U", 0.36))
    for width, strokes, ends in (_LETTERS[plain],)
}


def measure(text: str, size: float) -> float:
    """The width in pixels of one line whose capitals are `size` pixels high."""
    return sum(_advance(sign, size) for sign in text) - _GAP * size


def letter(picture: Picture, text: str, centre: Point, size: float, tone: float) -> None:
    """Write one line about `centre`: its middle and its base line."""
    x, base = centre[0] - measure(text, size) / 2, centre[1]
    for sign in text:
        if sign != " ":
            _write(picture, sign, (x, base), size, tone)
        x += _advance(sign, size)


def stroke(
    picture: Picture, path: Sequence[Point], breadth: float, hair: float, tone: float
) -> None:
    """Draw a path in pixels with a broad nib held at the lettering's angle."""
    across = breadth / 2 * cos(_NIB_ANGLE), -breadth / 2 * sin(_NIB_ANGLE)
    for (x0, y0), (x1, y1) in pairwise(path):
        length = max(((x1 - x0) ** 2 + (y1 - y0) ** 2) ** 0.5, 1e-6)
        ahead = (x1 - x0) / length * hair / 2, (y1 - y0) / length * hair / 2
        least = -ahead[1], ahead[0]
        if (least[0] * across[0] + least[1] * across[1]) < 0:
            least = -least[0], -least[1]
        side = across[0] + least[0], across[1] + least[1]
        start, stop = (x0 - ahead[0], y0 - ahead[1]), (x1 + ahead[0], y1 + ahead[1])
        corners = [
            (start[0] + side[0], start[1] + side[1]),
            (stop[0] + side[0], stop[1] + side[1]),
            (stop[0] - side[0], stop[1] - side[1]),
            (start[0] - side[0], start[1] - side[1]),
        ]
        fill(picture, corners, tone)


def _advance(sign: str, size: float) -> float:
    if sign == " ":
        return _SPACE * size
    scale = _SMALL if sign.islower() else 1.0
    return (_LETTERS[_capital(sign)][0] * scale + _GAP) * size


def _capital(sign: str) -> str:
    """The capital that a letter is written as; the sharp s has one that is a single letter."""
    return "\N{LATIN CAPITAL LETTER SHARP S}" if sign == "ß" else sign.upper()


def _write(picture: Picture, sign: str, origin: Point, size: float, tone: float) -> None:
    scale = size * (_SMALL if sign.islower() else 1.0)
    _, strokes, ends = _LETTERS[_capital(sign)]
    for path in strokes:
        placed = [(origin[0] + x * scale, origin[1] - y * scale) for x, y in path]
        stroke(picture, placed, _NIB * size, _HAIR * size, tone)
    for x, y in ends:
        foot = origin[0] + x * scale, origin[1] - y * scale
        _serif(picture, foot, scale, tone, inward=-1 if y == 0 else 1)


def _serif(picture: Picture, foot: Point, size: float, tone: float, inward: int) -> None:
    """A bracketed serif: a thin bar whose middle rises into the stem."""
    x, y = foot
    half, bar, rise = 0.15 * size, 0.03 * size, 0.11 * size
    outline = [
        (x - half, y - inward * bar),
        (x + half, y - inward * bar),
        (x + half, y + inward * bar),
        (x + half * 0.42, y + inward * rise),
        (x - half * 0.42, y + inward * rise),
        (x - half, y + inward * bar),
    ]
    fill(picture, outline, tone)
