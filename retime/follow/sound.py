"""The sound of a deliverable: its recordings, each with the map of time that it is brought by."""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING

from msgspec import Struct

from retime.errors import DocumentError, NotationError, ScanError
from retime.film.timecode import day_of, frame_of
from retime.findings import Finding
from retime.follow.track import Track, pieces_of
from retime.media.sound_facts import probe_sound
from retime.plan.timemap import Leg, TimeMap, clock_of

if TYPE_CHECKING:
    from retime.edition.edition import Edition, Making
    from retime.media.sound_facts import SoundFacts
    from retime.speedmap.following import Recording

__all__ = ["Heard", "Sounding", "heard_of", "sounding_of"]

_RULE = "sound"


class Sounding(Struct, frozen=True, kw_only=True):
    """A recording, what its file is, and the track that it becomes."""

    recording: Recording
    facts: SoundFacts
    track: Track


class Heard(Struct, frozen=True, kw_only=True):
    """What becomes of a recording, in seconds: silence in the track, and what is left out of it."""

    silence_before: Fraction
    silence_between: Fraction
    silence_after: Fraction
    left_out_before: Fraction
    left_out_after: Fraction


def sounding_of(edition: Edition, making: Making) -> tuple[Sounding, ...]:
    """Return a deliverable's recordings.

    Raises DocumentError for files that are no sound, a profile that takes none, and labels that
    do not exist.
    """
    found = [_sounding(edition, making, one) for one in making.deliverable.sound]
    return tuple(found)


def _sounding(edition: Edition, making: Making, recording: Recording) -> Sounding:
    spec = making.profile.sound
    if spec is None:
        text = f"{making.profile.name} takes no sound"
        raise _fault(recording, "file", text, "take a profile that says how sound is coded")
    path = edition.speed_map.folder / recording.file
    try:
        facts = probe_sound(path)
    except ScanError as error:
        detail = f" ({error.detail})" if error.detail else ""
        text = f"{error.path}: {error.text}{detail}"
        raise _fault(recording, "file", text, error.hint) from error
    track = Track(
        time_map=_time_map(making, recording, facts),
        source_rate=facts.rate,
        source_samples=facts.samples,
        rate=spec.rate,
        pitch=recording.pitch,
        offset=recording.offset if recording.follows is not None else Fraction(0),
        gain=1.0 if recording.gain is None else 10 ** float(recording.gain / 20),
    )
    return Sounding(recording=recording, facts=facts, track=track)


def _time_map(making: Making, recording: Recording, facts: SoundFacts) -> TimeMap:
    """Return the map of what a recording follows, or of one made to this deliverable."""
    if recording.follows is not None:
        return making.courses[recording.follows.text]
    plan = making.plan
    begin = clock_of(plan).start
    if recording.at is not None:
        begin = _labelled(making, recording, recording.at)
    begin += recording.offset
    length = Fraction(facts.samples, facts.rate)
    first, end = max(begin, Fraction(0)), min(begin + length, plan.total_runtime)
    legs = () if end <= first else (Leg(first, end, first - begin, end - begin),)
    return TimeMap(legs=legs, duration=plan.total_runtime)


def _labelled(making: Making, recording: Recording, text: str) -> Fraction:
    """Return the time of a label, from the file's first frame."""
    rate = making.plan.conform.rate
    try:
        number, day = frame_of(text, rate), day_of(rate, drop=making.drop_frame)
    except NotationError as error:
        raise _fault(recording, "at", error.text, error.hint) from error
    if (";" in text) is not making.drop_frame:
        kind = "drop-frame" if making.drop_frame else "not drop-frame"
        raise _fault(recording, "at", f"the labels of {making.name} are {kind}")
    output = (number - making.start) % day
    if output >= making.plan.total:
        raise _fault(recording, "at", f"{text} is no label of {making.name}")
    return output / rate.fps


def heard_of(sounding: Sounding) -> Heard:
    """Return what is silent in a track, and what of the recording is not heard at its ends."""
    track, facts = sounding.track, sounding.facts
    heard = []
    for piece in pieces_of(track):
        first = max(Fraction(0), -piece.position / piece.step)
        last = min(
            Fraction(piece.stop - piece.first), (facts.samples - piece.position) / piece.step
        )
        if first < last:
            heard.append(
                (
                    piece.first + first,
                    piece.first + last,
                    piece.position + first * piece.step,
                    piece.position + last * piece.step,
                )
            )
    whole = Fraction(facts.samples, facts.rate)
    if not heard:
        nothing = Fraction(0)
        return Heard(
            silence_before=track.time_map.duration,
            silence_between=nothing,
            silence_after=nothing,
            left_out_before=whole,
            left_out_after=nothing,
        )
    sounded = sum((end - begin for begin, end, *_ in heard), Fraction(0))
    begin, end = heard[0][0], heard[-1][1]
    return Heard(
        silence_before=begin / track.rate,
        silence_between=(end - begin - sounded) / track.rate,
        silence_after=track.time_map.duration - end / track.rate,
        left_out_before=min(one[2] for one in heard) / facts.rate,
        left_out_after=whole - max(one[3] for one in heard) / facts.rate,
    )


def _fault(recording: Recording, key: str, text: str, hint: str = "") -> DocumentError:
    place = recording.where.of(key)
    return DocumentError([Finding(place=place, rule=_RULE, text=text, hint=hint)])
