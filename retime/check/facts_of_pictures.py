"""A file's pictures, as its headers describe them, held against what they should be.

What is said wrong is a finding wherever it is said: by the container, by the stream, or by the
first pictures. What is not said is one only where that kind of file can say it.
"""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING

from retime.check.pixel_kind import pixel_kind

if TYPE_CHECKING:
    from collections.abc import Iterator

    from retime.check.fact_desk import Desk
    from retime.findings import Finding
    from retime.light.format import PictureFormat
    from retime.second.facts import VideoFacts

__all__ = ["findings_of_pictures"]

_CONTAINERS = {
    "mkv": "matroska",
    "mov": "mov",
    "mp4": "mov",
    "mxf": "mxf",
    "m2v": "mpegvideo",
    "264": "h264",
    "mpg": "mpeg",
    "ts": "mpegts",
    "m2ts": "mpegts",
    "sequence": "image2",
}
_UNSPECIFIED, _RGB = 2, 0
_FULL = 2
_RANGES = {0: "none", 1: "narrow", 2: "full"}
_NAMES = ("primaries", "transfer", "matrix")
# Rec. ITU-T H.273: matrices 5 and 6 are the same figures; ProRes has a code for one of them.
_SAME_MATRIX = {5: 6}
# What says no colours, or some alone: MXF has labels for few, and so has DPX (SMPTE ST 268).
_COLOURLESS = {"mxf", "sequence"}
_RANGELESS = {"mxf", "sequence"}
# A MOV file says all three or none, and these codecs nothing; JPEG 2000 says no range either.
_LEAVE_IT_TO_MOV = {"dnxhd", "jpeg2000"}
# A DNxHD header knows the matrices of BT.709 and BT.2020, and says BT.709 of any other; what a
# reader says of JPEG 2000's pictures is its own guess.
_UNSURE_FRAMES = {"dnxhd", "jpeg2000"}
# ISO/IEC 13818-2, table 6-3: square samples, or one of three display aspects.
_MPEG2_DISPLAYS = (Fraction(4, 3), Fraction(16, 9), Fraction(221, 100))


def findings_of_pictures(desk: Desk) -> Iterator[Finding]:
    """Yield what is wrong with how pictures are coded, laid out, coloured and scanned."""
    video = desk.facts.video
    names = desk.facts.container.split(",")
    if _CONTAINERS.get(desk.ending, names[0]) not in names:
        text = f"it is a file of the kind {desk.facts.container}, and not of {desk.ending}"
        yield desk.found("container", text)
    if video is None:
        yield desk.found("pictures", "it holds no pictures")
        return
    yield from _coding(desk, video)
    picture = desk.making.picture
    if picture is None:
        return
    yield from _layout(desk, video, picture)
    yield from _ranges(desk, video, picture)
    yield from _colours(desk, video, picture)
    yield from _order(desk, video, picture)


def _coding(desk: Desk, video: VideoFacts) -> Iterator[Finding]:
    profile, scan = desk.making.profile, desk.making.scans[0].facts
    codec = profile.codec.reads_as if profile.codec else scan and scan.codec
    if codec is not None and video.codec != codec:
        yield desk.found("codec", f"its pictures are coded in {video.codec}, and not in {codec}")
        return
    variant = profile.variant
    if variant is None:
        return
    if not _is_variant(video.profile, variant.reported):
        text = f"its {video.codec} is {video.profile}, and not {variant.reported}"
        yield desk.found("codec", text)
    elif variant.tag is not None and desk.ending == "mov" and video.tag != variant.tag:
        text = f"its FourCC is {video.tag or 'none'}, and not {variant.tag}"
        yield desk.found("codec", text)


def _is_variant(told: str, planned: str | None) -> bool:
    """Tell whether a codec's profile is the planned one; of DNxHD the program tells no more."""
    return not (told and planned) or planned == told or planned.startswith(f"{told} ")


def _layout(desk: Desk, video: VideoFacts, picture: PictureFormat) -> Iterator[Finding]:
    if not _same_samples(video, picture):
        text = f"its pixel format is {video.pixel_format}, and not {picture.pixel_format}"
        yield desk.found("pixel format", text)
    size = video.width, video.height
    if size != (picture.width, picture.height):
        text = f"it is {size[0]}x{size[1]}, and not {picture.width}x{picture.height}"
        yield desk.found("size", text)
        return
    planned = picture.sample_aspect or Fraction(1)
    coded = _coded_aspect(desk, video, picture)
    for whose, told, right in (
        ("its", video.sample_aspect, {planned, coded}),
        ("its coded pictures'", video.coded_aspect, {coded}),
    ):
        if told is not None and told not in right:
            yield desk.found("aspect", f"{whose} sample aspect is {told}, and not {coded}")
            return
    if planned != 1 and video.sample_aspect is None and video.coded_aspect is None:
        text = f"it says no sample aspect, which should be {planned}"
        yield desk.found("aspect", text, "players then show square samples")


def _same_samples(video: VideoFacts, picture: PictureFormat) -> bool:
    """Compare samples; those of JPEG 2000 are read as RGB where they may be, and as 16 bits."""
    told, planned = pixel_kind(video.pixel_format), pixel_kind(picture.pixel_format)
    if video.codec != "jpeg2000" or isinstance(told, str) or isinstance(planned, str):
        return told == planned
    one, other = (
        ("", "") if kind.family == "rgb" or kind.chroma == "444" else kind[:2]
        for kind in (told, planned)
    )
    return one == other and told.bits in {planned.bits, 16}


def _coded_aspect(desk: Desk, video: VideoFacts, picture: PictureFormat) -> Fraction:
    """Return the sample aspect that coded pictures should say.

    MPEG-2 says square samples, or the nearest of three display aspects of the whole raster; a
    profile's display aspect is said even where not all of the width carries it.
    """
    planned = picture.sample_aspect or Fraction(1)
    if video.codec != "mpeg2video" or planned == 1:
        return planned
    whole = Fraction(picture.width, picture.height)
    display = desk.making.profile.display_aspect or planned * whole
    return min((*_MPEG2_DISPLAYS, whole), key=lambda one: abs(one - display)) / whole


def _ranges(desk: Desk, video: VideoFacts, picture: PictureFormat) -> Iterator[Finding]:
    planned, frames = picture.range, video.frame_colours.range
    if not planned:
        return
    if video.colours.range not in {0, planned}:
        text = f"its range is said to be {_RANGES[video.colours.range]}, and it is "
        yield desk.found("range", text + _RANGES[planned])
    elif _tells_frames(video) and frames not in {0, planned}:
        text = f"its pictures say that their range is {_RANGES[frames]}, and it is "
        yield desk.found("range", text + _RANGES[planned])
    elif _lacks_range(desk, video, picture):
        yield desk.found("range", "it does not say that its range is full", "it is taken as narrow")


def _colours(desk: Desk, video: VideoFacts, picture: PictureFormat) -> Iterator[Finding]:
    for what in _NAMES:
        planned, text = getattr(picture, what), ""
        if planned == _UNSPECIFIED:
            continue
        said, frames = getattr(video.colours, what), getattr(video.frame_colours, what)
        if said == _UNSPECIFIED:
            if not _unsaid(desk, video, picture, what):
                text = f"it does not say its colour {what}, which is {planned}"
        elif not _same(what, said, planned):
            text = f"its colour {what} is said to be {said}, and is {planned}"
        elif frames != _UNSPECIFIED and _tells_frames(video) and not _same(what, frames, planned):
            text = f"its pictures say that their colour {what} is {frames}, and it is {planned}"
        if text:
            yield desk.found("colour", text, "codes are those of ITU-T H.273")


def _same(what: str, one: int, other: int) -> bool:
    if what == "matrix":
        one, other = _SAME_MATRIX.get(one, one), _SAME_MATRIX.get(other, other)
    return one == other


def _tells_frames(video: VideoFacts) -> bool:
    return video.codec not in _UNSURE_FRAMES


def _unsaid(desk: Desk, video: VideoFacts, picture: PictureFormat, what: str) -> bool:
    """Tell whether a kind of file says nothing of a colour, and is right not to."""
    if desk.copied or desk.ending in _COLOURLESS:
        return True
    planned = [getattr(picture, name) for name in _NAMES]
    left = video.codec in _LEAVE_IT_TO_MOV and _UNSPECIFIED in planned
    # Where ProRes frames say nothing, FFmpeg 5.1 forgets what the container says.
    left |= video.codec == "prores" and getattr(video.frame_colours, what) == _UNSPECIFIED
    # RGB is no YUV of any matrix: its samples say that.
    return left or (what == "matrix" and picture.matrix == _RGB)


def _lacks_range(desk: Desk, video: VideoFacts, picture: PictureFormat) -> bool:
    """Tell whether codes of full range should be said to be so, and are not."""
    kind = pixel_kind(picture.pixel_format)
    yuv = not isinstance(kind, str) and kind.family == "yuv"
    said = video.colours.range or video.frame_colours.range
    able = not desk.copied and desk.ending not in _RANGELESS and video.codec != "jpeg2000"
    return yuv and picture.range == _FULL and not said and able


def _order(desk: Desk, video: VideoFacts, picture: PictureFormat) -> Iterator[Finding]:
    """Hold the order of fields; a disc's progressive frames are shown in fields by flags."""
    planned: str | None = str(desk.making.scanning)
    if desk.copied:
        # What is told in brackets is which field is coded first.
        planned = picture.field_order and picture.field_order.partition(" (")[0]
    if planned is None or desk.ending == "sequence":
        return
    disc = desk.making.profile.disc
    if disc is not None and disc.repeat_flags and set(video.frame_orders) == {"progressive"}:
        if video.coded_order not in {None, planned}:
            text = f"its headers show the fields {video.coded_order}, and they are {planned}"
            yield desk.found("fields", text)
        return
    if video.order not in {None, planned}:
        yield desk.found("fields", f"it is said to be {video.order}, and is {planned}")
    wrong = [order for order in video.frame_orders if order not in {None, planned}]
    if wrong:
        text = f"its pictures say that they are {wrong[0]}, and they are {planned}"
        yield desk.found("fields", text)
    if planned != "progressive" and video.order is None and not any(video.frame_orders):
        yield desk.found("fields", f"nothing in it says that it is {planned}")
