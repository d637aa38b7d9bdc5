"""How pictures are read for the flash check."""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING

from retime.check.flash_blocks import CELLS
from retime.errors import ScanError
from retime.light.raster import Framing
from retime.second.pictures import Fields, Shade, View

if TYPE_CHECKING:
    from pathlib import Path

    from retime.light.format import PictureFormat

__all__ = ["aspect_of", "flash_view"]

_UNSPECIFIED = 2  # Rec. ITU-T H.273, in all of its tables
_STANDARD_LINES = 576
# The same, TransferCharacteristics: curves of Rec. ITU-R BT.2100, whose white is not 200 cd/m2.
_HIGH_RANGE = {16: "PQ", 18: "HLG"}


def flash_view(
    path: Path,
    picture: PictureFormat,
    framing: Framing | None = None,
    fields: Fields = Fields.WHOLE,
) -> View:
    """Return how pictures of a format are read.

    Where Y'CbCr does not say its matrix, more than 576 lines are taken for BT.709 and others for
    BT.601: common practice. Raises ScanError for pictures of high dynamic range, of whose limits
    nothing is known here.
    """
    if picture.transfer in _HIGH_RANGE:
        raise ScanError(
            path,
            f"is of high dynamic range ({_HIGH_RANGE[picture.transfer]})",
            "the flash check knows the limits of standard dynamic range alone",
        )
    framing = framing or Framing()
    unsaid = picture.matrix == _UNSPECIFIED
    return View(
        width=CELLS[0],
        height=CELLS[1],
        shade=Shade.COLOUR,
        area=framing.area,
        rotate=framing.rotate,
        flip=framing.flip,
        fields=fields,
        matrix="bt709" if unsaid and picture.height > _STANDARD_LINES else None,
    )


def aspect_of(picture: PictureFormat) -> Fraction:
    """Return width over height of pictures as they are displayed."""
    return Fraction(picture.width, picture.height) * (picture.sample_aspect or 1)
