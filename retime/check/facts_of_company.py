"""What comes with the pictures, held against the map.

That is from which map they say they are made, chapters, streams of sound, and subtitles. Whether
the sound is right is another matter.
"""

from __future__ import annotations

import re
from fractions import Fraction
from typing import TYPE_CHECKING

from retime.check.companions import SUBTITLED, beside, sound_places
from retime.errors import ScanError
from retime.film.rounding import half_up
from retime.findings import Severity
from retime.follow.chapters import chapters_of
from retime.follow.subtitling import subtitled_of
from retime.second.facts import file_facts
from retime.second.sound import sound_form
from retime.yamldoc.quoting import quoted

if TYPE_CHECKING:
    from collections.abc import Iterator

    from retime.check.companions import SoundPlace
    from retime.check.fact_desk import Desk
    from retime.findings import Finding
    from retime.follow.subtitling import Subtitled
    from retime.profile.sound import SoundSpec
    from retime.second.facts import FileFacts, SoundStream, SubtitleStream
    from retime.speedmap.following import Recording

__all__ = ["findings_of_company"]

_TELLING = {"mkv", "mov", "mp4", "sequence"}
_WITH_CHAPTERS = {"mkv", "mov", "mp4"}
_ABOUT = re.compile(r"version (.*), deliverable (.*), map sha256 ([0-9a-f]{64}), ")
_CODECS = {"pcm": "pcm_s{bits}le", "flac": "flac", "aac": "aac", "ac3": "ac3"}
# Samples that coded sound may be too long, and too short: packets of 1024 and 1536 are whole; one
# of AAC comes before the sound, or 256 samples of AC-3; and MP4 keeps its end in milliseconds.
_SLACK = {"aac": (2 * 1024, 0), "ac3": (2 * 1536, 256)}
_UNDETERMINED = "und"
_MILLISECOND = Fraction(1, 1000)


def findings_of_company(desk: Desk) -> Iterator[Finding]:
    """Yield what is wrong with what comes with the pictures."""
    yield from _origin(desk)
    yield from _chapters(desk)
    yield from _sounds(desk)
    yield from _subtitles(desk)


def _origin(desk: Desk) -> Iterator[Finding]:
    """Hold what a file says of the map that it was made from."""
    if desk.ending not in _TELLING:
        return
    weight = Severity.WARNING
    said = _ABOUT.match(desk.facts.values.get("comment", ""))
    if said is None:
        yield desk.found("metadata", "it does not say which map it was made from", severity=weight)
        return
    version, name, sha256 = said.groups()
    if (version, name) != (desk.making.deliverable.version, desk.making.name):
        text = f"it says that it is {name}, of the version {version}"
        yield desk.found("another deliverable", text, severity=weight)
    if sha256 != desk.edition.speed_map.sha256:
        text = "it was made from another map, or from another state of this one"
        yield desk.found(
            "another map", text, "render it again if the map's changes concern it", severity=weight
        )
    title = desk.facts.values.get("title")
    if title != desk.edition.speed_map.film:
        text = f"its title is {quoted(title) if title else 'not said'}, and the film is "
        yield desk.found("metadata", text + quoted(desk.edition.speed_map.film), severity=weight)


def _chapters(desk: Desk) -> Iterator[Finding]:
    planned, told = chapters_of(desk.edition, desk.making), desk.facts.chapters
    if desk.ending not in _WITH_CHAPTERS:
        planned = ()
    if len(told) != len(planned):
        yield desk.found(
            "chapters", f"it has {_counted(told, 'chapter')}, and should have {len(planned)}"
        )
        return
    for one, other in zip(planned, told, strict=True):
        if abs(one.time - other.begin) > max(other.unit, _MILLISECOND):
            text = f"the chapter {quoted(one.name)} begins at {float(other.begin):.3f} s, and "
            text += f"should at {float(one.time):.3f}"
            yield desk.found("chapters", text, output=one.output)
        if one.name != other.title:
            text = f"the chapter {quoted(one.name)} is called {quoted(other.title)}"
            yield desk.found("chapters", text, output=one.output)


def _sounds(desk: Desk) -> Iterator[Finding]:
    spec, places = desk.making.profile.sound, sound_places(desk.making, desk.path)
    inside = sum(place.inside for place in places)
    streams = desk.facts.sounds
    if len(streams) != inside:
        text = f"it has {_counted(streams, 'stream')} of sound, and should have {inside}"
        yield desk.found("sound", text)
    if spec is None:
        return
    for recording, place in zip(desk.making.deliverable.sound, places, strict=True):
        if place.inside:
            if place.stream < len(streams):
                yield from _sound(desk, spec, recording, streams[place.stream], "its sound")
        else:
            yield from _sound_beside(desk, spec, recording, place)


def _sound_beside(
    desk: Desk, spec: SoundSpec, recording: Recording, place: SoundPlace
) -> Iterator[Finding]:
    name = place.path.name
    if not place.path.is_file():
        yield desk.found("sound", f"the sound of {recording.file} is not there: {name}")
        return
    try:
        streams = file_facts(place.path).sounds
    except ScanError as error:
        yield desk.found("sound", f"{name} {error.text} ({error.detail})")
        return
    if len(streams) != 1:
        yield desk.found("sound", f"{name} has {_counted(streams, 'stream')} of sound, and not one")
        return
    yield from _sound(desk, spec, recording, streams[0], name)


def _sound(
    desk: Desk, spec: SoundSpec, recording: Recording, told: SoundStream, name: str
) -> Iterator[Finding]:
    codec = _CODECS[spec.codec].format(bits=spec.bits)
    if told.codec != codec:
        yield desk.found("sound", f"{name} is coded in {told.codec}, and not in {codec}")
    if told.rate != spec.rate:
        text = f"{name} has {told.rate} samples a second, and not {spec.rate}"
        yield desk.found("sound", text)
        return
    yield from _language(desk, "the sound", recording.language, told.language)
    channels = sound_form(desk.edition.speed_map.folder / recording.file).channels
    if told.channels != channels:
        text = f"{name} has {_counted(told.channels, 'channel')}, and {recording.file} {channels}"
        yield desk.found("sound", text)
    planned = half_up(desk.making.plan.total_runtime * spec.rate)
    longer, shorter = _SLACK.get(spec.codec, (0, 0))
    shorter += half_up(_MILLISECOND * spec.rate) if spec.codec == "aac" else 0
    if not planned - shorter <= told.samples <= planned + longer:
        text = f"{name} has {told.samples} samples, and should have {planned}"
        apart = abs(told.samples - planned) / spec.rate
        how = "short" if told.samples < planned else "long"
        yield desk.found("sound length", f"{text}: it is {apart:.3f} s too {how}")


def _subtitles(desk: Desk) -> Iterator[Finding]:
    planned = subtitled_of(desk.edition, desk.making)
    codec, told = SUBTITLED.get(desk.ending), _without_chapters(desk.facts)
    if codec is None:
        for one in planned:
            path = beside(desk.making, desk.path, one.ending)
            if not path.is_file():
                yield desk.found("subtitles", f"the subtitles are not there: {path.name}")
        planned = ()
    if len(told) != len(planned):
        text = f"it has {_counted(told, 'stream')} of subtitles, and should have {len(planned)}"
        yield desk.found("subtitles", text)
        return
    for subtitled, stream in zip(planned, told, strict=True):
        yield from _cues(desk, subtitled, stream)


def _without_chapters(facts: FileFacts) -> tuple[SubtitleStream, ...]:
    """Return the streams of subtitles; MOV has its chapters in a track that may look like one."""
    begins = [chapter.begin for chapter in facts.chapters]
    return tuple(
        stream
        for stream in facts.subtitles
        if stream.codec != "mov_text" or not begins or [one for one, _ in stream.cues] != begins
    )


def _cues(desk: Desk, planned: Subtitled, told: SubtitleStream) -> Iterator[Finding]:
    name = planned.subtitles.file
    yield from _language(desk, "the subtitles", planned.subtitles.language, told.language)
    cues = [cue for cue in planned.cues if cue.end > cue.begin and cue.text and not cue.hidden]
    if len(cues) != len(told.cues):
        text = f"the subtitles of {name} have {_counted(told.cues, 'cue')}, and should have "
        yield desk.found("subtitles", text + str(len(cues)))
        return
    begins = sorted(begin for begin, _ in told.cues)
    for cue, begin in zip(sorted(cues, key=lambda one: one.begin), begins, strict=True):
        if abs(cue.begin - begin) > _MILLISECOND:
            text = f"a cue of {name} comes at {float(begin):.3f} s, and should at "
            yield desk.found("subtitles", text + f"{float(cue.begin):.3f}", seconds=cue.begin)
            return


def _language(desk: Desk, what: str, planned: str | None, told: str) -> Iterator[Finding]:
    """Hold a language where the container tells it; MOV has no code for some."""
    said = "" if told == _UNDETERMINED else told
    if planned is None or said == planned or desk.ending not in SUBTITLED:
        return
    if said or desk.ending != "mov":
        text = f"the language of {what} is said to be {said or 'none'}, and is {planned}"
        yield desk.found("language", text)


def _counted(what: object, noun: str) -> str:
    """Return ``1 stream`` or ``2 streams``, of a number or of things."""
    count = what if isinstance(what, int) else len(what)  # type: ignore[arg-type]
    return f"{count or 'no'} {noun}{'' if count == 1 else 's'}"
