"""How pictures come from one raster into another, and of what format they are on the way.

Reports ask this too, which scale nothing: the scaling itself is in ``retime.picture.fit``.
"""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING

from msgspec.structs import replace

from retime.errors import NotationError
from retime.light.raster import Fit, Raster, fit_into
from retime.picture.formats import PALETTE, Family, layout_of, plain_name, planar_name

if TYPE_CHECKING:
    from retime.light.format import PictureFormat
    from retime.light.raster import Fitting

__all__ = ["fitted_format", "fitting_of", "planar_format"]


def fitting_of(source: PictureFormat, target: PictureFormat) -> Fitting | None:
    """Return how pictures of the source come into the target's raster; None if as they are.

    A source that does not tell its sample aspect has square samples.
    """
    if target.fit is Fit.KEEP or _shape(source) == _shape(target):
        return None
    cut, paint = (layout_of(one.pixel_format) for one in (source, target))
    return fit_into(
        _raster(source),
        _raster(target),
        target.fit,
        (cut.across, cut.down),
        (paint.across, paint.down),
    )


def _shape(picture: PictureFormat) -> tuple[int, int, Fraction]:
    return picture.width, picture.height, picture.sample_aspect or Fraction(1)


def _raster(picture: PictureFormat) -> Raster:
    width, height, sample_aspect = _shape(picture)
    return Raster(
        width=width,
        height=height,
        sample_aspect=sample_aspect,
        active_width=picture.active_width or width,
    )


def planar_format(source: PictureFormat) -> PictureFormat:
    """Return the format of a plane a component, without alpha, that a source is scaled from.

    Raises NotationError for what is no grey, RGB or YUV.
    """
    layout = layout_of(source.pixel_format)
    if source.pixel_format == PALETTE:
        raise NotationError(
            "the scan's pictures have palettes of their own, and are scaled into no other raster",
            "write raster: keep, or have the scan scaled first",
        )
    if layout.family is Family.XYZ:
        raise NotationError(
            "the scan is in CIE XYZ, whose pictures retime scales into no other raster",
            "write raster: keep, or have the scan scaled first",
        )
    name = planar_name(layout.family, 16 if layout.real else layout.bits, layout)
    if plain_name(source.pixel_format) == name:
        return source
    return replace(source, pixel_format=name)


def fitted_format(source: PictureFormat, target: PictureFormat) -> PictureFormat:
    """Return the format that a source's pictures have once they stand in the target's raster.

    It is the source's but for the raster, for the deeper of both depths, and for chroma, which is
    scaled straight to the target's. Raises NotationError where they cannot be brought into it.
    """
    planar = planar_format(source)
    was, is_to_be = layout_of(planar.pixel_format), layout_of(target.pixel_format)
    if is_to_be.alpha or is_to_be.real:
        what = "alpha" if is_to_be.alpha else "samples that are no whole numbers"
        raise NotationError(
            f"pictures of {target.pixel_format}, with {what}, are not scaled into another raster",
            "name other pixel-formats in the profile, or write raster: keep",
        )
    chroma = is_to_be if is_to_be.family is Family.YUV else None
    return replace(
        planar,
        pixel_format=planar_name(was.family, max(was.bits, is_to_be.bits), chroma),
        width=target.width,
        height=target.height,
        sample_aspect=target.sample_aspect,
    )
