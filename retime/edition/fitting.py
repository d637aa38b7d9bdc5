"""Into what raster a deliverable's pictures come: map and profile taken together."""

from __future__ import annotations

from typing import TYPE_CHECKING

from msgspec import Struct

from retime.edition.target import check_raster, one_colour, one_raster, target_format
from retime.errors import DocumentError, NotationError
from retime.findings import Finding
from retime.light.raster import Fit, Raster, raster_of
from retime.picture.fields import check_weavable
from retime.profile.faults import check_picture

if TYPE_CHECKING:
    from collections.abc import Sequence

    from retime.light.format import PictureFormat
    from retime.profile.model import Profile
    from retime.speedmap.model import Deliverable

__all__ = ["Wanted", "fitted_target", "wanted_raster"]

_SAID_IN = ("size", "raster", "profile")  # the keys that say it, the nearest first


class Wanted(Struct, frozen=True, kw_only=True):
    """What a deliverable's raster is to be, None for the scan's own, and how pictures come in."""

    fit: Fit
    raster: Raster | None


def wanted_raster(deliverable: Deliverable, profile: Profile) -> Wanted:
    """Return what map and profile ask for; no scan need be there.

    The deliverable's ``raster`` goes before the profile's; its ``size`` is for profiles that state
    none, and its samples are square unless the profile has a display aspect. Raises DocumentError
    where the two do not go together.
    """
    fit = profile.fit if deliverable.raster is None else deliverable.raster
    if profile.codec is None and (fit is not Fit.KEEP or deliverable.size is not None):
        key = "raster" if fit is not Fit.KEEP else "size"
        text = f"{profile.name} copies the scan's pictures, which have the raster that they have"
        raise _fault(deliverable, text, f"leave {key} out, or take another profile", key)
    if profile.size is not None and deliverable.size is not None:
        text = f"{profile.name} states its raster, {_said(profile.size)}"
        raise _fault(deliverable, text, "leave size out", "size")
    size = profile.size or deliverable.size
    if size is None:
        if fit is not Fit.KEEP:
            text = f"to {fit} needs a raster, and {profile.name} states none"
            raise _fault(deliverable, text, "add size: 1920x1080 or another", "raster")
        return Wanted(fit=fit, raster=None)
    return Wanted(fit=fit, raster=raster_of(size, profile.display_aspect, profile.active_width))


def fitted_target(
    deliverable: Deliverable,
    profile: Profile,
    pictures: Sequence[PictureFormat],
    *,
    interlaced: bool = False,
) -> PictureFormat:
    """Return the format of a deliverable's pictures, given those of all its scans.

    Scans of several rasters come into one where they are padded or fill it. Raises NotationError
    or DocumentError where they cannot come into what is wanted.
    """
    wanted = wanted_raster(deliverable, profile)
    check = one_raster if wanted.fit is Fit.KEEP else one_colour
    check(pictures)
    if wanted.raster is not None and wanted.fit is Fit.KEEP:
        _check_kept(deliverable, profile, wanted.raster, pictures[0])
    target = target_format(pictures, profile, wanted.raster, wanted.fit)
    try:
        check_raster(pictures, target, profile)
        if profile.codec is not None and profile.container is not None:
            check_picture(profile.codec, profile.variant, profile.container, target)
        if interlaced:
            check_weavable(target)
    except NotationError as error:
        raise _fault(deliverable, error.text, error.hint, *_SAID_IN) from error
    return target


def _check_kept(
    deliverable: Deliverable, profile: Profile, raster: Raster, scan: PictureFormat
) -> None:
    """Raise DocumentError where a raster that is kept is not the one that is stated."""
    of = profile.name if deliverable.size is None else deliverable.name
    if (scan.width, scan.height) != (raster.width, raster.height):
        text = f"the scan is {_said((scan.width, scan.height))}, and {of} is "
        text += _said((raster.width, raster.height))
        hint = "write raster: pad or raster: fill, or leave the raster to the scan"
        raise _fault(deliverable, text, hint, *_SAID_IN)
    if scan.sample_aspect not in {None, raster.sample_aspect}:
        text = f"the scan's sample aspect is {scan.sample_aspect}, and that of {of} is "
        text += str(raster.sample_aspect)
        raise _fault(deliverable, text, "write raster: pad or raster: fill", *_SAID_IN)


def _said(size: tuple[int, int]) -> str:
    return f"{size[0]}x{size[1]}"


def _fault(deliverable: Deliverable, text: str, hint: str, *keys: str) -> DocumentError:
    """Return the error at the first of the keys that the deliverable has."""
    written = {"size": deliverable.size, "raster": deliverable.raster, "profile": True}
    key = next((one for one in keys if written[one]), "profile")
    place = deliverable.where.of(key)
    return DocumentError([Finding(place=place, rule="raster", text=text, hint=hint)])
