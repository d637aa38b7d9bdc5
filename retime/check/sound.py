"""A deliverable's sound held against the recordings that it should come from."""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING

from msgspec import Struct

from retime.check.companions import sound_places
from retime.check.envelope import enveloped
from retime.check.expected_sound import ExpectedSound, legs_of
from retime.check.place import FilePlace
from retime.check.sound_measures import exchanged, pitch_moved, uneven_levels
from retime.check.sound_spans import Span, spans_of
from retime.check.sound_track import held_track, wide_shift
from retime.check.sound_windows import Hearing
from retime.errors import ScanError
from retime.findings import Finding
from retime.second.facts import file_facts
from retime.speedmap.following import Pitch

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from retime.check.companions import SoundPlace
    from retime.check.envelope import Envelope
    from retime.check.sound_track import HeldTrack
    from retime.edition.edition import Edition, Making
    from retime.second.facts import FileFacts
    from retime.speedmap.following import Recording

__all__ = ["SoundHeld", "sound_findings"]

_NEAR = {Pitch.MOVES: 6.0, Pitch.KEPT: 10.0}
"""Bins, half milliseconds, by which sound may seem to be off: what stretches sound smears it."""
_TOGETHER = {Pitch.MOVES: 4.0, Pitch.KEPT: 8.0}
_AC3_EARLY = Fraction(256, 48000)
"""An AC-3 encoder's delay (ATSC A/52): a file of it alone has no clock that tells of it."""


class SoundHeld(Struct, frozen=True, kw_only=True):
    """What was found, and the share of the sound that could be told; None where there is none."""

    findings: tuple[Finding, ...]
    told: float | None


def sound_findings(
    making: Making,
    edition: Edition,
    path: Path,
    facts: FileFacts,
    seen: Callable[[], None] | None = None,
) -> SoundHeld:
    """Hold a deliverable's sound, inside its file or beside it, against its recordings.

    Sound that comes early or late is found, all of it or a part, by some milliseconds; sound that
    is missing, that is another recording's, that stands in another channel, whose level is not as
    asked, and whose pitch moved where it should be kept or stayed where it should move. Streams
    and files that are not there are none of it, nor is their length: ``fact_findings`` tells them.
    ``seen`` is called again and again while sound is read. Raises ScanError where a recording, or
    the sound, cannot be decoded to its end.
    """
    findings: list[Finding] = []
    shares: list[float] = []
    places = sound_places(making, path)
    for recording, place in zip(making.deliverable.sound, places, strict=False):
        start = _start(place, facts)
        if start is None:
            continue
        source = enveloped(edition.speed_map.folder / recording.file, 0, seen)
        heard = enveloped(place.path, place.stream, seen)
        found, share = _Telling(making, path, recording, heard, source).told(start)
        findings += found
        if share is not None:
            shares.append(share)
    told = sum(shares) / len(shares) if shares else None
    return SoundHeld(findings=tuple(findings), told=told)


def _start(place: SoundPlace, facts: FileFacts) -> Fraction | None:
    """Return when a track's first sample is heard, on the clock of pictures; None if it is away."""
    if place.inside:
        if place.stream >= len(facts.sounds):
            return None
        begin = (facts.video and facts.video.start) or Fraction(0)
        return facts.sounds[place.stream].start - begin
    try:
        beside = file_facts(place.path)
    except (ScanError, OSError):
        return None
    if len(beside.sounds) != 1:
        return None
    return -_AC3_EARLY if beside.container == "ac3" else beside.sounds[0].start


class _Telling:
    """One recording in one deliverable."""

    def __init__(
        self, making: Making, path: Path, recording: Recording, heard: Envelope, source: Envelope
    ) -> None:
        self._making, self._path, self._recording, self._heard = making, path, recording, heard
        self._name = recording.file
        gain = 1.0 if recording.gain is None else 10 ** float(recording.gain / 20)
        legs = legs_of(making, recording, source.count * source.bin)
        self._expected = ExpectedSound(source, legs, gain)
        self._rates = heard.rate / source.rate

    def told(self, start: Fraction) -> tuple[list[Finding], float | None]:
        """Return what is found, and the share that could be told."""
        pitch = self._recording.pitch
        runtime = self._making.plan.total_runtime
        held = held_track(self._heard, self._expected, start, runtime, _NEAR[pitch])
        if held.foreign:
            whole = Span(Hearing.FOREIGN, 0, len(held.fits) - 1, 0.0)
            return [self._of_span(held, whole)], held.told
        found = [self._of_span(held, span) for span in spans_of(held.fits, _TOGETHER[pitch])]
        said = exchanged(held.heard)
        if said:
            found.append(self._finding("sound channels", f"{self._name}: {', '.join(said)}"))
        else:
            texts = uneven_levels(held.heard)
            found += [self._finding("sound level", f"{self._name}: {text}") for text in texts]
        moves = pitch is Pitch.MOVES
        if pitch_moved(held.heard, self._rates) is (not moves):
            what = "stays, and should move" if moves else "moves, and should stay"
            found.append(self._finding("sound pitch", f"the pitch of {self._name} {what}"))
        return found, held.told

    def _finding(
        self, rule: str, text: str, hint: str = "", *, seconds: Fraction | None = None
    ) -> Finding:
        output = None
        if seconds is not None:
            output = int(seconds * self._making.plan.conform.rate.fps)
        place = FilePlace(
            path=self._path,
            deliverable=self._making.name,
            output=output,
            seconds=None if seconds is None else float(seconds),
        )
        return Finding(place=place, rule=rule, text=text, hint=hint)

    def _of_span(self, held: HeldTrack, span: Span) -> Finding:
        begin, end = held.begin(span.first), held.end(span.last)
        name = self._name
        where = f"from {float(begin):.1f} to {float(end):.1f} s"
        shift: float | None = span.shift * float(held.bin)
        if span.hearing is Hearing.FOREIGN:
            shift = wide_shift(self._heard, self._expected, held, span.first, span.last)
        if span.hearing in {Hearing.SHIFTED, Hearing.FOREIGN} and shift is not None:
            text = f"{where} the sound of {name} comes {_late(shift)}"
            return self._finding("sound shifted", text, seconds=begin)
        text = {
            Hearing.MISSING: f"{where} the sound of {name} is missing: there is silence",
            Hearing.STRAY: f"{where} there is sound, and none of {name} belongs there",
        }.get(span.hearing, f"{where} the sound is not what {name} has there")
        return self._finding("sound", text, seconds=begin)


def _late(seconds: float) -> str:
    """Return how late sound is, or how early."""
    how = "late" if seconds > 0 else "early"
    if abs(seconds) < 1:
        return f"{abs(seconds) * 1000:.0f} ms {how}"
    return f"{abs(seconds):.2f} s {how}"
