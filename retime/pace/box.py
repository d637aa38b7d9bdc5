"""Where in the picture is looked: a box, which may move evenly from a first place to a last."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from msgspec import Struct

from retime.errors import CommandError

if TYPE_CHECKING:
    from retime.light.raster import Rectangle

__all__ = ["Area", "Course", "check_inside"]


class Area(NamedTuple):
    """A part of a picture in samples, from its top left corner; it need not be whole."""

    left: float
    top: float
    width: float
    height: float


class Course(Struct, frozen=True, kw_only=True):
    """A box's places at the first and at the last of so many frames; between, it moves evenly."""

    first: Rectangle
    last: Rectangle
    frames: int

    @property
    def moves(self) -> bool:
        """Whether the box is not the same throughout."""
        return self.first != self.last

    def at(self, frame: int) -> Area:
        """Return the box at a frame, counted from 0."""
        part = frame / (self.frames - 1) if self.frames > 1 else 0.0
        return Area(
            *(
                one + part * (other - one)
                for one, other in zip(_sides(self.first), _sides(self.last), strict=True)
            )
        )

    @property
    def around(self) -> Area:
        """The smallest area that holds every place of the box."""
        left, top = (min(pair) for pair in zip(*map(_corner, (self.first, self.last)), strict=True))
        right = max(one.left + one.width for one in (self.first, self.last))
        bottom = max(one.top + one.height for one in (self.first, self.last))
        return Area(left, top, right - left, bottom - top)


def check_inside(option: str, box: Rectangle, width: int, height: int) -> None:
    """Refuse a box that stands out of a picture of a size; raises CommandError."""
    if box.left + box.width > width or box.top + box.height > height:
        right, bottom = box.left + box.width - 1, box.top + box.height - 1
        raise CommandError(
            f"{option}: the box reaches to column {right} and row {bottom}, "
            f"but the scan's pictures are {width}x{height}",
            "columns and rows count from 0 at the top left corner",
        )


def _sides(box: Rectangle) -> tuple[int, int, int, int]:
    return box.left, box.top, box.width, box.height


def _corner(box: Rectangle) -> tuple[int, int]:
    return box.left, box.top
