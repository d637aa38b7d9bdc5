"""How a deliverable is scanned, and what its fields carry: map and profile taken together."""

from __future__ import annotations

from typing import TYPE_CHECKING

from retime.errors import DocumentError, NotationError
from retime.film.speed import Rate
from retime.film.timecode import day_of, drops, frame_of
from retime.findings import Finding
from retime.plan.carry import FIELDS, FRAMES, THREE_TWO, TWO_THREE
from retime.speedmap.model import BurnItem, CadenceIn, Labelled, Method, Pulldown

if TYPE_CHECKING:
    from retime.film.scanning import Scanning
    from retime.plan.carry import Carry
    from retime.profile.model import Profile
    from retime.speedmap.model import Deliverable

__all__ = ["carry_of", "labels_of", "scanning_of"]

# Whole frames a second of interlaced pictures: Rec. ITU-R BT.709 and the 525- and 625-line
# systems; 30 itself is its nominal kin.
_INTERLACED = ("25", "30000/1001", "30")
_CARRIES = {Pulldown.TWO_THREE: TWO_THREE, Pulldown.THREE_TWO: THREE_TWO}
_SIXTY_FIELDS = 30  # whole frames, nominally


def scanning_of(deliverable: Deliverable, profile: Profile, rate: Rate) -> Scanning:
    """Return how the deliverable's frames are scanned.

    Raises DocumentError where the profile does not allow it, or the rate is none of interlaced
    pictures.
    """
    scanning = deliverable.scanning or profile.scannings[0]
    if scanning not in profile.scannings:
        raise _fault(
            deliverable,
            "scanning",
            f"{profile.name} is not made {scanning}",
            f"it is made {', '.join(profile.scannings)}",
        )
    if scanning.interlaced and str(rate) not in _INTERLACED:
        half = str(Rate(rate.fps / 2))
        hint = f"interlaced pictures run at {', '.join(_INTERLACED)}"
        if half in _INTERLACED:
            hint = f"rates count whole frames, of two fields each: write {half}"
        raise _fault(deliverable, "rate", f"a rate of {rate} is none of interlaced pictures", hint)
    return scanning


def carry_of(deliverable: Deliverable, scanning: Scanning, rate: Rate) -> Carry:
    """Return what the fields carry; raises DocumentError where that does not go together."""
    if not scanning.interlaced:
        for key, given in (
            ("cadence-in", deliverable.cadence_in),
            ("pulldown", deliverable.pulldown),
        ):
            if given is not None:
                text = f"{key} is for interlaced deliverables, and this one is progressive"
                raise _fault(deliverable, key, text, "add scanning: top-first, or leave it out")
        return FRAMES
    if deliverable.pulldown is not None:
        _check_pulldown(deliverable, rate)
        return _CARRIES[deliverable.pulldown]
    blend = deliverable.method is Method.BLEND
    in_frames = deliverable.cadence_in is CadenceIn.FRAMES or blend
    return FRAMES if in_frames else FIELDS


def _check_pulldown(deliverable: Deliverable, rate: Rate) -> None:
    if rate.nominal.fps != _SIXTY_FIELDS:
        raise _fault(
            deliverable,
            "pulldown",
            f"{deliverable.pulldown} carries 24 in 60 fields, and the rate is {rate}",
            "it is for 30000/1001 and 30; at 25 leave it out, and cadence-in: fields gives "
            "24 in 50 fields",
        )
    for key, given in (
        ("cadence-in", deliverable.cadence_in),
        ("conform-at", deliverable.conform_at),
    ):
        if given is not None:
            text = f"pulldown says already what {key} would say: film is laid out at 24"
            raise _fault(deliverable, key, text, "leave one of the two out")


def labels_of(deliverable: Deliverable, rate: Rate, head: int) -> tuple[int, bool]:
    """Return the number of the file's first label, and whether labels are drop-frame.

    The label that the deliverable states is that of the film's first frame, after ``head`` output
    frames, unless it says that it is the file's; where it states none, the file begins with 0.
    Raises DocumentError for a label that does not exist at the rate, and where drop-frame is
    asked of a rate that has none or of a label that is written without it, and where labels are to
    be burnt in of a rate that has none at all.
    """
    asked, start = deliverable.drop_frame, deliverable.timecode
    if BurnItem.TIMECODE in deliverable.burn and rate.nominal.fps.denominator != 1:
        text = f"a rate of {rate} has no timecode that could be burnt in"
        raise _fault(deliverable, "burn", text, "burn in frame or feet instead")
    if asked and not drops(rate):
        text = f"a rate of {rate} has no drop-frame labels"
        raise _fault(deliverable, "drop-frame", text, "leave drop-frame out")
    if start is None:
        return 0, drops(rate) if asked is None else asked
    try:
        first = frame_of(start, rate)
    except NotationError as error:
        raise _fault(deliverable, "timecode", error.text, error.hint) from error
    drop = ";" in start
    if asked is not None and asked is not drop:
        text = f"the label {start} is {'' if drop else 'not '}drop-frame, and drop-frame differs"
        raise _fault(deliverable, "timecode", text, "; before the frames marks drop-frame")
    if deliverable.timecode_at is Labelled.FILM:
        first = (first - head) % day_of(rate, drop=drop)
    return first, drop


def _fault(deliverable: Deliverable, key: str, text: str, hint: str) -> DocumentError:
    place = deliverable.where.of(key)
    return DocumentError([Finding(place=place, rule="carrying", text=text, hint=hint)])
