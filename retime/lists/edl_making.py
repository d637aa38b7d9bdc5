"""The EDLs of a deliverable: one a reel, with what M2 cannot say told in remarks.

The record is counted in the deliverable's own labels, the source in frames of the scan, as
non-drop labels at the same nominal rate, 00:00:00:00 being the scan's frame 0. An event is one
strip: film of one shot at one pace. Its source is the strip's own frames, as the M2 rule says (see
``retime.lists.speed_lines``), and its speed line the nearest that M2 can say.
"""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING, NamedTuple

from msgspec import Struct
from msgspec.structs import replace

from retime.errors import CommandError, NotationError
from retime.film.timecode import day_of
from retime.lists.edl_events import Edit, Edl, Span, SpeedLine
from retime.lists.edl_writing import MOST_EVENTS, RUNS, ascii_of, escaped
from retime.lists.labels import within_a_day
from retime.lists.reelnames import edl_names
from retime.lists.speed_lines import error_over, frames_said, said_as, spoken, tenths_said
from retime.lists.strips import Shows, Strip
from retime.speedmap.model import ShotKind

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from retime.lists.strips import Programme

__all__ = ["EdlFile", "edl_files"]

_TOLD = 6


class EdlFile(Struct, frozen=True, kw_only=True):
    """One list: what its name ends in, what it holds, and what is to be told of it."""

    ending: str
    edl: Edl
    told: tuple[str, ...] = ()


class _Spoken(NamedTuple):
    """How a strip's pace is said by M2, and what that leaves unsaid."""

    speed: Fraction
    remark: str | None = None
    unsaid: str | None = None
    error: Fraction = Fraction(0)


def edl_files(programme: Programme, *, runs: bool = False) -> list[EdlFile]:
    """Return a deliverable's lists, reel by reel, in parts of at most 999 events.

    ``runs`` says that the strips are runs of one frame each: then all of it is exact.

    Raises:
        CommandError: the rate has no labels, or a frame lies behind the last label of a day.
    """
    if programme.rate.nominal.fps.denominator != 1:
        raise CommandError(
            f"{programme.deliverable}: a rate of {programme.rate} has no timecode for an EDL",
            "write otio or csv",
        )
    names = edl_names(dict.fromkeys((*programme.scans, *(one.reel for one in programme.strips))))
    made: list[EdlFile] = []
    for reel, name in names.items():
        strips = [one for one in programme.strips if one.reel == reel]
        if strips:
            made += _files_of_reel(programme, strips, name, runs=runs)
    return made


def _files_of_reel(
    programme: Programme, strips: Sequence[Strip], name: str, *, runs: bool
) -> Iterator[EdlFile]:
    parts = [strips[at : at + MOST_EVENTS] for at in range(0, len(strips), MOST_EVENTS)]
    for number, part in enumerate(parts, start=1):
        writer = _Writer(programme, name)
        edits = [writer.edit(at, one) for at, one in enumerate(part, start=1)]
        about = tuple(_about(programme, strips[0].reel, name, runs=runs))
        edits[0] = replace(edits[0], remarks=(*edits[0].remarks, *about))
        several = f", part {number} of {len(parts)}" if len(parts) > 1 else ""
        reel = strips[0].reel
        edl = Edl(
            rate=programme.rate,
            title=f"{programme.film} {programme.deliverable} reel {reel}{several}",
            drop=programme.drop,
            edits=tuple(edits),
        )
        told = list(writer.told())
        if number == 1 and len(parts) > 1:
            count = f"{len(strips):,} events, of which a list numbers {MOST_EVENTS}"
            told.insert(0, f"{count}: {len(parts)} lists")
        ending = f"reel-{name}" + (f"-part-{number}" if len(parts) > 1 else "")
        yield EdlFile(ending=ending, edl=edl, told=tuple(told))


def _about(programme: Programme, reel: str, name: str, *, runs: bool) -> Iterator[str]:
    """Yield what holds for a whole list; remarks before the first event trouble some readers."""
    scan = programme.scans.get(reel)
    if scan is not None:
        yield f"REEL {name} IS: {scan.address}"
    nominal = programme.nominal
    yield f"SOURCE 00:00:00:00 IS FRAME 0 OF THE SCAN, COUNTED NON-DROP AT {nominal}"
    yield f"RECORD RATE: {programme.rate}"
    if runs:
        yield f"{RUNS}: EVERY EVENT SHOWS ONE FILM FRAME, AS LONG AS ITS RECORD"
    if programme.woven:
        yield f"{programme.woven} FRAMES HOLD FIELDS OF TWO FILM FRAMES: THE FIRST FIELD IS NAMED"


class _Writer:
    """Events of one list, and what M2 leaves unsaid in them."""

    def __init__(self, programme: Programme, name: str) -> None:
        self._programme, self._name = programme, name
        self._day = day_of(programme.rate, drop=programme.drop)
        self._unsaid: dict[str, list[Fraction]] = {}
        self._retold: set[str] = set()

    def edit(self, number: int, strip: Strip) -> Edit:
        """Return a strip as an event."""
        begin = (self._programme.start + strip.output) % self._day
        stop = (begin + strip.frames) % self._day
        record = Span(begin, stop, self._programme.drop)
        plain = Edit(
            number=number,
            reel=self._name,
            source=Span(strip.first, strip.last + 1),
            record=record,
            remarks=tuple(self._names(strip)),
        )
        if strip.is_film:
            return self._sped(plain, strip)
        reel = "BL" if strip.shows is Shows.BLACK else "AX"
        return replace(plain, reel=reel, source=Span(strip.first, strip.first + strip.frames))

    def _sped(self, edit: Edit, strip: Strip) -> Edit:
        """Return an event of film with its speed line, unless it plays as it is."""
        source = edit.source
        for end in (source.first, source.stop):
            self._check_label(end)
        said = self._spoken(strip)
        if said.remark is not None:
            edit = replace(edit, remarks=(*edit.remarks, said.remark))
        if said.unsaid is not None:
            self._unsaid.setdefault(said.unsaid, []).append(abs(said.error))
        at_rate = said.speed == self._programme.nominal and source.frames == strip.frames
        if at_rate or (strip.frames == 1 and strip.shows is Shows.HELD):
            return edit
        at = source.stop - 1 if said.speed < 0 else source.first
        return replace(edit, speed=SpeedLine(reel=self._name, speed=said.speed, at=at))

    def told(self) -> Iterator[str]:
        """Yield what is to be told of the list."""
        ranked = sorted(self._unsaid.items(), key=lambda one: -max(one[1]))
        for what, errors in ranked[:_TOLD]:
            events = f"{len(errors)} {'event' if len(errors) == 1 else 'events'}"
            yield f"{what}: {events}, off by at most {frames_said(max(errors))} film frames"
        if len(ranked) > _TOLD:
            rest = [error for _, errors in ranked[_TOLD:] for error in errors]
            yield (
                f"{len(ranked) - _TOLD} more paces that M2 cannot say: {len(rest)} events, "
                f"off by at most {frames_said(max(rest))} film frames"
            )
        if self._retold:
            yield f"{len(self._retold)} names hold letters that an EDL has not: see the list"

    def _names(self, strip: Strip) -> Iterator[str]:
        """Yield what a strip is called."""
        name = strip.plate or strip.name
        if name is not None:
            if any(ord(one) > ord("~") for one in name):
                self._retold.add(name)
            yield f"FROM CLIP NAME: {ascii_of(name)}"
        if strip.shows is Shows.PLATE:
            yield "PICTURE: NO FILM OF A SCAN"
        if strip.shot is not None:
            yield f"SHOT: {escaped(strip.reel)}/{escaped(strip.shot)}"
        if strip.kind is ShotKind.TITLE:
            yield "KIND: TITLE"

    def _spoken(self, strip: Strip) -> _Spoken:
        nominal = self._programme.nominal
        if strip.shows is Shows.HELD:
            remark = f"HELD: FRAME {strip.first} FOR {strip.frames} FRAMES"
            return _Spoken(Fraction(0), remark if strip.frames > 1 else None)
        speed = said_as(strip.ratio, nominal)
        tenths = tenths_said(speed)
        if strip.ramp is not None:
            ends = " -> ".join(spoken(one) for one in strip.ramp)
            remark = f"RAMP: {ends} FPS, SAID AS {tenths}: OFF BY AT MOST {strip.strays} FRAMES"
            return _Spoken(
                speed, remark, f"ramp {ends} fps, said as its mean", Fraction(strip.strays)
            )
        if strip.sifted:
            remark = f"SPEED: THE SCAN HOLDS REPEATS; SAID AS {tenths} OF ITS OWN FRAMES"
            return _Spoken(speed, remark, "a scan that holds repeats, said as a mean", Fraction(1))
        exact = strip.ratio * nominal
        if exact == speed:
            return _Spoken(speed)
        error = error_over(strip.ratio, speed, strip.frames, nominal)
        pace = f"{spoken(exact)} IN {nominal}"
        off = frames_said(error).upper()
        remark = f"SPEED: {pace}, SAID AS {tenths}: OFF BY {off} FRAMES AT THE END"
        return _Spoken(speed, remark, f"{pace.lower()}, said as {tenths}", error)

    def _check_label(self, frame: int) -> None:
        try:
            within_a_day(frame, self._programme.rate)
        except NotationError as error:
            text = f"{self._programme.deliverable}: {error.text}"
            raise CommandError(text, "write otio or csv: an EDL cannot name it") from error
