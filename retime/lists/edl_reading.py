"""A CMX 3600 EDL read: text in, events out, or every fault at its line and column.

Read are TITLE and FCM, events of every kind, speed lines (M2) and remarks, whatever their letter
case, tabs, trailing blanks and line ends. An EDL says nothing of its rate: that is given.

Which count a label is of: where an event writes ``;`` in any of its labels, its marks tell; where
it does not, the source is counted as the last line FCM says, the record as the first one does
(SMPTE ST 258:2004, from memory).
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from retime.errors import DocumentError, NotationError
from retime.film.timecode import day_of, drops, label
from retime.findings import Finding, Severity, TextPlace
from retime.lists.edl_checks import odd_length, overlaps, unheld_transition
from retime.lists.edl_events import Edit, Edl, Span, SpeedLine
from retime.lists.edl_lines import (
    EventFields,
    LineFault,
    LineKind,
    SpeedFields,
    Word,
    event_fields,
    fcm_of,
    kind_of,
    speed_fields,
)
from retime.lists.labels import frame_at, marked_drop, span_of
from retime.lists.listtext import MOST_FAULTS, lines_of
from retime.yamldoc.quoting import quoted

if TYPE_CHECKING:
    from pathlib import Path

    from retime.film.speed import Rate

__all__ = ["read_edl"]


def read_edl(data: bytes, path: Path, rate: Rate) -> Edl:
    """Read the list in ``data``, whose labels count at ``rate``; ``path`` names it.

    Raises:
        DocumentError: with every fault; warnings are told with them.
    """
    reading = _Reading(path, rate)
    for number, line in enumerate(lines_of(data, path), start=1):
        reading.take(number, line)
        if reading.faults > MOST_FAULTS:
            break
    return reading.edl()


class _Open:
    """An event's line while what belongs to it may still come."""

    def __init__(self, line: int, fields: EventFields, drops_at: tuple[bool, bool]) -> None:
        self.line, self.fields = line, fields
        self.source_drop, self.record_drop = drops_at
        self.remarks: list[str] = []
        self.speed: tuple[int, SpeedFields] | None = None


class _Reading:
    """A list while it is read, line by line."""

    def __init__(self, path: Path, rate: Rate) -> None:
        self._path, self._rate = path, rate
        self._title: str | None = None
        self._fcm: list[bool] = []
        self._heading: list[str] = []
        self._others: list[str] = []
        self._open: list[_Open] = []
        self._edits: list[tuple[int, Edit]] = []
        self._event = 0
        self._findings: list[Finding] = []
        self._last = 0
        self.faults = 0

    def take(self, number: int, line: str) -> None:
        """Take the next line."""
        self._last = number
        try:
            self._taken(number, line)
        except LineFault as fault:
            self._note(number, fault.column, fault.text, fault.hint)

    def edl(self) -> Edl:
        """Return the list, once all its lines are taken."""
        self._close()
        if not self._edits and not self.faults:
            what = "there is no event in the list"
            self._note(self._last, 1, what, "an EDL has lines such as 001 R1 V C and four labels")
        self._check_overlaps()
        if self.faults:
            raise DocumentError(self._findings)
        return Edl(
            rate=self._rate,
            title=self._title or "",
            drop=self._fcm[0] if self._fcm else None,
            heading=tuple(self._heading),
            edits=tuple(edit for _, edit in self._edits),
            others=tuple(self._others),
            findings=tuple(self._findings),
        )

    def _taken(self, number: int, line: str) -> None:
        match kind_of(line):
            case LineKind.TITLE:
                self._take_title(number, line)
            case LineKind.FCM:
                self._take_fcm(number, line)
            case LineKind.REMARK:
                self._take_remark(line.strip().lstrip("*").strip())
            case LineKind.SPEED:
                self._take_speed(number, speed_fields(line))
            case LineKind.EVENT:
                self._take_event(number, line)
            case LineKind.OTHER:
                self._others.append(line.strip())
            case LineKind.UNKNOWN:
                self._take_unknown(number, line)
            case LineKind.EMPTY:
                pass

    def _take_title(self, number: int, line: str) -> None:
        if self._title is not None:
            raise LineFault(1, "a second list begins here", "put each list into a file of its own")
        self._title = line.partition(":")[2].strip()
        if self._edits or self._open:
            self._note(number, 1, "the title stands below events", "", Severity.WARNING)

    def _take_fcm(self, number: int, line: str) -> None:
        drop = fcm_of(line)
        if drop and not drops(self._rate):
            what = f"the list counts drop-frame, and a rate of {self._rate} has no such labels"
            self._note(number, 1, what, "give the rate that it counts, 29.97 or 59.94")
            drop = False
        self._fcm.append(drop)

    def _take_remark(self, text: str) -> None:
        if not self._open:
            self._heading.append(text)
            return
        of_first = len(self._open) > 1 and text.upper().startswith("FROM CLIP NAME")
        self._open[0 if of_first else -1].remarks.append(text)

    def _take_unknown(self, number: int, line: str) -> None:
        bare = line.strip()
        column = len(line) - len(line.lstrip()) + 1
        if not bare[0].isalpha() or not bare.isprintable():
            hint = "an event begins with its number, a remark with *, a speed line with M2"
            raise LineFault(column, f"{quoted(bare)} is no line of an EDL", hint)
        what = f"{quoted(bare)} is no line of an EDL that is known here, and is taken as a remark"
        self._note(number, column, what, "", Severity.WARNING)
        self._take_remark(bare)

    def _take_event(self, number: int, line: str) -> None:
        try:
            fields = event_fields(line)
        except LineFault:
            self._close()  # what follows belongs to no event that came before
            raise
        if self._open and (self._open[-1].fields.number != fields.number or len(self._open) > 1):
            self._close()
        marked = any(marked_drop(word.text) for word in fields.times)
        if marked:
            counts = (marked_drop(fields.times[0].text), marked_drop(fields.times[2].text))
        else:
            counts = (self._fcm[-1], self._fcm[0]) if self._fcm else (False, False)
        self._open.append(_Open(number, fields, counts))

    def _take_speed(self, number: int, fields: SpeedFields) -> None:
        if not self._open:
            raise LineFault(fields.column, "the speed line belongs to no event before it")
        free = [one for one in self._open if one.speed is None]
        same = [one for one in free if one.fields.reel.upper() == fields.reel.upper()]
        at = [one for one in same if one.fields.times[0].text == fields.label.text]
        found = at or same or (free if len(self._open) == 1 else [])
        if not found:
            reels = " and ".join(dict.fromkeys(quoted(one.fields.reel) for one in self._open))
            what = f"the speed line is of reel {quoted(fields.reel)}, and the event has {reels}"
            if not free or any(
                one.fields.reel.upper() == fields.reel.upper() for one in self._open
            ):
                what = "the event has its speed lines already"
            raise LineFault(fields.column, what)
        if not same:
            what = f"the speed line names {quoted(fields.reel)}, not the reel of its event"
            self._note(number, fields.column, what, "it is taken for that event", Severity.WARNING)
        found[0].speed = (number, fields)

    def _close(self) -> None:
        """Turn the lines of the event that has ended into edits."""
        for one in self._open:
            try:
                self._edits.append((self._event, self._edit(one)))
            except LineFault as fault:
                self._note(one.line, fault.column, fault.text, fault.hint)
        self._event += 1
        self._open.clear()

    def _edit(self, one: _Open) -> Edit:
        fields = one.fields
        source_in, source_out = self._pair(fields.times[:2], drop=one.source_drop)
        record_in, record_out = self._pair(fields.times[2:], drop=one.record_drop)
        speed = self._speed(one)
        backward = speed is not None and speed.speed < 0
        source = (source_in, source_out)
        if not (backward and source_out < source_in):
            source = self._span(source, fields.times[1], "the source", drop=one.source_drop)
        record = self._span(
            (record_in, record_out), fields.times[3], "the record", drop=one.record_drop
        )
        edit = Edit(
            number=fields.number,
            reel=fields.reel,
            source=Span(*source, one.source_drop),
            record=Span(*record, one.record_drop),
            channel=fields.channel,
            effect=fields.effect,
            wipe=fields.wipe,
            lasts=fields.lasts,
            faded=fields.faded,
            speed=speed,
            remarks=tuple(one.remarks),
            place=TextPlace(path=self._path, line=one.line, column=fields.reel_column),
        )
        self._check_lengths(one, edit)
        return edit

    def _speed(self, one: _Open) -> SpeedLine | None:
        if one.speed is None:
            return None
        number, fields = one.speed
        drop = marked_drop(fields.label.text) or one.source_drop
        try:
            at = frame_at(fields.label.text, self._rate, drop=drop)
        except NotationError as error:
            self._note(number, fields.label.column, error.text, error.hint)
            return None
        place = TextPlace(path=self._path, line=number, column=fields.column)
        return SpeedLine(reel=fields.reel, speed=fields.speed, at=at, place=place)

    def _pair(self, words: tuple[Word, ...], *, drop: bool) -> tuple[int, int]:
        """Return the frames of an in and an out."""
        if marked_drop(words[0].text) is not marked_drop(words[1].text):
            what = f"{words[0].text} and {words[1].text} are not of one count"
            raise LineFault(words[1].column, what, "write both with : or both with ;")
        frames = []
        for word in words:
            try:
                frames.append(frame_at(word.text, self._rate, drop=drop))
            except NotationError as error:
                raise LineFault(word.column, error.text, error.hint) from error
        return frames[0], frames[1]

    def _span(self, ends: tuple[int, int], out: Word, noun: str, *, drop: bool) -> tuple[int, int]:
        span = span_of(*ends, day_of(self._rate, drop=drop))
        if span is None:
            hint = "an out is the frame after the last, and later than its in"
            raise LineFault(out.column, f"{noun} ends at {out.text}, before it begins", hint)
        return span

    def _check_lengths(self, one: _Open, edit: Edit) -> None:
        source_out, record_out = one.fields.times[1], one.fields.times[3]
        if unheld_transition(edit):
            what = f"the transition lasts {edit.lasts} frames, and the event {edit.record.frames}"
            hint = "an event holds the whole of its transition"
            raise LineFault(record_out.column, what, hint)
        odd = odd_length(edit, int(self._rate.nominal.fps))
        if odd is not None:
            self._note(one.line, source_out.column, *odd, Severity.WARNING)

    def _check_overlaps(self) -> None:
        for edit, other in overlaps(self._edits):
            at = label(edit.record.first, self._rate, drop=edit.record.drop)
            what = f"event {edit.number:03} begins at {at}, before event {other.number:03} ends"
            hint = f"that one stands on line {other.place.line}"
            self._note(edit.place.line, edit.place.column, what, hint)

    def _note(
        self,
        line: int,
        column: int,
        text: str,
        hint: str = "",
        severity: Severity = Severity.ERROR,
    ) -> None:
        self.faults += severity is Severity.ERROR
        place = TextPlace(path=self._path, line=line, column=column)
        self._findings.append(
            Finding(place=place, rule="edl", text=text, hint=hint, severity=severity)
        )
