"""A profile as a value, and the document model that it is read from."""

from __future__ import annotations

import re
from enum import StrEnum
from typing import TYPE_CHECKING, Annotated, Any, Literal

from msgspec import Struct
from pydantic import BeforeValidator, Field, WithJsonSchema

from retime.errors import NotationError
from retime.film.notation import parse_rate
from retime.profile.codecs import CODECS, Codec, Variant
from retime.yamldoc.binding import Section

if TYPE_CHECKING:
    from pathlib import Path

    from retime.film.speed import Rate

__all__ = ["AS_SCANNED", "Container", "Profile", "ProfileDocument"]

AS_SCANNED = "as scanned"
_NAME = re.compile(r"[a-z0-9][a-z0-9-]*")
_COUNT = re.compile(r"[1-9][0-9]{0,2}")
_LISTS = {"x264-params"}  # options that are lists of options: a profile's own are added


class Container(StrEnum):
    """What a deliverable's pictures are put into; the value is the file name's ending."""

    MKV = "mkv"
    MOV = "mov"
    MP4 = "mp4"
    SEQUENCE = "sequence"


class Profile(Struct, frozen=True, kw_only=True):
    """What a deliverable promises.

    ``codec`` and ``container`` are None where the scan's own are kept. ``pixel_formats`` are
    those allowed, the first being the fallback; empty where the scan's own is kept. ``rates``
    is empty where any positive rate goes. ``threads`` is the encoder's, fixed because it can
    change what is encoded.
    """

    name: str
    path: Path
    promises: str
    codec: Codec | None
    variant: Variant | None
    variant_name: str | None
    container: Container | None
    pixel_formats: tuple[str, ...]
    rates: tuple[Rate, ...]
    options: dict[str, str]
    threads: int
    links: bool
    caution: str

    def allows(self, rate: Rate) -> bool:
        """Tell whether the profile takes a rate."""
        return not self.rates or rate in self.rates

    def encoder_options(self) -> dict[str, str]:
        """Return all that the encoder is told: the codec's own, its variant's, the profile's."""
        if self.codec is None:
            return {}
        variant = self.variant.options if self.variant else {}
        told = {**self.codec.options, **variant, **self.options}
        for key in _LISTS & self.codec.options.keys() & self.options.keys():
            told[key] = f"{self.codec.options[key]}:{self.options[key]}"
        return told


def _yes_or_no(value: Any) -> Any:
    if value in {"yes", "true"}:
        return True
    if value in {"no", "false"}:
        return False
    raise NotationError(f"{value!r} is neither yes nor no", "write yes or no")


def _whole(value: Any) -> Any:
    if not (isinstance(value, str) and _COUNT.fullmatch(value)):
        raise NotationError(f"{value!r} is no count", "write a whole number such as 2")
    return int(value)


def _name(value: Any) -> Any:
    if isinstance(value, str) and not _NAME.fullmatch(value):
        raise NotationError(
            f"{value!r} is no name for a profile", "write small letters, digits and hyphens"
        )
    return value


def _sentence(value: Any) -> Any:
    if value == "":
        raise NotationError("the text is empty", "say in one sentence what is promised")
    return value


def _codec(value: Any) -> Any:
    if value == AS_SCANNED or value in CODECS:
        return value
    raise NotationError(
        f"the codec {value!r} is not known", f"write {AS_SCANNED!r} or one of {', '.join(CODECS)}"
    )


def _rates(value: Any) -> Any:
    if value == "any":
        return ()
    if isinstance(value, list) and value and all(isinstance(one, str) for one in value):
        return tuple(parse_rate(one) for one in value)
    raise NotationError("rates are a list of some, or the word any", "write [24, 25] or any")


YesNo = Annotated[bool, BeforeValidator(_yes_or_no), WithJsonSchema({"type": "boolean"})]
Whole = Annotated[int, BeforeValidator(_whole), WithJsonSchema({"type": "integer", "minimum": 1})]
_RATE = {"type": ["number", "string"]}
Rates = Annotated[
    tuple[Any, ...],
    BeforeValidator(_rates),
    WithJsonSchema({"anyOf": [{"const": "any"}, {"type": "array", "items": _RATE}]}),
]
ProfileName = Annotated[
    str,
    BeforeValidator(_name),
    WithJsonSchema({"type": "string", "pattern": f"^{_NAME.pattern}$"}),
]
Sentence = Annotated[
    str, BeforeValidator(_sentence), WithJsonSchema({"type": "string", "minLength": 1})
]
CodecName = Annotated[str, BeforeValidator(_codec), WithJsonSchema({"enum": [AS_SCANNED, *CODECS]})]


class ProfileDocument(Section):
    """The keys of a ``retime-profile/1`` document."""

    format: Literal["retime-profile/1"]
    profile: ProfileName = Field(description="the name maps use")
    promises: Sentence = Field(description="one sentence for whoever receives it")
    codec: CodecName
    variant: str | None = Field(default=None, description="the codec's own profile")
    container: Literal["mkv", "mov", "mp4", "sequence", "as scanned"]
    pixel_formats: list[str] = Field(default=[], alias="pixel-formats")
    rates: Rates
    options: dict[str, str] = Field(default={}, description="what the encoder is told besides")
    threads: Whole = 2
    links: YesNo = False
    caution: str = ""
