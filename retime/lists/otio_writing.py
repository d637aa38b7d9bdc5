"""A deliverable as an OpenTimelineIO document.

Its times are floats. Frames are exact in them up to 2**53; a rate of 24000/1001 and a scalar of
200/11 in 24 are the nearest floats, which over a day of frames are less than a millionth of a
frame out. So that nothing is lost at all, every clip also carries what it is in metadata, as exact
texts.

A clip's ``source_range`` begins with its first film frame and lasts as long as its record; a
``LinearTimeWarp`` then says film frames to an output frame, below 0 where the same frames run
backwards, and a ``FreezeFrame`` that one stands.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from retime.lists.otio_bridge import FACTS, opentimelineio
from retime.lists.strips import Shows

if TYPE_CHECKING:
    from fractions import Fraction

    from retime.lists.strips import Programme, Strip

__all__ = ["otio_text"]

_MOST_BITS = 4_000


def otio_text(programme: Programme) -> str:
    """Return a deliverable as an OpenTimelineIO document: one timeline, one track of clips.

    Raises:
        CommandError: OpenTimelineIO is not installed.
    """
    otio = opentimelineio()
    rate = float(programme.rate.fps)
    timeline = otio.schema.Timeline(name=f"{programme.film} {programme.deliverable}")
    timeline.global_start_time = otio.opentime.RationalTime(programme.start, rate)
    timeline.metadata[FACTS] = {
        "deliverable": programme.deliverable,
        "rate": str(programme.rate),
        "drop_frame": programme.drop,
    }
    track = otio.schema.Track(name="picture", kind=otio.schema.TrackKind.Video)
    timeline.tracks.append(track)
    for strip in programme.strips:
        track.append(_item(otio, programme, strip, rate))
    return f"{otio.adapters.write_to_string(timeline, 'otio_json')}\n"


def _item(otio: Any, programme: Programme, strip: Strip, rate: float) -> Any:
    lasts = otio.opentime.RationalTime(strip.frames, rate)
    span = otio.opentime.TimeRange(otio.opentime.RationalTime(strip.first, rate), lasts)
    if strip.shows is Shows.BLACK:
        return otio.schema.Gap(source_range=span)
    clip = otio.schema.Clip(
        name=strip.name or strip.shot or strip.plate or strip.reel,
        media_reference=_media(otio, programme, strip, rate),
        source_range=span,
    )
    clip.metadata[FACTS] = _facts(strip)
    if strip.ratio == 0:
        clip.effects.append(otio.schema.FreezeFrame())
    elif strip.ratio != 1:
        clip.effects.append(otio.schema.LinearTimeWarp(time_scalar=float(strip.ratio)))
    return clip


def _media(otio: Any, programme: Programme, strip: Strip, rate: float) -> Any:
    scan = programme.scans.get(strip.reel)
    if strip.shows is Shows.PLATE or scan is None:
        return otio.schema.ExternalReference(target_url=strip.plate or "")
    zero = otio.opentime.RationalTime(0, rate)
    held = otio.opentime.RationalTime(scan.frames, rate)
    media = otio.schema.ExternalReference(
        target_url=scan.address, available_range=otio.opentime.TimeRange(zero, held)
    )
    media.name = strip.reel
    return media


def _facts(strip: Strip) -> dict[str, str]:
    """Return what a clip is, exactly."""
    facts = {"shows": str(strip.shows), "kind": str(strip.kind)}
    if strip.is_film:
        facts |= {"reel": strip.reel, "first": str(strip.first), "last": str(strip.last)}
        facts["per_output"] = str(strip.ratio) if _is_short(strip.ratio) else ""
    if strip.shot is not None:
        facts["shot"] = strip.shot
    if strip.name is not None:
        facts["name"] = strip.name
    if strip.ramp is not None and all(map(_is_short, strip.ramp)):
        facts["ramp"] = " -> ".join(map(str, strip.ramp))
    elif strip.speed is not None and _is_short(strip.speed):
        facts["speed"] = str(strip.speed)
    return facts


def _is_short(x: Fraction) -> bool:
    return max(x.numerator.bit_length(), x.denominator.bit_length()) < _MOST_BITS
