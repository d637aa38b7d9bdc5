"""One line of an EDL: its fields with their columns, and what each of them means."""

from __future__ import annotations

import re
from enum import StrEnum
from typing import TYPE_CHECKING, NamedTuple

from msgspec import Struct

from retime.errors import NotationError
from retime.lists.edl_events import Effect
from retime.lists.labels import looks_like_a_label
from retime.lists.speed_lines import parse_m2_speed
from retime.yamldoc.quoting import quoted

if TYPE_CHECKING:
    from fractions import Fraction

__all__ = [
    "EventFields",
    "LineFault",
    "LineKind",
    "SpeedFields",
    "Word",
    "event_fields",
    "fcm_of",
    "kind_of",
    "speed_fields",
]

_WORD = re.compile(r"\S+")
_WIPE = re.compile(r"W(\d{1,4})", re.ASCII)
_NUMBER = re.compile(r"\d{1,9}", re.ASCII)
_CHANNEL = re.compile(
    r"(?:NONE|V\d?|B|A{1,2}\d*(?:/V\d?)?|V/A+\d*|A\d(?:A?\d)*(?:/V\d?)?)", re.ASCII
)
_TIMES = 4
_EVENT_HINT = (
    "an event is: number, reel, channel, transition, then source in, source out, "
    "record in and record out"
)
_EFFECT_HINT = "it is C, D 024, W001 024, KB, K 024 or KO 024"
_M2_HINT = (
    "a speed line is: M2, reel, source frames a second, label, as in M2 001 018.0 01:00:00:00"
)


class Word(NamedTuple):
    """A field as it is written, and the column that it begins at, from 1."""

    text: str
    column: int


class LineFault(Exception):  # noqa: N818 - it is turned into a finding by whoever reads lines
    """What is wrong with a line, and at which column."""

    def __init__(self, column: int, text: str, hint: str = "") -> None:
        """Keep all three."""
        super().__init__(column, text, hint)
        self.column, self.text, self.hint = column, text, hint


class LineKind(StrEnum):
    """What a line is."""

    EMPTY = "empty"
    TITLE = "title"
    FCM = "fcm"
    REMARK = "remark"
    SPEED = "speed"
    EVENT = "event"
    OTHER = "other"
    UNKNOWN = "unknown"


_OTHERS = ("SPLIT", "GPI", "AUD", "FINAL", "BLOCK", "REEL", "EFFECTS", "SWM", "KEY")
"""Heads of lines that say nothing of which frames are shown, or say it in words."""


_BEGINNINGS = (
    ("*", LineKind.REMARK),
    ("TITLE:", LineKind.TITLE),
    ("FCM", LineKind.FCM),
    ("M2", LineKind.SPEED),
)


class EventFields(Struct, frozen=True, kw_only=True):
    """An event's line; ``times`` are source in, source out, record in and record out."""

    number: int
    reel: str
    channel: str
    effect: Effect
    wipe: int | None
    lasts: int | None
    faded: bool
    times: tuple[Word, ...]
    reel_column: int


class SpeedFields(Struct, frozen=True, kw_only=True):
    """A speed line."""

    reel: str
    speed: Fraction
    label: Word
    column: int


def kind_of(line: str) -> LineKind:
    """Tell what a line is by its beginning."""
    bare = line.strip()
    if not bare:
        return LineKind.EMPTY
    if bare[0].isdigit():
        return LineKind.EVENT
    head = bare.split(maxsplit=1)[0].upper()
    for beginning, kind in _BEGINNINGS:
        if head.startswith(beginning):
            return kind
    return LineKind.OTHER if head.rstrip(":") in _OTHERS else LineKind.UNKNOWN


def fcm_of(line: str) -> bool:
    """Return whether an FCM line says drop-frame."""
    _, colon, said = line.partition(":")
    words = " ".join(said.replace("-", " ").upper().split())
    known = {"DROP FRAME": True, "NON DROP FRAME": False, "NONDROP FRAME": False}
    if not colon or words not in known:
        hint = "write FCM: DROP FRAME or FCM: NON-DROP FRAME"
        raise LineFault(_column(line), f"{quoted(line.strip())} says no frame count", hint)
    return known[words]


def speed_fields(line: str) -> SpeedFields:
    """Read a speed line; raises LineFault."""
    words = _words(line)
    if len(words) < _TIMES:
        raise LineFault(words[-1].column, "the speed line is not whole", _M2_HINT)
    *middle, speed, label = words[1:]
    try:
        figure = parse_m2_speed(speed.text)
    except NotationError as error:
        raise LineFault(speed.column, error.text, error.hint) from error
    return SpeedFields(
        reel=" ".join(word.text for word in middle),
        speed=figure,
        label=label,
        column=words[0].column,
    )


def event_fields(line: str) -> EventFields:
    """Read an event's line; raises LineFault."""
    words = _words(line)
    if not _NUMBER.fullmatch(words[0].text):
        what = f"{quoted(words[0].text)} is no event number"
        raise LineFault(words[0].column, what, "write digits alone, such as 001")
    times = words[-_TIMES:]
    told = [word for word in words[1:] if looks_like_a_label(word.text)]
    if len(told) != _TIMES or told != times:
        raise _times_fault(words, told)
    middle = words[1:-_TIMES]
    lasts, faded = None, False
    if len(middle) > 1 and middle[-1].text.isdecimal() and len(middle) > 3:  # noqa: PLR2004
        lasts = _lasts(middle.pop())
    if middle and middle[-1].text.upper() == "(F)":
        middle.pop()
        faded = True
    effect, wipe = _effect(middle, times[0])
    if not middle:
        raise LineFault(words[0].column, "the event names no reel and no channel", _EVENT_HINT)
    channel = middle.pop()
    if not _CHANNEL.fullmatch(channel.text.upper()):
        hint = "it is V, A, A2, AA, B, A/V, A2/V, AA/V or NONE"
        raise LineFault(channel.column, f"{quoted(channel.text)} is no channel", hint)
    if not middle:
        raise LineFault(channel.column, "the event names no reel", _EVENT_HINT)
    if effect is not Effect.CUT and lasts is None and effect is not Effect.KEY_BACKGROUND:
        what = f"the transition {effect} has no length in frames"
        raise LineFault(times[0].column, what, _EFFECT_HINT)
    return EventFields(
        number=int(words[0].text),
        reel=" ".join(word.text for word in middle),
        channel=channel.text.upper(),
        effect=effect,
        wipe=wipe,
        lasts=lasts if effect is not Effect.CUT else None,
        faded=faded,
        times=tuple(times),
        reel_column=middle[0].column,
    )


def _effect(middle: list[Word], following: Word) -> tuple[Effect, int | None]:
    """Take a transition off the end of an event's fields."""
    if not middle:
        raise LineFault(following.column, "the event has no transition", _EFFECT_HINT)
    last = middle.pop()
    text = last.text.upper()
    if text in {"B", "O"} and middle and middle[-1].text.upper() == "K":
        middle.pop()
        text = f"K{text}"
    wipe = _WIPE.fullmatch(text)
    if wipe:
        return Effect.WIPE, int(wipe[1])
    try:
        effect = Effect(text)
    except ValueError:
        effect = Effect.WIPE
    if effect is Effect.WIPE:
        what = f"{quoted(last.text)} is no transition"
        raise LineFault(last.column, what, _EFFECT_HINT)
    return effect, None


def _lasts(word: Word) -> int:
    if not _NUMBER.fullmatch(word.text):
        what = f"{quoted(word.text)} is no length of a transition"
        raise LineFault(word.column, what, "write frames, such as 024")
    return int(word.text)


def _times_fault(words: list[Word], told: list[Word]) -> LineFault:
    """Return what is wrong with an event that does not end in four labels."""
    if len(told) > _TIMES:
        what = f"the event has {len(told)} timecodes"
        return LineFault(told[_TIMES].column, what, _EVENT_HINT)
    if len(words) >= 2 * _TIMES:
        odd = next((one for one in words[-_TIMES:] if one not in told), words[-1])
        hint = "write 01:00:00:00, or 01:00:00;00 for drop-frame"
        return LineFault(odd.column, f"{quoted(odd.text)} is no timecode", hint)
    what = f"the event has {len(told)} timecodes of four"
    return LineFault(words[-1].column, what, _EVENT_HINT)


def _words(line: str) -> list[Word]:
    return [Word(found[0], found.start() + 1) for found in _WORD.finditer(line)]


def _column(line: str) -> int:
    return len(line) - len(line.lstrip()) + 1
