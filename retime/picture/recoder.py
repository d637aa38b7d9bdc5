"""Codes turned into those of another format, by way of light where curves or primaries differ.

Everything is computed in double precision, a few rows of a picture at a time.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple, TypeAlias

import numpy as np

from retime.light.codes import chroma_scale, luma_scale, luma_weights
from retime.light.curves import decode, encode
from retime.light.transfer import Transfer
from retime.picture.formats import Family, layout_of
from retime.picture.ranges import is_narrow
from retime.picture.recolouring import CHROMATICITIES

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from retime.light.codes import CodeScale, LumaWeights
    from retime.light.format import PictureFormat
    from retime.picture.formats import PixelLayout
    from retime.picture.recolouring import Curve, Recolouring
    from retime.picture.samples import Samples

    Signals: TypeAlias = NDArray[np.float64]

__all__ = ["Recoder"]

_BITS = 16
_UNSPECIFIED = 2  # Rec. ITU-T H.273, MatrixCoefficients
_TIE = 1e-12  # a signal that lies between two codes stays there in spite of its last bits
_WHITE = (0.3127, 0.3290)  # the same, ColourPrimaries: D65


class _Colours(NamedTuple):
    """Signals or light of red, of green and of blue, 0 being black and 1 white."""

    red: Signals
    green: Signals
    blue: Signals


class Recoder:
    """Turns codes of 16 bits, a sample a pixel in each plane, into those of another format.

    Codes are rounded half up, and kept within what codes there are.
    """

    def __init__(
        self, still: PictureFormat, target: PictureFormat, change: Recolouring | None
    ) -> None:
        """Prepare for planar grey, RGB or 4:4:4 of 16 bits, to become a planar ``target``.

        ``change`` is None where codes stand for the same light before and after.
        """
        self._was, self._layout = layout_of(still.pixel_format), layout_of(target.pixel_format)
        self._was_narrow, self._narrow = is_narrow(still), is_narrow(target)
        # Where neither says its matrix, it is that of the deliverable's raster.
        self._was_weights = _weights(still, target.height)
        self._weights = _weights(target, target.height)
        self._change = change
        self._turn = None
        if change is not None and change.primaries is not None:
            self._turn = _between(*change.primaries)

    def codes(self, planes: Sequence[Samples]) -> list[Samples]:
        """Return what some rows of a still are in the other format, a plane a component."""
        luma = luma_scale(_BITS, narrow=self._was_narrow)
        signed = [plane.astype(np.int32) for plane in planes]  # codes may lie below black
        if self._was.family is Family.GREY:
            (grey,) = self._recoloured([luma.signals(signed[0])])
            return self._written(_Colours(grey, grey, grey))
        if self._was.family is Family.RGB:
            green, blue, red = (luma.signals(plane) for plane in signed)
        else:
            red, green, blue = self._of_yuv(signed)
        return self._written(_Colours(*self._recoloured([red, green, blue])))

    def _of_yuv(self, planes: Sequence[NDArray[np.int32]]) -> _Colours:
        """Return red, green and blue of Y'CbCr: Rec. ITU-T H.273's equations."""
        chroma = chroma_scale(_BITS, narrow=self._was_narrow)
        luma = luma_scale(_BITS, narrow=self._was_narrow).signals(planes[0])
        weights = self._was_weights
        blue = luma + chroma.signals(planes[1]) * (2 * (1 - weights.blue))
        red = luma + chroma.signals(planes[2]) * (2 * (1 - weights.red))
        green = (luma - red * weights.red - blue * weights.blue) / weights.green
        return _Colours(red, green, blue)

    def _recoloured(self, signals: Sequence[Signals]) -> list[Signals]:
        """Return what signals are by the deliverable's curve, and in its primaries."""
        if self._change is None:
            return list(signals)
        light = [_decoded(self._change.decoded_by, one) for one in signals]
        if self._turn is not None:
            light = list(np.tensordot(self._turn, np.stack(light), axes=1).clip(0, 1))
        return [_encoded(self._change.encoded_by, one) for one in light]

    def _written(self, colours: _Colours) -> list[Samples]:
        """Return codes, rounded half up; chroma is the mean over its luma samples."""
        luma = luma_scale(self._layout.bits, narrow=self._narrow)
        if self._layout.family is Family.RGB:
            return [self._whole(luma, one) for one in (colours.green, colours.blue, colours.red)]
        weights = self._weights
        shade = colours.red * weights.red + colours.green * weights.green
        shade += colours.blue * weights.blue
        if self._layout.family is Family.GREY:
            return [self._whole(luma, shade)]
        chroma = chroma_scale(self._layout.bits, narrow=self._narrow)
        differences = (
            (colours.blue - shade) / (2 * (1 - weights.blue)),
            (colours.red - shade) / (2 * (1 - weights.red)),
        )
        means = (_mean_over(one, self._layout) for one in differences)
        return [self._whole(luma, shade), *(self._whole(chroma, one) for one in means)]

    def _whole(self, scale: CodeScale, signals: Signals) -> Samples:
        codes = scale.codes(signals + _TIE)
        return codes.clip(0, (1 << self._layout.bits) - 1).astype(np.uint16)


def _weights(picture: PictureFormat, height: int) -> LumaWeights:
    """Return what luma is made of; RGB and grey, which have no matrix, take the usual one."""
    yuv = layout_of(picture.pixel_format).family is Family.YUV
    found = luma_weights(picture.matrix if yuv else _UNSPECIFIED, height)
    if found is None:
        raise TypeError(picture.matrix)
    return found


def _mean_over(signals: Signals, layout: PixelLayout) -> Signals:
    """Return the mean of the luma samples under each chroma sample; the last may have fewer."""
    height, width = signals.shape
    rows, columns = np.arange(0, height, layout.down), np.arange(0, width, layout.across)
    sums = np.add.reduceat(np.add.reduceat(signals, rows, axis=0), columns, axis=1)
    under = np.minimum(height - rows, layout.down)[:, None]
    means: Signals = sums / (under * np.minimum(width - columns, layout.across))
    return means


def _decoded(curve: Curve, signals: Signals) -> Signals:
    if isinstance(curve, Transfer):
        return decode(curve, signals)
    return np.copysign(np.abs(signals) ** curve, signals)


def _encoded(curve: Curve, light: Signals) -> Signals:
    if isinstance(curve, Transfer):
        return encode(curve, light)
    return np.copysign(np.abs(light) ** (1 / curve), light)


def _between(one: int, other: int) -> Signals:
    """Return the matrix from linear light of some primaries to that of others, shape (3, 3)."""
    turn: Signals = np.linalg.inv(_to_xyz(other)) @ _to_xyz(one)
    return turn


def _to_xyz(primaries: int) -> Signals:
    """Return the matrix from linear red, green and blue to CIE XYZ, shape (3, 3).

    Its columns are the primaries, so weighted that their sum is white: SMPTE RP 177.
    """
    x, y = np.array([*CHROMATICITIES[primaries], _WHITE]).T
    columns = np.stack([x / y, np.ones(4), (1 - x - y) / y])
    made: Signals = columns[:, :3] * np.linalg.solve(columns[:, :3], columns[:, 3])
    return made
