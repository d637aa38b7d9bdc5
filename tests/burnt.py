"""Reads burnt-in text back from a picture, by matching the letters of the font.

It knows what the text should look like and nothing of the code that burns it in: white DejaVu
Sans Mono in a dark box, capitals 1/30 of the picture's height (at least 14 lines) or smaller,
letters a whole number of samples wide, the box at an edge of the area that keeps 5 % from every
side. The letters are drawn here by matplotlib's rasteriser.

``read_burnt`` looks for the grid that the letters stand in, once for pictures of one kind, and
then takes each cell for the letter that it is most like. A cell that is like none, or like two,
makes the text unreadable, and so does light where the box should be dark: the answer is None.
"""

from __future__ import annotations

from collections import defaultdict
from fractions import Fraction
from functools import lru_cache
from itertools import product
from math import ceil, floor
from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np
from matplotlib.ft2font import FT2Font, LoadFlags

from retime.light.burn_place import BurnPlace
from retime.picture.glyphs import font_path

if TYPE_CHECKING:
    from collections.abc import Iterator

    from numpy.typing import NDArray

    Picture = NDArray[np.float32]

__all__ = ["ASCII", "letter_picture", "read_burnt"]

ASCII = "".join(map(chr, range(ord("!"), ord("~") + 1)))
"""Every character of ASCII that can be seen."""

# DejaVu Sans Mono, in units of which 2048 are an em, as its tables say.
_UNITS, _ADVANCE, _CAPITAL, _ASCENT, _DESCENT = 2048, 1233, 1493, 1901, 483
_DRAWN = 128  # the em in which letters are drawn, to be made smaller
_SAFE = Fraction(1, 20)
_SOME = 24  # cells that are looked at together
_SMALL = 600  # lines up to which a picture may be half of one whose letters are an odd width
_SLACK = 14  # by how many lines a box may be off, for being in whole steps of chroma

_LIKE = {1: 0.95, 2: 0.90}  # correlation with a letter, by how many times a picture is magnified
_UNCLEAR = 0.75  # correlation with a letter that there may be
_BETTER = 0.02  # how much more it is than with any other letter
_DARK, _CONTRAST = 0.15, 0.6  # what is darkest, and how much brighter the letter is; white is 1
_ALONE = 200_000  # multiplications that numpy leaves to one thread: several wait for busy cores
_LETTER = "\N{REPLACEMENT CHARACTER}"
_NOTHING = 0.6  # correlation that counts for nothing
_BLANK = 0.40  # nothing brighter is seen where there is no letter


class _Kind(NamedTuple):
    """What is known of pictures beforehand."""

    place: BurnPlace
    aspect: Fraction
    active: int
    letters: str


class _Face(NamedTuple):
    """The letters of one size, each in a cell, made ready to be compared.

    ``normal`` has mean 0 and length 1; what was drawn had ``means`` and ``lengths``.
    """

    letters: str
    normal: Picture
    means: Picture
    lengths: Picture
    like: float
    width: int
    height: int
    padding: tuple[int, int]


class _Grid(NamedTuple):
    """Where cells stand in a picture made ``magnified`` times larger: one of them, of a width."""

    magnified: int
    width: int
    left: int
    top: int


_KNOWN: dict[tuple[object, ...], list[_Grid]] = defaultdict(list)


def read_burnt(
    grey: NDArray[Any],
    place: BurnPlace = BurnPlace.BOTTOM,
    *,
    sample_aspect: Fraction = Fraction(1),
    active_width: int | None = None,
    letters: str = ASCII,
) -> str | None:
    """Return the text that is burnt into a picture, None where it cannot be told for certain.

    ``grey`` has the shape (height, width), of unsigned integers at full scale or of floats from
    0 to 1; it may be half as large as the picture was. Lines are joined by newlines, spaces at
    their ends are left out, and no line is empty. ``letters`` are those that may occur.
    """
    scale = np.iinfo(grey.dtype).max if grey.dtype.kind == "u" else 1
    picture = np.multiply(grey, np.float32(1 / scale), dtype=np.float32)
    kind = _Kind(place, sample_aspect, active_width or picture.shape[1], letters)
    known = _KNOWN[picture.shape, kind]
    for grid in known:
        text = _text(picture, grid, kind)
        if text is not None:
            return text
    for grid in _grids(picture, kind):
        text = _text(picture, grid, kind)
        if text is not None:
            known.append(grid)
            return text
    return None


def letter_picture(letter: str, size: tuple[int, int], baseline: int, em: Fraction) -> Picture:
    """Return how much of each sample of a cell a letter covers, 0 to 1, shape (height, width).

    ``size`` is the cell's width and height; it is as wide as the letter, ``em`` lines are an em.
    """
    (width, height), line = size, _DRAWN / float(em)
    across = np.linspace(0, _DRAWN * _ADVANCE / _UNITS, width + 1)
    down = _DRAWN + (np.arange(height + 1) - baseline) * line
    return _means(_means(_sheet(letter), down).T, across).T


@lru_cache
def _font() -> FT2Font:
    font = FT2Font(str(font_path()))
    font.set_size(_DRAWN, 72)
    return font


@lru_cache
def _sheet(letter: str) -> Picture:
    """Return a letter drawn large, its baseline in the middle, beginning at the left edge."""
    font = _font()
    left, _, _, top = font.load_char(ord(letter), flags=LoadFlags.NO_HINTING).bbox  # in 1/64
    font.set_text(letter, 0, flags=LoadFlags.NO_HINTING)
    font.draw_glyphs_to_bitmap(antialiased=True)
    drawn = np.asarray(font.get_image())
    sheet = np.zeros((2 * _DRAWN, _DRAWN), np.float32)
    row, column = _DRAWN - top // 64 - 1, left // 64
    sheet[row : row + drawn.shape[0], column : column + drawn.shape[1]] = drawn / 255
    return sheet


def _means(sheet: Picture, edges: NDArray[np.floating]) -> Picture:
    """Return the means of a sheet's rows between edges, which need not be whole."""
    sums = np.concatenate([np.zeros((1, sheet.shape[1])), np.cumsum(sheet, axis=0, dtype=float)])
    whole = np.floor(edges).astype(int)
    part = (edges - whole)[:, None]
    at_edges = sums[whole] * (1 - part) + sums[whole + 1] * part
    means = np.diff(at_edges, axis=0) / np.diff(edges)[:, None]
    return np.asarray(means, np.float32)


@lru_cache
def _face(width: int, magnified: int, aspect: Fraction, letters: str) -> _Face:
    """Return the letters that are so many samples wide, as they are in samples of an aspect."""
    em = width * aspect * Fraction(_UNITS, _ADVANCE)
    baseline, below = (ceil(em * Fraction(part, _UNITS)) for part in (_ASCENT, _DESCENT))
    size = (width, baseline + below)
    drawn = np.stack([letter_picture(one, size, baseline, em) for one in letters])
    if magnified > 1:
        drawn = _soft(_soft(drawn, 1), 2)
    normal, means, lengths = _normal(drawn.reshape(len(letters), -1))
    return _Face(
        letters=letters,
        normal=normal,
        means=means,
        lengths=lengths,
        like=_LIKE[magnified],
        width=width,
        height=baseline + below,
        padding=(floor(width / 2), ceil(em * Fraction(_CAPITAL, 4 * _UNITS))),
    )


def _soft(cells: Picture, axis: int) -> Picture:
    """Return cells as they look once they were made smaller and larger again, along one axis."""
    softer = cells / 2 + (np.roll(cells, 1, axis) + np.roll(cells, -1, axis)) / 4
    return np.asarray(softer, np.float32)


def _normal(cells: Picture) -> tuple[Picture, Picture, Picture]:
    """Return cells of mean 0 and length 1, so that their products are correlations.

    Also what the means and lengths were.
    """
    means: Picture = cells.mean(axis=1)
    centred = cells - means[:, None]
    lengths: Picture = np.maximum(np.sqrt((centred**2).sum(axis=1)), np.float32(1e-3))
    return centred / lengths[:, None], means, lengths


def _magnified(picture: Picture, times: int) -> Picture:
    """Return a picture as it is, or twice as large, without steps between its samples."""
    if times == 1:
        return picture
    return _twice(_twice(picture, 0), 1)


def _twice(picture: Picture, axis: int) -> Picture:
    return _soft(picture.repeat(2, axis), axis)


def _cells(picture: Picture, left: int, top: int, face: _Face, count: int) -> Picture | None:
    """Return so many cells in a row, shape (count, height x width); None outside the picture."""
    if left < 0 or top < 0:
        return None
    row = picture[top : top + face.height, left : left + count * face.width]
    if row.shape != (face.height, count * face.width):
        return None
    cells = row.reshape(face.height, count, face.width).transpose(1, 0, 2)
    return np.ascontiguousarray(cells).reshape(count, -1)


def _grids(picture: Picture, kind: _Kind) -> Iterator[_Grid]:
    """Yield the likeliest grid for each size of letters, the usual size first."""
    across = Fraction(_ADVANCE, _CAPITAL) / kind.aspect  # a letter's width, capitals being 1 high
    for magnified in (1, 2) if picture.shape[0] <= _SMALL else (1,):
        height = picture.shape[0] * magnified
        usual = floor(max(Fraction(14), Fraction(height, 30)) * across + Fraction(1, 2))
        least = ceil(max(Fraction(10), Fraction(height, 48)) * across)
        for width in range(max(usual, least), least - 1, -1):
            yield _likeliest(picture, kind, magnified, width)


def _likeliest(picture: Picture, kind: _Kind, magnified: int, width: int) -> _Grid:
    """Return where letters of a size fit best, about where the text should begin or end."""
    picture = _magnified(picture, magnified)
    face = _face(width, magnified, kind.aspect, kind.letters)
    height, samples = picture.shape
    margin = floor(_margin(samples, kind, magnified))
    count = min(_SOME, (samples - 2 * margin) // width - 1)
    left = (samples - count * width) // 2
    if kind.place.at_left:
        left = margin
    elif kind.place.at_right:
        left = samples - margin - (count + 1) * width
    top = floor(height * _SAFE) + face.padding[1]
    if not kind.place.at_top:
        top = height - top - face.height - _SLACK

    def likeness(place: tuple[int, int]) -> float:
        cells = _cells(picture, *place, face, count)
        if cells is None:
            return 0.0
        return float((_likeness(cells, face).max(axis=1) - _NOTHING).clip(0).sum())

    stride = max(1, width // 8)
    shifts = product(range(0, width, stride), range(0, _SLACK + 2, stride))
    x, y = max(((left + dx, top + dy) for dx, dy in shifts), key=likeness)
    while stride > 1:
        stride = (stride + 1) // 2
        shifts = product((0, -stride, stride), (0, -stride, stride))
        x, y = max(((x + dx, y + dy) for dx, dy in shifts), key=likeness)
    return _Grid(magnified, width, x, y)


def _margin(samples: int, kind: _Kind, magnified: int) -> Fraction:
    """Return how far from the left edge the safe area begins."""
    active = kind.active * magnified
    return Fraction(samples - active, 2) + active * _SAFE


def _likeness(cells: Picture, face: _Face) -> Picture:
    """Return each cell's correlation with each letter, shape (cells, letters)."""
    cells, _, _ = _normal(cells)
    some = max(1, _ALONE // cells.size)
    parts = [cells @ face.normal[one : one + some].T for one in range(0, len(face.normal), some)]
    return np.concatenate(parts, axis=1)


def _text(picture: Picture, grid: _Grid, kind: _Kind) -> str | None:
    """Return what is written in the cells of a grid, in the widest box that is dark all round."""
    picture = _magnified(picture, grid.magnified)
    face = _face(grid.width, grid.magnified, kind.aspect, kind.letters)
    onward = face.height if kind.place.at_top else -face.height
    first = grid.left % grid.width
    rows: list[list[str | None]] = []
    for begin, stop in _spans(picture.shape[1], grid, kind):
        told: list[list[str | None]] = []
        while True:
            if len(told) == len(rows):
                rows.append(_row(picture, first, grid.top + len(rows) * onward, face))
            line = rows[len(told)][begin:stop]
            if not any(letter and letter != " " for letter in line):
                break
            told.append(line)
        upper = min(grid.top, grid.top + (len(told) - 1) * onward)
        left, right = first + begin * face.width, first + stop * face.width
        if told and _is_dark_around(picture, face, (left, right), (upper, len(told))):
            lines = told if kind.place.at_top else told[::-1]
            if any(letter in {None, _LETTER} for line in lines for letter in line):
                return None
            return "\n".join("".join(letter or "" for letter in line).strip() for line in lines)
    return None


def _row(picture: Picture, first: int, top: int, face: _Face) -> list[str | None]:
    """Return the letter in each cell of a row.

    That is a space where it is dark, U+FFFD where there is a letter that cannot be told for
    certain, and None where there seems to be none.
    """
    count = (picture.shape[1] - first) // face.width
    cells = _cells(picture, first, top, face, count)
    if cells is None:
        return [None] * count
    likeness = _likeness(cells, face)
    best, every = likeness.argmax(axis=1), np.arange(count)
    like = likeness[every, best]
    likeness[every, best] = -1
    _, means, lengths = _normal(cells)
    contrast = like * lengths / face.lengths[best]
    sure = (like > face.like) & (like - likeness.max(axis=1) > _BETTER)
    sure &= (contrast > _CONTRAST) & (means - contrast * face.means[best] < _DARK)
    blank = cells.max(axis=1) < _BLANK
    told = np.where(sure, np.array(list(face.letters))[best], _LETTER)
    return [
        " " if empty else str(letter) if seen else None
        for empty, letter, seen in zip(blank, told, like > _UNCLEAR, strict=True)
    ]


def _spans(samples: int, grid: _Grid, kind: _Kind) -> Iterator[tuple[int, int]]:
    """Yield the columns that a box at a place may have, begin and stop, the widest first."""
    first, width = grid.left % grid.width, grid.width
    count = (samples - first) // width
    margin = float(_margin(samples, kind, grid.magnified))
    if kind.place.at_left:
        begin = ceil((margin + width / 4 - first) / width)
        yield from ((begin, stop) for stop in range(count, begin, -1))
    elif kind.place.at_right:
        stop = floor((samples - margin - width / 4 - first) / width)
        yield from ((begin, stop) for begin in range(stop))
    else:
        both = floor(2 * (samples / 2 - first) / width + 0.5)  # begin + stop
        for begin in range(max(0, both - count), (both + 1) // 2):
            yield begin, both - begin


def _is_dark_around(
    picture: Picture, face: _Face, across: tuple[int, int], rows: tuple[int, int]
) -> bool:
    """Tell whether a box is dark beside its letters, up to a little within its edges.

    ``across`` is where the letters begin and stop, ``rows`` the topmost line and how many.
    """
    (left, right), (upper, count) = across, rows
    wide, high = (part - max(1, part // 3) for part in face.padding)
    lower = upper + count * face.height
    strips = (
        picture[upper - high : lower + high, max(0, left - wide) : left],
        picture[upper - high : lower + high, right : right + wide],
        picture[upper - high : upper, left:right],
        picture[lower : lower + high, left:right],
    )
    return all(one.size and one.max() < _BLANK and one.mean() < _DARK for one in strips)
