"""Where plates stand in a deliverable's raster, and which stills can be made into them.

Reports ask this too, which make no pictures: that is done in ``retime.picture.plate_maker``.
"""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING

from msgspec.structs import replace

from retime.errors import NotationError
from retime.light.raster import Fit, Raster, Rectangle, fit_into
from retime.picture.fitting import fitting_of
from retime.picture.formats import PALETTE, Family, layout_of
from retime.picture.ranges import is_narrow
from retime.picture.recolouring import recolouring, said

if TYPE_CHECKING:
    from retime.light.format import PictureFormat

__all__ = [
    "active_area",
    "check_plate",
    "keeps_codes",
    "picture_area",
    "place_in",
    "understood",
]

_UNSPECIFIED = 2  # Rec. ITU-T H.273, in all of its tables
_BT709, _BT601_625, _BT601 = 1, 5, 6  # the same, MatrixCoefficients
_STANDARD_LINES = 576
_NARROW, _FULL = 1, 2  # FFmpeg's codes for the range
# Rec. ITU-T H.273, MatrixCoefficients: those that are K_R and K_B and nothing else.
_MATRICES = frozenset({1, 4, 5, 6, 7, 9})


def active_area(target: PictureFormat) -> Rectangle:
    """Return the part of a deliverable's raster that may carry picture, on whole chroma steps."""
    layout, raster = layout_of(target.pixel_format), _raster(target)
    steps = (layout.across, layout.down)
    return fit_into(raster, raster, Fit.FILL, steps, steps).placed


def picture_area(scan: PictureFormat, target: PictureFormat) -> Rectangle:
    """Return where in a deliverable's raster the film's picture lies.

    That is where a scan, framed as it is, is placed; all of the active part where the scan comes
    in as it is.
    """
    fitting = fitting_of(scan, target)
    return active_area(target) if fitting is None else fitting.placed


def place_in(area: Rectangle, source: PictureFormat, target: PictureFormat) -> Rectangle:
    """Return where in a deliverable's raster a still stands that is to fill an area.

    All of it is seen, its aspect kept, in the middle of the area and on whole chroma steps. A
    still that does not tell its sample aspect has square samples; so has such a deliverable.
    """
    layout = layout_of(target.pixel_format)
    steps = (layout.across, layout.down)
    whole = Raster(
        width=area.width,
        height=area.height,
        sample_aspect=target.sample_aspect or Fraction(1),
        active_width=area.width,
    )
    inside = fit_into(_raster(source), whole, Fit.PAD, paint_step=steps).placed
    return Rectangle(
        left=area.left + inside.left,
        top=area.top + inside.top,
        width=inside.width,
        height=inside.height,
    )


def check_plate(source: PictureFormat, target: PictureFormat) -> None:
    """Raise NotationError where a still cannot be made into a plate of a deliverable."""
    _check_kinds(source, target)
    _check_matrices(source, target)
    recolouring(source, target)


def understood(source: PictureFormat, target: PictureFormat) -> PictureFormat:
    """Return a still's format with what it leaves unsaid taken as the deliverable's.

    That is transfer and primaries, and matrix and range where both are Y'CbCr.
    """
    still = replace(
        source,
        primaries=said(source.primaries, target.primaries),
        transfer=said(source.transfer, target.transfer),
    )
    if not _family(source) is _family(target) is Family.YUV:
        return still
    own_range = _NARROW if is_narrow(target) else _FULL
    return replace(
        still, matrix=said(source.matrix, target.matrix), range=source.range or own_range
    )


def keeps_codes(source: PictureFormat, target: PictureFormat) -> bool:
    """Tell whether an ``understood`` still's codes come into a deliverable as they are.

    They may become deeper on the way, and change their raster and chroma sampling.
    """
    was, is_to_be = layout_of(source.pixel_format), layout_of(target.pixel_format)
    return (
        was.family is is_to_be.family
        and not was.alpha
        and was.bits <= is_to_be.bits
        and is_narrow(source) == is_narrow(target)
        and (was.family is not Family.YUV or _same_matrix(source.matrix, target))
        and recolouring(source, target) is None
    )


def _check_kinds(source: PictureFormat, target: PictureFormat) -> None:
    was, is_to_be = layout_of(source.pixel_format), layout_of(target.pixel_format)
    if was.family is Family.XYZ or (was.alpha and (was.family is Family.YUV or was.real)):
        what = "CIE XYZ" if was.family is Family.XYZ else f"{source.pixel_format}, with alpha"
        raise NotationError(
            f"the still is in {what}, and no plate is made of such", "save it in RGB or grey"
        )
    if is_to_be.family is Family.XYZ or target.pixel_format == PALETTE:
        raise NotationError(
            f"pictures of the deliverable are {target.pixel_format}, of which no plate is made",
            "name other pixel-formats in the profile, or leave the still out",
        )


def _check_matrices(source: PictureFormat, target: PictureFormat) -> None:
    """Refuse what would have to be turned by a matrix that is not known."""
    still = understood(source, target)
    if _family(still) is Family.YUV and not keeps_codes(still, target):
        if still.matrix == _UNSPECIFIED and _family(target) is not Family.YUV:
            raise NotationError(
                "the still does not say by which matrix its Y'CbCr was made, and the deliverable "
                f"is {target.pixel_format}",
                "save it in RGB",
            )
        _check_matrix(still.matrix, "still", "save it in RGB")
    if _family(target) is Family.YUV and not keeps_codes(still, target):
        _check_matrix(target.matrix, "deliverable", "leave the still out")


def _same_matrix(code: int, target: PictureFormat) -> bool:
    """Tell whether a matrix is the deliverable's, unspecified ones being those of common practice.

    Above 576 lines that is BT.709, else BT.601, whose two codes have the same figures.
    """
    assumed = _BT709 if target.height > _STANDARD_LINES else _BT601
    one, other = (
        {_UNSPECIFIED: assumed, _BT601_625: _BT601}.get(matrix, matrix)
        for matrix in (code, target.matrix)
    )
    return one == other


def _check_matrix(code: int, whose: str, hint: str) -> None:
    if code not in {*_MATRICES, _UNSPECIFIED}:
        raise NotationError(
            f"the {whose}'s matrix has code {code} (ITU-T H.273), by which no plate is made", hint
        )


def _family(picture: PictureFormat) -> Family:
    return layout_of(picture.pixel_format).family


def _raster(picture: PictureFormat) -> Raster:
    return Raster(
        width=picture.width,
        height=picture.height,
        sample_aspect=picture.sample_aspect or Fraction(1),
        active_width=picture.active_width or picture.width,
    )
