"""What codes stand for: where black and white are, and how luma is made of red, green and blue."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

__all__ = ["CodeScale", "LumaWeights", "chroma_scale", "luma_scale", "luma_weights"]

_BYTE = 8
_UNSPECIFIED = 2
_STANDARD_LINES = 576


class CodeScale(NamedTuple):
    """How codes stand for signals: ``zero`` for 0, and ``span`` codes more for 1."""

    zero: int
    span: int

    def signals(self, codes: NDArray[np.integer]) -> NDArray[np.float64]:
        """Return what codes stand for."""
        return (codes - self.zero) / self.span

    def codes(self, signals: NDArray[np.float64]) -> NDArray[np.float64]:
        """Return the whole codes nearest to signals, half up; there may be no such codes."""
        return np.floor(signals * self.span + (self.zero + 0.5))


class LumaWeights(NamedTuple):
    """How much red, green and blue there is in luma, 1 in all."""

    red: float
    green: float
    blue: float


# Rec. ITU-T H.273, MatrixCoefficients: those matrices that are K_R and K_B and nothing else.
_BT709, _BT601 = LumaWeights(0.2126, 0.7152, 0.0722), LumaWeights(0.299, 0.587, 0.114)
_MATRICES = {
    1: _BT709,
    4: LumaWeights(0.30, 0.59, 0.11),
    5: _BT601,
    6: _BT601,
    7: LumaWeights(0.212, 0.701, 0.087),
    9: LumaWeights(0.2627, 0.6780, 0.0593),
}


def luma_scale(bits: int, *, narrow: bool) -> CodeScale:
    """Return the scale of luma, grey, red, green and blue: Rec. ITU-T H.273's equations."""
    if narrow:
        return CodeScale(16 << (bits - _BYTE), 219 << (bits - _BYTE))
    return CodeScale(0, (1 << bits) - 1)


def chroma_scale(bits: int, *, narrow: bool) -> CodeScale:
    """Return the scale of a colour difference, -1/2 to 1/2: Rec. ITU-T H.273's equations."""
    return CodeScale(1 << (bits - 1), 224 << (bits - _BYTE) if narrow else (1 << bits) - 1)


def luma_weights(matrix: int, height: int) -> LumaWeights | None:
    """Return what luma is made of by a matrix code of ITU-T H.273, None for other kinds of matrix.

    Where the matrix is unspecified, a picture of more than 576 lines is taken for BT.709, and any
    other for BT.601: common practice.
    """
    if matrix == _UNSPECIFIED:
        return _BT709 if height > _STANDARD_LINES else _BT601
    return _MATRICES.get(matrix)
