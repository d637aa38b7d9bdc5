"""What a deliverable's pictures are to be, given the scans and the profile."""

from __future__ import annotations

from typing import TYPE_CHECKING

from msgspec.structs import replace

from retime.errors import NotationError
from retime.light.raster import Fit
from retime.picture.fitting import fitted_format, fitting_of
from retime.picture.formats import (
    Family,
    best_format,
    encodable_formats,
    layout_of,
    lossless_format,
    plain_name,
)

if TYPE_CHECKING:
    from collections.abc import Sequence

    from retime.light.format import PictureFormat
    from retime.light.raster import Raster
    from retime.profile.model import Profile

__all__ = ["check_raster", "one_colour", "one_raster", "target_format"]

# Codes of Rec. ITU-T H.273: MatrixCoefficients 0 is RGB, 1 is BT.709, 2 is unspecified; FFmpeg's
# ranges 1 and 2 are narrow and full.
_RGB, _BT709, _UNSPECIFIED = 0, 1, 2
_NARROW, _FULL = 1, 2
_TOLD = 8


def one_raster(pictures: Sequence[PictureFormat]) -> None:
    """Raise NotationError unless all reels have one raster, one sample aspect, one colour."""
    one_colour(pictures)
    first = pictures[0]
    for number, picture in enumerate(pictures[1:], 2):
        if (picture.width, picture.height) != (first.width, first.height):
            raise NotationError(
                f"the first scan is {first.width}x{first.height} and scan {number} is "
                f"{picture.width}x{picture.height}",
                "a deliverable has one raster: bring the scans to one size, or write raster: pad "
                "and a size",
            )
        if (picture.sample_aspect or 1) != (first.sample_aspect or 1):
            raise NotationError(
                f"the first scan's sample aspect is {first.sample_aspect or 1} and that of "
                f"scan {number} is {picture.sample_aspect or 1}",
                "a deliverable has one sample aspect: have the scans' headers agree",
            )


def one_colour(pictures: Sequence[PictureFormat]) -> None:
    """Raise NotationError unless all reels have one colour.

    Matrix and range may differ, for pictures are converted to one of each; primaries and transfer
    may not, unless a scan leaves them unsaid.
    """
    first = pictures[0]
    for number, picture in enumerate(pictures[1:], 2):
        for what in ("primaries", "transfer"):
            one, other = getattr(first, what), getattr(picture, what)
            if one != other and _UNSPECIFIED not in {one, other}:
                raise NotationError(
                    f"the first scan's colour {what} has code {one} and that of scan {number} "
                    f"has {other} (codes of ITU-T H.273)",
                    "retime does not convert them: bring the scans to one colour",
                )


def target_format(
    pictures: Sequence[PictureFormat],
    profile: Profile,
    raster: Raster | None = None,
    fit: Fit = Fit.KEEP,
) -> PictureFormat:
    """Return the format of a deliverable's pictures; the deepest scan decides its depth.

    ``raster`` is that of the deliverable, None for the scans' own. Raises NotationError where the
    profile's format cannot hold the samples, or where turning YUV into RGB needs a matrix that a
    scan does not state.
    """
    scan = max(pictures, key=lambda one: layout_of(one.pixel_format).bits)
    if raster is None:
        return _sampled(scan, pictures, profile)
    return _sampled(_in_raster(scan, raster, fit), pictures, profile)


def check_raster(
    pictures: Sequence[PictureFormat], target: PictureFormat, profile: Profile
) -> None:
    """Raise NotationError where a target's raster does not suit its samples or its scans."""
    layout = layout_of(target.pixel_format)
    if target.width % layout.across or target.height % layout.down:
        raise NotationError(
            f"{target.width}x{target.height} does not divide into the chroma samples of "
            f"{target.pixel_format}",
            f"{profile.name} takes an even width" + (" and height" if layout.down > 1 else ""),
        )
    for picture in pictures:
        if fitting_of(picture, target) is not None:
            fitted_format(picture, target)


def _in_raster(scan: PictureFormat, raster: Raster, fit: Fit) -> PictureFormat:
    """Return a scan's format with the raster that its pictures are to have."""
    whole = raster.active_width == raster.width
    return replace(
        scan,
        width=raster.width,
        height=raster.height,
        sample_aspect=raster.sample_aspect,
        fit=fit,
        active_width=None if whole else raster.active_width,
    )


def _sampled(
    scan: PictureFormat, pictures: Sequence[PictureFormat], profile: Profile
) -> PictureFormat:
    """Return a scan's format with the samples that the profile's pictures have."""
    name = _pixel_format(scan.pixel_format, profile)
    layout, was = layout_of(name), layout_of(scan.pixel_format)
    for picture in pictures:
        _check_family(picture, layout.family, profile)
    target = replace(scan, pixel_format=name)
    if layout.family is was.family:
        if scan.range == _FULL and profile.codec and profile.codec.narrow_range:
            return replace(target, range=_NARROW)
        return target
    if layout.family is Family.YUV:
        # Grey has no matrix, and what calls itself RGB cannot keep that name.
        kept = was.family is Family.GREY and scan.matrix != _RGB
        return replace(target, matrix=scan.matrix if kept else _BT709, range=_NARROW)
    return replace(target, matrix=_RGB, range=_FULL)


def _pixel_format(scan: str, profile: Profile) -> str:
    """Return the pixel format that the profile's encoder is given, the scan's own if copied."""
    if profile.codec is None:
        return plain_name(scan)
    encodable = encodable_formats(profile.codec.encoder)
    if profile.pixel_formats:
        allowed = [name for name in profile.pixel_formats if name in encodable]
        if not allowed:
            raise NotationError(
                f"{profile.codec.name} is not encoded in any pixel format of {profile.name}",
                f"among those that it is encoded in are {', '.join(encodable[:_TOLD])}",
            )
        return best_format(scan, allowed)
    name = lossless_format(scan, encodable)
    if name is None:
        raise NotationError(
            f"the scan's pixel format is {scan}, and {profile.codec.name} has none that holds it "
            "without loss",
            "take a profile that states its pixel formats",
        )
    return name


def _check_family(picture: PictureFormat, family: Family, profile: Profile) -> None:
    """Refuse a conversion that would have to guess."""
    was = layout_of(picture.pixel_format).family
    if was is Family.YUV and family is Family.RGB and picture.matrix == _UNSPECIFIED:
        raise NotationError(
            f"the scan does not say by which matrix its YUV was made, and {profile.name} is RGB",
            "have the scan's header state it, or take a profile that keeps YUV",
        )
    if was is Family.XYZ and family is not Family.XYZ:
        raise NotationError(
            f"the scan is in CIE XYZ, and {profile.name} is {family.value.upper()}",
            "retime brings no XYZ into another colour space: have that done first",
        )
