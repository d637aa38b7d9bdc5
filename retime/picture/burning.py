"""Text burnt into pictures: whether it fits, how large its letters are, where its box stands.

Reports ask this too, which draw nothing: letters are drawn in ``retime.picture.glyphs`` and put
into pictures in ``retime.picture.burner``.

Every letter stands in a cell of its own, all cells being of one size, in whole samples. A cell is
as wide as the font's letters are, so that its width decides their size, and they keep their shape
where samples are not square.
"""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING

from msgspec import Struct

from retime.errors import NotationError
from retime.film.rounding import ceiling_of, floor_of, half_up
from retime.light.raster import Rectangle
from retime.picture.formats import PALETTE, Family, layout_of
from retime.picture.packing import samples_per_pixel

if TYPE_CHECKING:
    from retime.light.burn_place import BurnPlace
    from retime.light.format import PictureFormat

__all__ = [
    "ADVANCE",
    "BurnLayout",
    "Cell",
    "TextExtent",
    "burn_layout",
    "check_burn",
    "extent_of",
    "safe_area",
]

# DejaVu Sans Mono, in parts of its em: tables hhea and hmtx, and the height of the letter H.
ADVANCE = Fraction(1233, 2048)
"""How wide every letter is, in parts of the font's em."""
_ASCENT, _DESCENT, _CAPITAL = Fraction(1901, 2048), Fraction(483, 2048), Fraction(1493, 2048)

_SAFE_MARGIN = Fraction(1, 20)  # EBU R 95, graphics safe area: from each edge of the active picture
# Legible where a picture of 480 lines is looked at: capitals of 16 lines. From trying it out.
_USUAL, _USUAL_LINES = Fraction(1, 30), 14
_LEAST, _LEAST_LINES = Fraction(1, 48), 10


class TextExtent(Struct, frozen=True, kw_only=True):
    """How much room a text takes: letters in its longest line, and lines; both at least 1."""

    columns: int
    lines: int


class Cell(Struct, frozen=True, kw_only=True):
    """The room for one letter, in samples across and lines down.

    ``em`` is the font's size in lines, and ``baseline`` how many lines of the cell are above it.
    """

    width: int
    height: int
    baseline: int
    em: Fraction

    @property
    def padding(self) -> tuple[int, int]:
        """How far a box stands out beyond its letters, across and down."""
        return half_up(Fraction(self.width, 2)), ceiling_of(self.em * _CAPITAL / 4)


class BurnLayout(Struct, frozen=True, kw_only=True):
    """A box in a raster, and in it the first cell's corner; all lines begin in one column."""

    box: Rectangle
    left: int
    top: int
    cell: Cell


class _Room(Struct, frozen=True, kw_only=True):
    """What a box may take of a raster: ``steps`` across and down, that its sides keep to."""

    area: Rectangle
    steps: tuple[int, int]

    def box_of(self, extent: TextExtent, cell: Cell) -> tuple[int, int]:
        """Return a box's width and height."""
        across, down = cell.padding
        asked = extent.columns * cell.width + 2 * across, extent.lines * cell.height + 2 * down
        width, height = (
            -(-side // step) * step for side, step in zip(asked, self.steps, strict=True)
        )
        return width, height

    def holds(self, extent: TextExtent, cell: Cell) -> bool:
        width, height = self.box_of(extent, cell)
        return width <= self.area.width and height <= self.area.height


def extent_of(text: str) -> TextExtent:
    """Return how much room a text takes, which may have several lines."""
    lines = text.split("\n")
    return TextExtent(columns=max(1, *map(len, lines)), lines=len(lines))


def check_burn(picture: PictureFormat, extent: TextExtent) -> None:
    """Raise NotationError where a text of an extent cannot be burnt into pictures of a format.

    That is so for a format whose samples are not written in place, and for a text that is too
    long even in the smallest letters.
    """
    _check_format(picture.pixel_format)
    _cell_for(picture, extent)


def burn_layout(
    picture: PictureFormat,
    place: BurnPlace,
    extent: TextExtent,
    largest: TextExtent | None = None,
) -> BurnLayout:
    """Return where a text of an extent stands, and how large its letters are.

    They are of the usual size, or as much smaller as is needed for the text, and for ``largest``
    if it is told, to fit. Raises NotationError like ``check_burn`` for what does not fit.
    """
    cell, room = _cell_for(picture, _larger(extent, largest or extent)), _room(picture)
    width, height = room.box_of(extent, cell)
    area, across = room.area, room.steps[0]
    left, top = area.left, area.top
    if place.at_right:
        left += area.width - width
    elif not place.at_left:
        left += (area.width - width) // (2 * across) * across
    if not place.at_top:
        top += area.height - height
    return BurnLayout(
        box=Rectangle(left=left, top=top, width=width, height=height),
        left=left + (width - extent.columns * cell.width) // 2,
        top=top + (height - extent.lines * cell.height) // 2,
        cell=cell,
    )


def safe_area(picture: PictureFormat) -> tuple[Fraction, Fraction, Fraction, Fraction]:
    """Return left, top, right and bottom of what is safe for graphics, in samples and lines.

    It keeps 5 % of the active picture's width and height from each of its edges, as EBU R 95 has
    it for the graphics safe area.
    """
    active = picture.active_width or picture.width
    across, down = _SAFE_MARGIN * active, _SAFE_MARGIN * picture.height
    left = Fraction(picture.width - active, 2) + across
    return left, down, picture.width - left, picture.height - down


def _larger(one: TextExtent, other: TextExtent) -> TextExtent:
    return TextExtent(columns=max(one.columns, other.columns), lines=max(one.lines, other.lines))


def _check_format(pixel_format: str) -> None:
    if samples_per_pixel(pixel_format) is not None:
        return
    layout = layout_of(pixel_format)
    what = ""
    if pixel_format == PALETTE:
        what = "with palettes of their own "
    elif layout.alpha:
        what = "with alpha "
    elif layout.family is Family.XYZ:
        what = "in CIE XYZ "
    raise NotationError(
        f"no text is burnt into pictures {what}in pixel format {pixel_format}",
        "name other pixel-formats in the profile: grey, RGB or planar Y'CbCr of 8 to 16 bits",
    )


def _room(picture: PictureFormat) -> _Room:
    """Return the safe area in whole steps.

    A step down is two lines, or two of chroma where it has fewer, so that of each field a box
    covers as many lines as of the other, and chroma of no line outside it.
    """
    layout = layout_of(picture.pixel_format)
    across, down = max(1, layout.across), 2 * max(1, layout.down)
    left, top, right, bottom = safe_area(picture)
    first, width = _whole(left, right, across)
    upper, height = _whole(top, bottom, down)
    area = Rectangle(left=first, top=upper, width=width, height=height)
    return _Room(area=area, steps=(across, down))


def _whole(first: Fraction, stop: Fraction, step: int) -> tuple[int, int]:
    """Return where the whole steps between two places begin, and how far they reach."""
    begin = ceiling_of(first / step) * step
    return begin, floor_of(stop / step) * step - begin


def _cell_for(picture: PictureFormat, extent: TextExtent) -> Cell:
    """Return the largest cell, up to the usual one, in which a text fits; raises NotationError."""
    room, least = _room(picture), _least_width(picture)
    usual = half_up(_width(picture, max(_USUAL * picture.height, Fraction(_USUAL_LINES))))
    for width in range(max(usual, least), least - 1, -1):
        cell = _cell(picture, width)
        if room.holds(extent, cell):
            return cell
    raise _too_long(picture, extent)


def _least_width(picture: PictureFormat) -> int:
    return ceiling_of(_width(picture, max(_LEAST * picture.height, Fraction(_LEAST_LINES))))


def _width(picture: PictureFormat, capital: Fraction) -> Fraction:
    """Return how many samples wide letters are whose capitals are so many lines high."""
    return capital / _CAPITAL * ADVANCE / _sample_aspect(picture)


def _cell(picture: PictureFormat, width: int) -> Cell:
    em = width * _sample_aspect(picture) / ADVANCE
    baseline = ceiling_of(em * _ASCENT)
    return Cell(width=width, height=baseline + ceiling_of(em * _DESCENT), baseline=baseline, em=em)


def _sample_aspect(picture: PictureFormat) -> Fraction:
    return picture.sample_aspect or Fraction(1)


def _too_long(picture: PictureFormat, extent: TextExtent) -> NotationError:
    """Return what is wrong with a text that does not fit, and how much would."""
    room, cell = _room(picture), _cell(picture, _least_width(picture))
    across, down = cell.padding
    columns = max(0, room.area.width - 2 * across) // cell.width
    lines = max(0, room.area.height - 2 * down) // cell.height
    raster = f"{picture.width}x{picture.height}"
    if not (columns and lines):
        return NotationError(
            f"no text that can be read fits into pictures of {raster}", "have a larger raster"
        )
    return NotationError(
        f"the text to be burnt in has {_told(extent.columns, extent.lines)}, and into pictures of "
        f"{raster} fit {_told(columns, lines)}, in the smallest that can be read",
        "have less burnt in, or a larger raster",
    )


def _told(columns: int, lines: int) -> str:
    return f"{lines} line{'s' if lines > 1 else ''} of {columns} letters"
