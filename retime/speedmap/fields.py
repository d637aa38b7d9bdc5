"""The kinds of text that a map's values are, each with its reader and its shape for editors."""

from __future__ import annotations

import re
import unicodedata
from fractions import Fraction
from typing import TYPE_CHECKING, Annotated, Any, Final, TypeVar

from pydantic import AfterValidator, PlainValidator, WithJsonSchema
from pydantic_core import PydanticCustomError

from retime.errors import NotationError
from retime.film.gauge import Gauge, gauge_named
from retime.film.notation import (
    SpokenRamp,
    SpokenSpeed,
    parse_number,
    parse_pace,
    parse_rate,
    parse_speed,
    parse_time,
)
from retime.film.speed import Rate
from retime.light.raster import Rectangle, parse_area, parse_aspect, parse_size
from retime.speedmap.baked import Baked, parse_baked
from retime.speedmap.model import NUMBERING
from retime.yamldoc.quoting import quoted

if TYPE_CHECKING:
    from collections.abc import Callable

__all__ = [
    "Area",
    "Aspect",
    "BakedCadence",
    "CharactersASecond",
    "Decibels",
    "Duration",
    "FileName",
    "FrameCount",
    "FrameNumber",
    "GaugeName",
    "ItemName",
    "Language",
    "Moment",
    "Pace",
    "RasterSize",
    "RateText",
    "Rotation",
    "ScanAddress",
    "Shift",
    "SpeedRange",
    "SteadySpeed",
    "Switch",
    "Text",
    "Window",
    "item_name",
]

_T = TypeVar("_T")

_WORD: Final = {"type": ["string", "number", "boolean"]}
_FIGURE: Final = {"type": ["string", "number"], "exclusiveMinimum": 0}
# Shapes for editors, which know YAML's numbers and switches and take texts for them.

_SWITCHES: Final = {"yes": True, "no": False, "true": True, "false": False}
_NOTHING = re.compile(r"0+(\.0+)?( ?s)?|0+:00(:00)?")
_SIGNED = re.compile(r"([-+]) *(.+)", re.DOTALL)
_SHIFT_HINT = "write -20 ms, 1.5 s or 0:02"
_DECIBELS = re.compile(r"([-+]?[0-9]{1,3}(?:\.[0-9]{1,3})?) *dB")
_LANGUAGE = re.compile(r"[a-z]{3}")
_ROTATIONS = ("0", "90", "180", "270")
_LONGEST_FIGURE = 100
_LONGEST_NAME = 80
_MOST_NAME_BYTES = 100
_LONGEST_TEXT = 2_000
_PROTOCOL = re.compile(r"[A-Za-z][A-Za-z0-9+.-]+:")
_SOME_NUMBERING = re.compile(r"%[-+#0-9.]*[A-Za-z]")


def _reader(parse: Callable[[str], _T]) -> PlainValidator:
    """Return a validator that reads a figure of at most 100 characters with ``parse``."""

    def read(value: object) -> _T:
        if not isinstance(value, str):
            raise PydanticCustomError("string_type", "a text belongs here")
        if len(value) > _LONGEST_FIGURE:
            raise NotationError(f"{quoted(value)} is too long for a figure")
        return parse(value)

    return PlainValidator(read)


def _frame_number(text: str) -> int:
    if not re.fullmatch(r"[0-9]{1,9}", text):
        raise NotationError(f"{quoted(text)} is no frame number", "count frames 0, 1, 2, ...")
    return int(text)


def _frame_count(text: str) -> int:
    if not re.fullmatch(r"0*[1-9][0-9]{0,8}", text):
        raise NotationError(f"{quoted(text)} is no number of frames", "write 1 or more")
    return int(text)


def _steady_speed(text: str) -> SpokenSpeed:
    pace = parse_pace(text)
    if isinstance(pace, SpokenRamp):
        raise NotationError("titles take one speed, not a ramp", f"write {pace.first.text}")
    return parse_speed(text)


def _window(text: str) -> Fraction:
    hint = "it is told in output frames, such as 1 or 1/2"
    window = parse_number(text, said=text, noun="window", hint=hint)
    if window > 1:
        raise NotationError(f"the window {quoted(text)} is above 1", hint)
    return window


def _moment(text: str) -> Fraction:
    """Read a time that may also be 0."""
    return Fraction(0) if _NOTHING.fullmatch(text) else parse_time(text)


def _shift(text: str) -> Fraction:
    """Read a time that may be 0, before or after, also in milliseconds."""
    signed = _SIGNED.fullmatch(text)
    sign, told = (signed[1], signed[2]) if signed else ("", text)
    if told.endswith("ms"):
        amount = told.removesuffix("ms").rstrip()
        size = Fraction(0)
        if not _NOTHING.fullmatch(f"{amount} s"):
            size = parse_number(amount, said=text, noun="time", hint=_SHIFT_HINT) / 1000
    else:
        size = _moment(told)
    return -size if sign == "-" else size


def _decibels(text: str) -> Fraction:
    found = _DECIBELS.fullmatch(text)
    if not found:
        raise NotationError(f"{quoted(text)} is no gain", "write -3 dB or +1.5 dB")
    return Fraction(found[1])


def _characters(text: str) -> Fraction:
    hint = "write characters a second, such as 17 /s"
    return parse_number(text.removesuffix("/s").rstrip(), said=text, noun="limit", hint=hint)


def _language(text: str) -> str:
    if not _LANGUAGE.fullmatch(text):
        what = f"{quoted(text)} is no code of a language"
        raise NotationError(what, "write three small letters of ISO 639-2, such as eng or deu")
    return text


def _speed_range(text: str) -> tuple[SpokenSpeed, SpokenSpeed]:
    """Read two speeds with two dots between them; a unit behind the second is both's."""
    slow, dots, fast = (part.strip() for part in text.partition(".."))
    if not dots:
        raise NotationError(f"{quoted(text)} is no range of speeds", "write 16..26 fps")
    unit = fast.lstrip("0123456789./:").strip()
    first = slow if slow.lstrip("0123456789./:").strip() else f"{slow} {unit}".strip()
    return _steady_speed(first), _steady_speed(fast)


def _rotation(text: str) -> int:
    if text not in _ROTATIONS:
        raise NotationError(f"{quoted(text)} is no quarter turn", "write 90, 180 or 270, clockwise")
    return int(text)


def _switch(text: str) -> bool:
    if text not in _SWITCHES:
        raise NotationError(f"{quoted(text)} is neither yes nor no", "write yes or no")
    return _SWITCHES[text]


def _text(text: str) -> str:
    if not text.strip():
        raise NotationError("the text is empty")
    if len(text) > _LONGEST_TEXT:
        raise NotationError(f"the text is longer than {_LONGEST_TEXT} characters")
    if text.isprintable():  # most are, and to ask is quicker than to look
        return text
    control = next((c for c in text if unicodedata.category(c) in {"Cc", "Cs"}), None)
    if control is not None:
        raise NotationError(f"the text holds the control character U+{ord(control):04X}")
    return text


def item_name(text: str) -> str:
    """Read the name of a reel, shot or version; a slash would end it in ``reel/shot``."""
    _text(text)
    if len(text) > _LONGEST_NAME:
        raise NotationError(f"the name {quoted(text)} is longer than {_LONGEST_NAME} characters")
    if "/" in text:
        raise NotationError(f"the name {quoted(text)} holds a slash", "leave it out")
    return text


def _file_name(text: str) -> str:
    """Read a name that becomes part of a file's, which no name may lead out of its folder."""
    _text(text)
    hint = "it becomes part of a file name"
    for part, said in (("/", "a slash"), ("\\", "a backslash"), ("..", "two dots in a row")):
        if part in text:
            raise NotationError(f"the name {quoted(text)} holds {said}", hint)
    if text[0] == ".":
        raise NotationError(f"the name {quoted(text)} begins with a dot", hint)
    if len(text.encode()) > _MOST_NAME_BYTES:
        what = f"the name {quoted(text)} takes more than {_MOST_NAME_BYTES} bytes"
        raise NotationError(what, hint)
    return text


def _scan_address(text: str) -> str:
    _text(text)
    if _PROTOCOL.match(text):
        what = f"{quoted(text)} is an address with a protocol"
        raise NotationError(what, "name a file, relative to the map's folder")
    folder, _, name = text.rpartition("/")
    numbering = NUMBERING.findall(name)
    others = _SOME_NUMBERING.findall(NUMBERING.sub("", text))
    if len(numbering) > 1 or others or NUMBERING.search(folder):
        what = f"{quoted(text)} is no numbered sequence"
        raise NotationError(what, "put one %d or %06d into the name of the file")
    if not name:
        raise NotationError(f"{quoted(text)} is a folder", "name a movie file, or x/%06d.dpx")
    return text


def _counted(least: int) -> dict[str, Any]:
    """Return the schema of a whole number, in quotes or not."""
    return {"anyOf": [{"type": "integer", "minimum": least}, {"type": "string"}]}


Text = Annotated[str, AfterValidator(_text), WithJsonSchema(_WORD)]
ItemName = Annotated[str, AfterValidator(item_name), WithJsonSchema(_WORD)]
FileName = Annotated[str, AfterValidator(_file_name), WithJsonSchema(_WORD)]
ScanAddress = Annotated[str, AfterValidator(_scan_address), WithJsonSchema(_WORD)]
FrameNumber = Annotated[int, _reader(_frame_number), WithJsonSchema(_counted(0))]
FrameCount = Annotated[int, _reader(_frame_count), WithJsonSchema(_counted(1))]
Pace = Annotated[SpokenSpeed | SpokenRamp, _reader(parse_pace), WithJsonSchema(_FIGURE)]
SteadySpeed = Annotated[SpokenSpeed, _reader(_steady_speed), WithJsonSchema(_FIGURE)]
Duration = Annotated[Fraction, _reader(parse_time), WithJsonSchema(_FIGURE)]
RateText = Annotated[Rate, _reader(parse_rate), WithJsonSchema(_FIGURE)]
GaugeName = Annotated[Gauge, _reader(gauge_named), WithJsonSchema(_WORD)]
Window = Annotated[Fraction, _reader(_window), WithJsonSchema(_FIGURE)]
RasterSize = Annotated[
    tuple[int, int],
    _reader(parse_size),
    WithJsonSchema({"type": "string", "pattern": "^[1-9][0-9]{0,4}x[1-9][0-9]{0,4}$"}),
]
Moment = Annotated[Fraction, _reader(_moment), WithJsonSchema(_FIGURE)]
Shift = Annotated[Fraction, _reader(_shift), WithJsonSchema(_WORD)]
Decibels = Annotated[Fraction, _reader(_decibels), WithJsonSchema({"type": "string"})]
CharactersASecond = Annotated[Fraction, _reader(_characters), WithJsonSchema(_FIGURE)]
Language = Annotated[
    str, _reader(_language), WithJsonSchema({"type": "string", "pattern": "^[a-z]{3}$"})
]
SpeedRange = Annotated[
    tuple[SpokenSpeed, SpokenSpeed], _reader(_speed_range), WithJsonSchema({"type": "string"})
]
Area = Annotated[
    Rectangle,
    _reader(parse_area),
    WithJsonSchema({"type": "string", "pattern": r"^\d+, *\d+, *[1-9]\d*, *[1-9]\d*$"}),
]
Aspect = Annotated[
    Fraction,
    _reader(parse_aspect),
    WithJsonSchema({"type": "string", "pattern": "^[1-9][0-9]{0,3}:[1-9][0-9]{0,3}$"}),
]
BakedCadence = Annotated[Baked, _reader(parse_baked), WithJsonSchema({"type": "string"})]
Rotation = Annotated[
    int, _reader(_rotation), WithJsonSchema({"enum": [*_ROTATIONS, *map(int, _ROTATIONS)]})
]
Switch = Annotated[bool, _reader(_switch), WithJsonSchema({"enum": [*_SWITCHES, True, False]})]
