"""Which way a deliverable is made, and why: a pure choice."""

from __future__ import annotations

from enum import StrEnum
from typing import TYPE_CHECKING

from msgspec import Struct

from retime.light.raster import Fit
from retime.picture.fitting import fitting_of
from retime.picture.formats import plain_name
from retime.profile.model import Container
from retime.render.containers import copy_container
from retime.render.flagging import flagging_of

if TYPE_CHECKING:
    from collections.abc import Sequence

    from retime.edition.edition import Making
    from retime.edition.scans import ReelScan
    from retime.light.format import PictureFormat
    from retime.media.facts import ScanFacts
    from retime.profile.model import Profile

__all__ = ["Choice", "Route", "choose_route", "route_of"]


_BOTTOM_UP = b"BottomUp\0"  # FFmpeg's mark in the extradata of uncompressed pictures from AVI


class Route(StrEnum):
    """How pictures get from the scans into a deliverable."""

    COPY = "copy"
    """Coded pictures are written as often as they are shown; nothing is decoded."""
    ENCODE_ONCE = "encode-once"
    """Each film frame is decoded and encoded once, its coded picture written as often as shown."""
    STREAM = "stream"
    """Output frames are made one by one, and encoded in order."""


class Choice(Struct, frozen=True, kw_only=True):
    """The route and its reason; ``route`` is None where there is none."""

    route: Route | None
    reason: str


def route_of(making: Making) -> Choice:
    """Choose for one of an edition's deliverables; none while a scan is away."""
    for scan in making.scans:
        if scan.away:
            return Choice(route=None, reason=scan.away)
    facts = [scan.facts for scan in making.scans if scan.facts is not None]
    foreign = _foreign(making) or _joined(making.scans)
    foreign = foreign or _refitted(making.scans, making.picture)
    choice = choose_route(making.profile, facts, composed=_composed(making), foreign=foreign)
    return _flagged(making, choice)


def _joined(scans: Sequence[ReelScan]) -> str | None:
    """Return why film frames are not in the scans' own coded pictures, or None."""
    if any(scan.sifting is not None and scan.sifting.woven for scan in scans):
        return "film frames are joined from fields of two scan frames"
    return None


def _flagged(making: Making, choice: Choice) -> Choice:
    """Return the choice with what is to be said of repeat flags, where the profile uses them."""
    flagging = flagging_of(making)
    if choice.route is not Route.STREAM or flagging is None:
        return choice
    if isinstance(flagging, str):
        return Choice(route=Route.STREAM, reason=f"no repeat flags: {flagging}; {choice.reason}")
    reason = "each film frame is encoded once, and repeat flags show it for two fields or three"
    return Choice(route=Route.STREAM, reason=reason)


def _composed(making: Making) -> str | None:
    """Return why a deliverable's pictures are made of several film frames, or None."""
    if making.plan.window is not None:
        return "output frames are means of film frames"
    if making.plan.carry.in_fields:
        return "output frames are woven from the fields of film frames"
    if making.deliverable.burn:
        return "what is burnt in changes with every output frame"
    return None


def _foreign(making: Making) -> str | None:
    """Return why not all of a deliverable's pictures are a scan's own, or None."""
    if making.scanning.interlaced:
        return f"its pictures are to be marked {making.scanning}"
    plates = making.plan.plates()
    if plates:
        what = "black has" if plates == {None} else "pictures of other files have"
        return f"{what} to be encoded beside the scan's pictures"
    if any(scan.reel.framing is not None for scan in making.scans):
        return "the scan's pictures are framed as the map says"
    return None


def _refitted(scans: Sequence[ReelScan], made: PictureFormat | None) -> str | None:
    """Return in what a deliverable's raster is not the scans' own, or None."""
    if made is None:
        return None
    for scan in scans:
        own = scan.picture
        if own is None:
            continue
        if fitting_of(own, made) is not None:
            how = "cut to fill" if made.fit is Fit.FILL else "padded into"
            return f"{own.width}x{own.height} is {how} {made.width}x{made.height}"
        if (own.sample_aspect or 1) != (made.sample_aspect or 1):
            return f"the scan does not say the sample aspect, {made.sample_aspect}"
    return None


def choose_route(
    profile: Profile,
    scans: Sequence[ScanFacts],
    *,
    composed: str | None = None,
    foreign: str | None = None,
) -> Choice:
    """Choose for a deliverable that uses ``scans``, in order.

    ``composed`` says why its pictures are made of several film frames, if they are, and
    ``foreign`` why else not all are a scan's own.
    """
    refusal = _why_not_copy(profile, scans, composed or foreign)
    if refusal is None:
        return Choice(
            route=Route.COPY,
            reason=f"{scans[0].codec} is intra-only and is what {profile.name} asks for",
        )
    if profile.codec is None:
        return Choice(route=None, reason=f"no copy: {refusal}")
    if not profile.codec.intra:
        reason = f"pictures of {profile.codec.name} lean on each other, so all are encoded in order"
        return Choice(route=Route.STREAM, reason=reason)
    if composed:
        return Choice(route=Route.STREAM, reason=f"{composed}, each made and encoded once")
    return Choice(route=Route.ENCODE_ONCE, reason=f"no copy: {refusal}")


def _why_not_copy(profile: Profile, scans: Sequence[ScanFacts], made: str | None) -> str | None:
    """Return the first reason against copying, or None."""
    for number, scan in enumerate(scans, 1):
        reason = _why_not_this(profile, scan)
        if reason:
            return f"scan {number}: {reason}" if len(scans) > 1 else reason
    if made:
        return made
    for number, scan in enumerate(scans[1:], 2):
        difference = _difference(scans[0], scan)
        if difference:
            return f"scan {number} differs from the first in its {difference}"
    return None


def _why_not_this(profile: Profile, scan: ScanFacts) -> str | None:
    """Return what keeps one scan from being copied into the profile's files."""
    unlike = _unlike(profile, scan)
    if unlike:
        return unlike
    if not scan.intra:
        return scan.intra_reason
    if profile.codec is None and copy_container(scan) is None:
        what = scan.picture.pixel_format if scan.codec == "rawvideo" else scan.codec
        return f"neither MOV nor Matroska holds {what} so that readers know it"
    if scan.codec == "rawvideo" and scan.extradata.endswith(_BOTTOM_UP):
        return "its pictures are stored bottom up, which only AVI can say"
    return None


def _unlike(profile: Profile, scan: ScanFacts) -> str | None:
    """Return in what a scan is not what the profile asks for; as scanned, it always is."""
    codec = profile.codec
    if codec is None:
        return None
    if scan.codec != codec.reads_as:
        return f"the scan is {scan.codec} and {profile.name} is {codec.name}"
    wanted = profile.variant.reported if profile.variant else None
    if wanted and scan.codec_profile != wanted:
        return f"the scan is {scan.codec} {scan.codec_profile} and {profile.name} is {wanted}"
    allowed = profile.pixel_formats
    if allowed and plain_name(scan.picture.pixel_format) not in allowed:
        return f"{scan.picture.pixel_format} is not among the pixel formats of {profile.name}"
    if (profile.container is Container.SEQUENCE) != (scan.form == "sequence"):
        return f"the scan is a {scan.form}"
    return None


def _difference(first: ScanFacts, other: ScanFacts) -> str | None:
    """Name what two scans would have to share to be read under one header."""
    one, two = first.picture, other.picture
    pairs = {
        "form": (first.form, other.form),
        "codec": (first.codec, other.codec),
        "codec profile": (first.codec_profile, other.codec_profile),
        "FourCC": (first.codec_tag, other.codec_tag),
        "raster": ((one.width, one.height), (two.width, two.height)),
        "pixel format": (one.pixel_format, two.pixel_format),
        "codec header": (first.extradata, other.extradata),
        "field order": (one.field_order, two.field_order),
        "sample aspect": (one.sample_aspect or 1, two.sample_aspect or 1),
        "colour tags": (
            (one.primaries, one.transfer, one.matrix, one.range),
            (two.primaries, two.transfer, two.matrix, two.range),
        ),
    }
    return next((name for name, (this, that) in pairs.items() if this != that), None)
