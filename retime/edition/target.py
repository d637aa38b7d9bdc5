"""What a deliverable's pictures are to be, given the scans and the profile."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from retime.errors import NotationError
from retime.picture.formats import Family, best_format, layout_of, plain_name

if TYPE_CHECKING:
    from collections.abc import Sequence

    from retime.light.format import PictureFormat
    from retime.profile.model import Profile

__all__ = ["one_raster", "target_format"]

# Codes of Rec. ITU-T H.273: MatrixCoefficients 0 is RGB, 1 is BT.709, 2 is unspecified; FFmpeg's
# ranges 1 and 2 are narrow and full.
_RGB, _BT709, _UNSPECIFIED = 0, 1, 2
_NARROW, _FULL = 1, 2


def one_raster(pictures: Sequence[PictureFormat]) -> None:
    """Raise NotationError unless all reels have one raster and one sample aspect."""
    first = pictures[0]
    for number, picture in enumerate(pictures[1:], 2):
        if (picture.width, picture.height) != (first.width, first.height):
            raise NotationError(
                f"the first scan is {first.width}x{first.height} and scan {number} is "
                f"{picture.width}x{picture.height}",
                "a deliverable has one raster: bring the scans to one size",
            )
        if (picture.sample_aspect or 1) != (first.sample_aspect or 1):
            raise NotationError(
                f"the first scan's sample aspect is {first.sample_aspect or 1} and that of "
                f"scan {number} is {picture.sample_aspect or 1}",
                "a deliverable has one sample aspect: have the scans' headers agree",
            )


def target_format(pictures: Sequence[PictureFormat], profile: Profile) -> PictureFormat:
    """Return the format of a deliverable's pictures; the deepest scan decides its depth.

    Raises NotationError where the profile's format cannot hold the raster, or where turning
    YUV into RGB needs a matrix that the scan does not state.
    """
    scan = max(pictures, key=lambda one: layout_of(one.pixel_format).bits)
    name = plain_name(scan.pixel_format)
    if profile.pixel_formats:
        name = best_format(scan.pixel_format, profile.pixel_formats)
    layout, was = layout_of(name), layout_of(scan.pixel_format)
    if scan.width % layout.across or scan.height % layout.down:
        raise NotationError(
            f"{scan.width}x{scan.height} does not divide into the chroma samples of {name}",
            f"{profile.name} takes an even width" + (" and height" if layout.down > 1 else ""),
        )
    target = replace(scan, pixel_format=name)
    if layout.family is was.family:
        if scan.range == _FULL and profile.codec and profile.codec.narrow_range:
            return replace(target, range=_NARROW)
        return target
    if layout.family is Family.YUV:
        matrix = _BT709 if was.family is Family.RGB else scan.matrix
        return replace(target, matrix=matrix, range=_NARROW)
    if was.family is Family.YUV and scan.matrix == _UNSPECIFIED:
        raise NotationError(
            f"the scan does not say by which matrix its YUV was made, and {profile.name} is RGB",
            "have the scan's header state it, or take a profile that keeps YUV",
        )
    return replace(target, matrix=_RGB, range=_FULL)
