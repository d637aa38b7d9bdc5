"""A transfer seen once from end to end: the measures of every picture, and no picture kept.

The ffmpeg program decodes and makes fields small; what is kept are a few numbers of each picture.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from retime.signal.changes import FURTHEST, Changes

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from retime.second.halves import Halves

    Codes = NDArray[np.float32]

__all__ = ["COLUMNS", "ROWS", "Sight", "size_for"]

COLUMNS, ROWS = 160, 60
"""The most that a field is made small to."""

_MARGIN = 2  # rows and columns at the edges, where there is no neighbour to lean on
_MEASURES, _APART = 9, FURTHEST + 1
_GROWTH = 4096
_GAMMA = 2.4  # Rec. ITU-R BT.1886, with a black of no light
_WHITE = 255.0
_FURTHEST_SHIFT = 0.8  # of a small picture's pixels
_BLOCKS = (7, 8)
_SPECKED = 4  # blocks that dirt may spoil
_TINY = 1e-6
_FEWEST = 16


def size_for(width: int, height: int) -> tuple[int, int]:
    """Return columns and rows that fields of a raster are made small to."""
    return max(_FEWEST, min(COLUMNS, width // 2 * 2)), max(_FEWEST, min(ROWS, height // 4 * 2))


class Sight:
    """Takes pictures one after the other."""

    def __init__(self, height: int, columns: int, rows: int) -> None:
        """Take the raster's height, and the size of the small fields."""
        # The other field's lines lie half a field's line further, that is this much of a row.
        self._aside = np.float32(0.5 * rows / (height // 2))
        self._apart = _Ring(2 * rows // 2 * (columns // 2))
        self._in_light = _Ring(2 * rows // 2 * (columns // 2))
        self._in_detail = _DetailRing(3 * 2 * rows // 2 * (columns // 2))
        self._kept = np.zeros((_GROWTH, _MEASURES + 3 * _APART), np.float32)
        self._same = np.zeros((_GROWTH, 2), np.bool_)
        self._before: tuple[_Fields, Halves] | None = None
        self.count = 0

    def see(self, halves: Halves) -> None:
        """Measure one more picture."""
        if self.count == len(self._kept):
            more = np.zeros_like(self._kept[:_GROWTH])
            self._kept = np.concatenate([self._kept, more, np.zeros_like(self._kept)])
            self._same = np.resize(self._same, (len(self._kept), 2))
        fields = _Fields(halves.upper.codes, halves.lower.codes, self._aside)
        row = self._kept[self.count]
        small = _halved(fields.upper, fields.lower)
        row[_MEASURES:-_APART] = np.concatenate(
            [self._apart.distances(small), self._in_light.distances(_light(small))]
        )
        row[-_APART:] = self._in_detail.distances(_details(fields.upper, fields.lower))
        if self._before is not None:
            before, told = self._before
            row[:_MEASURES] = _measured(before, fields)
            same = told.upper.raw == halves.upper.raw, told.lower.raw == halves.lower.raw
            self._same[self.count] = same
        else:
            row[6] = fields.detail
            self._same[self.count] = False
        self._before = fields, halves
        self.count += 1

    def changes(self) -> Changes:
        """Return what was measured of all pictures."""
        kept, same = self._kept[: self.count], self._same[: self.count]
        return Changes(
            upper=kept[:, 0],
            lower=kept[:, 1],
            upper_same=same[:, 0],
            lower_same=same[:, 1],
            places=kept[:, 2:6],
            detail=kept[:, 6],
            steadied=kept[:, 7],
            quiet=kept[:, 8],
            apart=kept[:, _MEASURES : _MEASURES + _APART],
            apart_in_light=kept[:, _MEASURES + _APART : -_APART],
            details_apart=kept[:, -_APART:],
        )


class _Fields:
    """A picture's fields, and each as it would look on the other's lines.

    They are softened from line to line: what is left of detail is nearly the same on both.
    """

    def __init__(self, upper: Codes, lower: Codes, aside: np.float32) -> None:
        self.upper, self.lower = upper, lower
        self.soft_upper, self.soft_lower = _softened(upper), _softened(lower)
        self.upper_below, self.lower_above = self.soft_upper.copy(), self.soft_lower.copy()
        self.upper_below[:-1] += aside * (self.soft_upper[1:] - self.soft_upper[:-1])
        self.lower_above[1:] += aside * (self.soft_lower[:-1] - self.soft_lower[1:])
        self.detail = _square(_inner(self.soft_upper) - _inner(self.lower_above))

    @property
    def whole(self) -> Codes:
        """Both fields as one."""
        return np.asarray((self.soft_upper + self.soft_lower) / 2, np.float32)


def _measured(before: _Fields, now: _Fields) -> list[float]:
    """Return the first measures of a picture, in the order in which they are kept."""
    crossed = _inner(now.soft_upper) - _inner(before.lower_above)
    return [
        _square(now.upper - before.upper),
        _square(now.lower - before.lower),
        _place(now.soft_upper, before.lower_above, now.lower_above),
        _place(before.soft_lower, before.upper_below, now.upper_below),
        _place(before.soft_upper, before.lower_above, now.lower_above),
        _place(now.soft_lower, before.upper_below, now.upper_below),
        min(before.detail, now.detail, _square(crossed)),
        _steadied(before.whole, now.whole),
        _quiet(now.upper - before.upper),
    ]


def _softened(field: Codes) -> Codes:
    soft = field.copy()
    soft[1:-1] = (field[:-2] + 2 * field[1:-1] + field[2:]) / 4
    return soft


def _inner(field: Codes) -> Codes:
    return field[_MARGIN:-_MARGIN]


def _square(difference: Codes) -> float:
    flat = difference.ravel()
    return float(flat @ flat) / flat.size


def _place(field: Codes, first: Codes, second: Codes) -> float:
    """Return where a field lies on the way from one to another, 0 at the first and 1 at the other.

    It is the foot of the perpendicular.
    """
    way = (_inner(second) - _inner(first)).ravel()
    gone = (_inner(field) - _inner(first)).ravel()
    return float(gone @ way) / max(float(way @ way), _TINY)


def _steadied(before: Codes, now: Codes) -> float:
    """Return what differs once the best small shift and change of brightness are taken out.

    They are found by least squares on slopes (Lucas and Kanade, An Iterative Image Registration
    Technique, 1981, one step). Blocks that differ most are left out: dirt is there once.
    """
    one, other = _softened(before.T).T, _softened(now.T).T
    middle = (one + other) / 2
    inside = middle[1:-1, 1:-1]
    across = ((middle[1:-1, 2:] - middle[1:-1, :-2]) / 2).ravel()
    down = ((middle[2:, 1:-1] - middle[:-2, 1:-1]) / 2).ravel()
    columns = np.stack([across, down, inside.ravel(), np.ones_like(across)])
    change = (other - one)[1:-1, 1:-1]
    square = columns @ columns.T + np.eye(4, dtype=np.float32)
    found = np.linalg.solve(square, columns @ change.ravel())
    found[:2] = np.clip(found[:2], -_FURTHEST_SHIFT, _FURTHEST_SHIFT)
    rest = np.asarray(change - (found @ columns).reshape(change.shape), np.float32)
    blocks = _blocks(rest)
    return float(np.partition(blocks, -_SPECKED)[:-_SPECKED].mean())


def _quiet(change: Codes) -> float:
    """Return the mean square of what changes least: a quarter of all blocks."""
    blocks = _blocks(change)
    calm = len(blocks) // 4
    return float(np.partition(blocks, calm)[:calm].mean())


def _blocks(change: Codes) -> Codes:
    """Return the mean square of each of 56 blocks; a few lines at the end are left out."""
    tall, wide = (size // count for size, count in zip(change.shape, _BLOCKS, strict=True))
    cut = change[: tall * _BLOCKS[0], : wide * _BLOCKS[1]]
    shape = _BLOCKS[0], tall, _BLOCKS[1], wide
    squares: Codes = (cut**2).reshape(shape).mean(axis=(1, 3)).ravel()
    return squares


def _halved(upper: Codes, lower: Codes) -> Codes:
    """Return both fields at half their size, in a row."""
    return np.concatenate(
        [
            (field[0::2, 0::2] + field[0::2, 1::2] + field[1::2, 0::2] + field[1::2, 1::2]).ravel()
            / 4
            for field in (upper, lower)
        ]
    )


def _details(upper: Codes, lower: Codes) -> Codes:
    """Return what is lost of both fields at half their size, in a row.

    Of each four values these are the three differences of Haar's wavelet, at right angles and of
    length 1 (Mallat, A Wavelet Tour of Signal Processing, 1998, from memory).
    """
    found = []
    for field in (upper, lower):
        left, right = field[:, 0::2], field[:, 1::2]
        across, along = (left - right) / 2, (left + right) / 2
        found += [
            (across[0::2] + across[1::2]).ravel(),
            (across[0::2] - across[1::2]).ravel(),
            (along[0::2] - along[1::2]).ravel(),
        ]
    return np.concatenate(found)


def _light(codes: Codes) -> Codes:
    """Return linear light, 255 at white."""
    return _LIGHT[(codes * _STEPS).astype(np.uint16)]


_STEPS = 256  # of a code
_LIGHT = (_WHITE * (np.arange(1 << 16) / (_WHITE * _STEPS)) ** _GAMMA).astype(np.float32)


class _Ring:
    """The last pictures, to tell how far each new one is from them."""

    def __init__(self, size: int) -> None:
        self._kept = np.zeros((FURTHEST, size), np.float32)
        self._count = 0

    def distances(self, picture: Codes) -> Codes:
        """Return mean squared differences to the pictures 0, 1 ... FURTHEST before, and keep it."""
        told = np.zeros(FURTHEST + 1, np.float32)
        known = min(self._count, FURTHEST)
        if known:
            away = self._kept[:known] - picture
            squares = np.einsum("ij,ij->i", away, away) / picture.size
            back = (self._count - 1 - np.arange(known)) % FURTHEST + 1
            told[back] = squares
        self._kept[self._count % FURTHEST] = picture
        self._count += 1
        return told


class _DetailRing:
    """The detail of the last pictures, to tell how far that of each new one is from it.

    Detail is small and as often above nothing as below, so that squares of differences may be told
    by products, which is many times faster.
    """

    def __init__(self, size: int) -> None:
        self._kept = np.zeros((FURTHEST, size), np.float32)
        self._squares = np.zeros(FURTHEST, np.float32)
        self._count = 0

    def distances(self, detail: Codes) -> Codes:
        """Return mean squared differences to the pictures 0, 1 ... FURTHEST before, and keep it."""
        told = np.zeros(FURTHEST + 1, np.float32)
        known = min(self._count, FURTHEST)
        square = _square(detail)
        if known:
            products = self._kept[:known] @ detail / detail.size
            back = (self._count - 1 - np.arange(known)) % FURTHEST + 1
            told[back] = np.maximum(self._squares[:known] + square - 2 * products, 0)
        self._kept[self._count % FURTHEST] = detail
        self._squares[self._count % FURTHEST] = square
        self._count += 1
        return told
