"""What is done to bring scans into a deliverable's raster, as values and in words."""

from __future__ import annotations

from typing import TYPE_CHECKING

from typing_extensions import TypedDict

from retime.light.raster import Fitting, Rectangle
from retime.picture.fitting import fitting_of

if TYPE_CHECKING:
    from collections.abc import Iterator

    from retime.edition.edition import Making
    from retime.light.format import PictureFormat

__all__ = ["RasterTold", "ReelFitted", "raster_said", "raster_values"]


class ReelFitted(TypedDict):
    """One reel's scan: its raster, what is taken of it, and where that is placed.

    ``sample_aspect`` is null where the scan does not tell it. Both parts are width, height, left
    and top in samples, the one of the scan's raster, the other of the deliverable's.
    """

    reel: str
    size: str
    sample_aspect: str | None
    taken: str
    placed: str


class RasterTold(TypedDict):
    """A deliverable's raster; ``active_width`` samples of its width carry the picture."""

    fit: str
    size: str
    sample_aspect: str | None
    active_width: int
    reels: list[ReelFitted]


def raster_values(making: Making) -> RasterTold | None:
    """Return a deliverable's raster and how each reel comes into it; None while a scan is away."""
    made = making.picture
    if made is None:
        return None
    return RasterTold(
        fit=str(made.fit),
        size=_size(made.width, made.height),
        sample_aspect=_aspect(made),
        active_width=made.active_width or made.width,
        reels=[
            ReelFitted(
                reel=name,
                size=_size(scan.width, scan.height),
                sample_aspect=_aspect(scan),
                taken=str(fitting.taken),
                placed=str(fitting.placed),
            )
            for name, scan, fitting in _fittings(making, made)
        ],
    )


def raster_said(making: Making) -> str | None:
    """Return the same in a sentence; None while a scan is away."""
    made = making.picture
    if made is None:
        return None
    told = {name: _done(scan, made, fitting) for name, scan, fitting in _fittings(making, made)}
    whole = _size(made.width, made.height)
    if made.sample_aspect not in {None, 1}:
        whole += f", sample aspect {made.sample_aspect}"
    if not any(told.values()):
        return whole
    if len(set(told.values())) == 1:
        return f"{whole}: {next(iter(told.values()))}"
    reels = (f"reel {name} {done or 'as it is'}" for name, done in told.items())
    return f"{whole}: {'; '.join(reels)}"


def _fittings(making: Making, made: PictureFormat) -> Iterator[tuple[str, PictureFormat, Fitting]]:
    """Yield each reel's name, its scan's format and how that comes into a raster."""
    for scan in making.scans:
        if scan.picture is not None:
            own = scan.picture
            yield scan.reel.name, own, fitting_of(own, made) or _as_it_is(own)


def _as_it_is(own: PictureFormat) -> Fitting:
    whole = Rectangle(left=0, top=0, width=own.width, height=own.height)
    return Fitting(taken=whole, placed=whole)


def _done(scan: PictureFormat, made: PictureFormat, fitting: Fitting) -> str:
    """Say what is done to a scan's pictures, nothing where nothing is."""
    taken, placed = fitting.taken, fitting.placed
    told = []
    if cut := _beside(taken, scan):
        told.append(f"cut by {cut}")
    if (taken.width, taken.height) != (placed.width, placed.height):
        told.append(f"scaled to {_size(placed.width, placed.height)}")
    if black := _beside(placed, made):
        told.append(f"black {black}")
    return f"{_size(scan.width, scan.height)} {', '.join(told)}" if told else ""


def _beside(part: Rectangle, whole: PictureFormat) -> str:
    """Say how many samples of a raster stand on each side of a part of it."""
    sides = {
        "left": part.left,
        "right": whole.width - part.left - part.width,
        "above": part.top,
        "below": whole.height - part.top - part.height,
    }
    return ", ".join(f"{count} {side}" for side, count in sides.items() if count)


def _size(width: int, height: int) -> str:
    return f"{width}x{height}"


def _aspect(picture: PictureFormat) -> str | None:
    return None if picture.sample_aspect is None else str(picture.sample_aspect)
