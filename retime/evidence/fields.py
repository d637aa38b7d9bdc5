"""The kinds of text that an evidence file's values are, each with its reader."""

# Pydantic reads the annotations when the document's classes are made, so the imports are needed.
from __future__ import annotations

import re
from fractions import Fraction
from typing import TYPE_CHECKING, Annotated, Final, TypeVar

from msgspec import Struct
from pydantic import PlainValidator, WithJsonSchema
from pydantic_core import PydanticCustomError

from retime.errors import NotationError
from retime.evidence.families import (
    DISTANCE,
    FREQUENCY,
    LENGTH,
    NUMBER,
    SHARE,
    SPEED,
    TIME,
    parse_steady,
)
from retime.evidence.figures import Figure, Share, parse_share
from retime.evidence.lengths import Part, parse_part
from retime.evidence.links import SpokenLink, parse_link
from retime.evidence.preferences import Preference, Screen, parse_preference, parse_screen
from retime.evidence.reading_rules import ReadingRule, parse_rule
from retime.film.length import SpokenLength
from retime.film.notation import SpokenSpeed, parse_number
from retime.yamldoc.quoting import quoted

if TYPE_CHECKING:
    from collections.abc import Callable

__all__ = [
    "Amount",
    "Count",
    "DistanceFigure",
    "FrequencyFigure",
    "ItemId",
    "LengthFigure",
    "LinkText",
    "Mark",
    "NumberFigure",
    "PartText",
    "Per",
    "PreferenceText",
    "RuleText",
    "ScreenText",
    "ShareFigure",
    "ShareText",
    "SpeedFigure",
    "SteadySpeed",
    "TimeFigure",
    "Tolerance",
    "Trust",
]

_T = TypeVar("_T")

_FIGURE: Final = {"type": ["string", "number"], "exclusiveMinimum": 0}
_TEXT: Final = {"type": "string"}
# Shapes for editors, which know YAML's numbers and take 1:35:00 for one.

_ID = re.compile(r"[a-z0-9]+(?:-[a-z0-9]+)*")
_TRUST = re.compile(r"0(?:\.[0-9]{1,6})?|1(?:\.0{1,6})?")
_COUNT = re.compile(r"0*[1-9][0-9]{0,5}")
_MARK = re.compile(r"[0-9]{1,9}(?:\.[0-9]{1,6})?")
_LONGEST_ID = 40
_LONGEST_FIGURE = 200


def _reader(parse: Callable[[str], _T]) -> PlainValidator:
    """Return a validator that reads a text of at most 200 characters with ``parse``."""

    def read(value: object) -> _T:
        if not isinstance(value, str):
            raise PydanticCustomError("string_type", "a text belongs here")
        if len(value) > _LONGEST_FIGURE:
            raise NotationError(f"{quoted(value)} is too long for a figure")
        return parse(value)

    return PlainValidator(read)


def _id(text: str) -> str:
    if not _ID.fullmatch(text) or len(text) > _LONGEST_ID:
        hint = f"write at most {_LONGEST_ID} small letters, digits and hyphens, such as press-book"
        raise NotationError(f"{quoted(text)} is no id", hint)
    return text


def _trust(text: str) -> Fraction:
    if not _TRUST.fullmatch(text):
        hint = "write a number from 0, for nothing, to 1, for a witness that cannot be wrong"
        raise NotationError(f"{quoted(text)} is no trust", hint)
    return Fraction(text)


def _count(text: str) -> int:
    if not _COUNT.fullmatch(text):
        raise NotationError(f"{quoted(text)} is no count", "write 1, 2, 3 or more")
    return int(text)


def _amount(text: str) -> Fraction:
    return parse_number(text, said=text, noun="number", hint="write a number, such as 32 or 32.5")


def _mark(text: str) -> Fraction:
    """Read a place on the film, in frames from anywhere."""
    if not _MARK.fullmatch(text):
        raise NotationError(f"{quoted(text)} is no frame", "write 12, or 12.5 between two frames")
    return Fraction(text)


class Measured(Struct, frozen=True):
    """What a time is the time of: so much film, or a whole reel where ``length`` is None."""

    length: Figure[SpokenLength] | None


def _per(text: str) -> Measured:
    try:
        return Measured(None if text == "reel" else LENGTH.figure(text))
    except NotationError as error:
        hint = "write per: 1000 ft, or per: reel with reel-length: 300 m"
        raise NotationError(error.text, hint) from error


TimeFigure = Annotated[Figure[Fraction], _reader(TIME.figure), WithJsonSchema(_FIGURE)]
LengthFigure = Annotated[Figure[SpokenLength], _reader(LENGTH.figure), WithJsonSchema(_FIGURE)]
SpeedFigure = Annotated[Figure[SpokenSpeed], _reader(SPEED.figure), WithJsonSchema(_FIGURE)]
NumberFigure = Annotated[Figure[Fraction], _reader(NUMBER.figure), WithJsonSchema(_FIGURE)]
ShareFigure = Annotated[Figure[Fraction], _reader(SHARE.figure), WithJsonSchema(_FIGURE)]
FrequencyFigure = Annotated[Figure[Fraction], _reader(FREQUENCY.figure), WithJsonSchema(_TEXT)]
DistanceFigure = Annotated[Figure[Fraction], _reader(DISTANCE.figure), WithJsonSchema(_TEXT)]
SteadySpeed = Annotated[SpokenSpeed, _reader(parse_steady), WithJsonSchema(_FIGURE)]
Amount = Annotated[Fraction, _reader(_amount), WithJsonSchema(_FIGURE)]
Mark = Annotated[Fraction, _reader(_mark), WithJsonSchema({"type": ["string", "number"]})]
Count = Annotated[int, _reader(_count), WithJsonSchema(_FIGURE)]
ShareText = Annotated[Share, _reader(parse_share), WithJsonSchema(_TEXT)]
PreferenceText = Annotated[Preference, _reader(parse_preference), WithJsonSchema(_TEXT)]
ScreenText = Annotated[Screen, _reader(parse_screen), WithJsonSchema(_FIGURE)]
PartText = Annotated[Part, _reader(parse_part), WithJsonSchema(_TEXT)]
RuleText = Annotated[ReadingRule, _reader(parse_rule), WithJsonSchema(_TEXT)]
LinkText = Annotated[SpokenLink, _reader(parse_link), WithJsonSchema(_TEXT)]
Per = Annotated[Measured, _reader(_per), WithJsonSchema(_TEXT)]
ItemId = Annotated[str, _reader(_id), WithJsonSchema({"type": ["string", "number"]})]
Trust = Annotated[
    Fraction,
    _reader(_trust),
    WithJsonSchema({"type": ["string", "number"], "minimum": 0, "maximum": 1}),
]
Tolerance = Annotated[str, _reader(str), WithJsonSchema(_FIGURE)]
"""What the main figures lie within; read with the figure that it belongs to."""
