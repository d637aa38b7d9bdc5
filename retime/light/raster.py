"""Rasters, and how a picture of one comes into another without being distorted.

A framing says what of a scan is the picture at all, before it comes into any raster.

The shape of a raster's picture is width x sample aspect / height. Standard-definition rasters
carry the picture in 704 or in all 720 of their samples (Rec. ITU-R BT.601 has 720 a line, the
analogue line is shorter), which is why the active width is told apart from the raster's own.
"""

from __future__ import annotations

import re
from enum import StrEnum
from fractions import Fraction

from msgspec import Struct

from retime.errors import NotationError

__all__ = [
    "LARGEST_SIDE",
    "Fit",
    "Fitting",
    "Flip",
    "Framing",
    "Raster",
    "Rectangle",
    "fit_into",
    "parse_area",
    "parse_aspect",
    "parse_size",
    "raster_of",
]

LARGEST_SIDE = 16_384
"""The most samples that a raster has along one side: beyond the largest film scanners."""

_SHOWN = 60  # characters of what is refused
_SIZE = re.compile(r"([1-9][0-9]{0,4})x([1-9][0-9]{0,4})")
_ASPECT = re.compile(r"([1-9][0-9]{0,3}):([1-9][0-9]{0,3})")
_AREA = re.compile(r"([0-9]{1,5}), *([0-9]{1,5}), *([1-9][0-9]{0,4}), *([1-9][0-9]{0,4})")


class Fit(StrEnum):
    """How a scan's picture comes into a deliverable's raster, its aspect kept."""

    KEEP = "keep"
    """The scan's own raster."""
    PAD = "pad"
    """The whole picture, black beside or above and below it."""
    FILL = "fill"
    """The whole raster, what stands out of it cut off."""


class Flip(StrEnum):
    """Which way a picture is mirrored."""

    HORIZONTAL = "horizontal"
    """Left and right change places, as in a scan from the film's other side."""
    VERTICAL = "vertical"
    """Top and bottom change places."""


class Rectangle(Struct, frozen=True, kw_only=True):
    """A part of a raster, in whole samples from its top left corner."""

    left: int
    top: int
    width: int
    height: int

    def __str__(self) -> str:
        """Return it as ``1440x1080+240+0``: width, height, left, top."""
        return f"{self.width}x{self.height}+{self.left}+{self.top}"


class Framing(Struct, frozen=True, kw_only=True):
    """Which part of a scan's pictures is picture, and how it lies.

    ``area`` is cut out first, in the scan's own samples as they lie in the file, None for all of
    them; what is left is then turned clockwise by ``rotate``, 0, 90, 180 or 270 degrees; and then
    it is flipped. ``sample_aspect`` is that of the file's samples as they lie, told instead of what
    its header says.
    """

    area: Rectangle | None = None
    rotate: int = 0
    flip: Flip | None = None
    sample_aspect: Fraction | None = None

    @property
    def whole(self) -> bool:
        """Whether nothing is changed: the scan's pictures are taken as they are."""
        return self == Framing()


class Raster(Struct, frozen=True, kw_only=True):
    """A raster as it is to be shown; ``active_width`` samples of its width carry the picture."""

    width: int
    height: int
    sample_aspect: Fraction
    active_width: int

    @property
    def shape(self) -> Fraction:
        """Width over height of the active part as it is shown."""
        return Fraction(self.active_width, self.height) * self.sample_aspect


class Fitting(Struct, frozen=True, kw_only=True):
    """What is taken of a scan's raster, and where it is painted in the deliverable's."""

    taken: Rectangle
    placed: Rectangle


def raster_of(
    size: tuple[int, int], display_aspect: Fraction | None, active_width: int | None
) -> Raster:
    """Return the raster of a size whose active width has a display aspect.

    Samples are square where no display aspect is told, and the whole width is active where no
    active width is. For 720x480 and 720x576 at 4:3 the sample aspect comes out as 10:11 and 12:11
    from 704 active samples, as 8:9 and 16:15 from 720.
    """
    width, height = size
    active = width if active_width is None else active_width
    square = Fraction(1)
    sample = square if display_aspect is None else display_aspect * Fraction(height, active)
    return Raster(width=width, height=height, sample_aspect=sample, active_width=active)


def fit_into(
    scan: Raster,
    target: Raster,
    fit: Fit,
    cut_step: tuple[int, int] = (1, 1),
    paint_step: tuple[int, int] = (1, 1),
) -> Fitting:
    """Return what is taken of the scan's raster to be painted into the target's, and where.

    The steps are what chroma sampling asks: across and down, the multiples that positions and
    sizes keep to, of the scan's samples and of the target's. Both rectangles stand in the middle.
    The picture keeps its shape to within half a step: half a sample where the step is 1.
    """
    if fit is Fit.FILL:
        taken = _central(scan, _cut(scan, target.shape), cut_step)
        placed = _central(target, (Fraction(target.active_width), target.height), paint_step)
        return Fitting(taken=taken, placed=placed)
    taken = Rectangle(left=0, top=0, width=scan.width, height=scan.height)
    return Fitting(taken=taken, placed=_central(target, _within(target, scan.shape), paint_step))


def _cut(scan: Raster, shape: Fraction) -> tuple[Fraction | int, Fraction | int]:
    """Return the largest part of a scan that has a shape, in the scan's samples."""
    if scan.shape > shape:
        return shape * scan.height / scan.sample_aspect, scan.height
    return scan.width, scan.width * scan.sample_aspect / shape


def _within(target: Raster, shape: Fraction) -> tuple[Fraction | int, Fraction | int]:
    """Return the largest picture of a shape in a raster's active part, in the raster's samples."""
    if shape < target.shape:
        return shape * target.height / target.sample_aspect, target.height
    return target.active_width, target.active_width * target.sample_aspect / shape


def _central(
    raster: Raster, size: tuple[Fraction | int, Fraction | int], step: tuple[int, int]
) -> Rectangle:
    """Return the rectangle of about a size in the middle of a raster, in whole steps."""
    (left, width), (top, height) = (
        _centred(whole, Fraction(part), one)
        for whole, part, one in zip((raster.width, raster.height), size, step, strict=True)
    )
    return Rectangle(left=left, top=top, width=width, height=height)


def _centred(whole: int, part: Fraction, step: int) -> tuple[int, int]:
    """Return position and size of a part along one side, in whole steps, the nearest (half up).

    All of a side stays all of it, whatever the step.
    """
    if part == whole or whole < step:
        return 0, whole
    steps = (part / step + Fraction(1, 2)) // 1
    size = min(max(1, steps), whole // step) * step
    return (whole - size) // (2 * step) * step, size


def parse_size(text: str) -> tuple[int, int]:
    """Read ``1920x1080``, each side from 1 to 16384; raises NotationError."""
    found = _SIZE.fullmatch(text)
    if not found:
        raise NotationError(f"{text[:_SHOWN]!r} is no raster", "write width x height: 1920x1080")
    width, height = int(found[1]), int(found[2])
    if max(width, height) > LARGEST_SIDE:
        raise NotationError(f"the raster {text} is too large", f"a side has at most {LARGEST_SIDE}")
    return width, height


def parse_area(text: str) -> Rectangle:
    """Read ``x,y,w,h``, the first two from 0, the others from 1; raises NotationError."""
    found = _AREA.fullmatch(text)
    if not found:
        raise NotationError(
            f"{text[:_SHOWN]!r} is no area",
            "write left, top, width, height in samples of the scan: 64,20,1920,1440",
        )
    left, top, width, height = (int(found[place]) for place in range(1, 5))
    return Rectangle(left=left, top=top, width=width, height=height)


def parse_aspect(text: str) -> Fraction:
    """Read a display aspect, ``16:9``; raises NotationError."""
    found = _ASPECT.fullmatch(text)
    if not found:
        raise NotationError(
            f"{text[:_SHOWN]!r} is no display aspect", "write width : height: 16:9 or 4:3"
        )
    return Fraction(int(found[1]), int(found[2]))
