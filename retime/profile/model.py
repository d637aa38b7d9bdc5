"""A profile as a value, and the document model that it is read from."""

from __future__ import annotations

import re
from enum import StrEnum
from typing import TYPE_CHECKING, Annotated, Any, Literal

from msgspec import Struct
from pydantic import BeforeValidator, Field, WithJsonSchema

from retime.errors import NotationError
from retime.film.notation import parse_rate, shown
from retime.film.scanning import Scanning
from retime.light.burn_place import BurnPlace
from retime.light.raster import LARGEST_SIDE, Fit, parse_aspect, parse_size
from retime.profile.codecs import CODECS, Codec, Variant
from retime.profile.disc import DiscSection
from retime.profile.options import joined
from retime.profile.sound import SoundSection
from retime.yamldoc.binding import Section

if TYPE_CHECKING:
    from collections.abc import Callable
    from fractions import Fraction
    from pathlib import Path

    from retime.film.speed import Rate
    from retime.profile.disc import Disc
    from retime.profile.sound import SoundSpec

__all__ = ["AS_SCANNED", "Container", "Profile", "ProfileDocument"]

AS_SCANNED = "as scanned"
_NAME = re.compile(r"[a-z0-9][a-z0-9-]*")
_COUNT = re.compile(r"[1-9][0-9]{0,2}")
_LONG_COUNT = re.compile(r"[1-9][0-9]{0,4}")


class Container(StrEnum):
    """What a deliverable's pictures are put into; the value is the file name's ending."""

    MKV = "mkv"
    MOV = "mov"
    MP4 = "mp4"
    MXF = "mxf"
    M2V = "m2v"
    H264 = "264"
    MPG = "mpg"
    TS = "ts"
    M2TS = "m2ts"
    SEQUENCE = "sequence"


class Profile(Struct, frozen=True, kw_only=True):
    """What a deliverable promises.

    ``codec`` and ``container`` are None where the scan's own are kept. ``pixel_formats`` are
    those allowed, the first being the fallback; empty where the scan's own is kept. ``rates``
    is empty where any positive rate goes. ``threads`` is the encoder's, fixed because it can
    change what is encoded. ``size`` is the raster's width and height, None where the map or the
    scan decides it; ``display_aspect`` is width over height of the picture as it is shown, None
    where samples are square, and ``active_width`` how many samples of the width carry it, None
    for all. ``scannings`` are those allowed, the first being the one where a map states none.
    ``disc`` are the limits of the disc that it is for, None where it is for none. ``burn_place`` is
    where text stands that a deliverable has burnt in. ``sound`` is how sound is coded, None where
    the profile takes none.
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
    fit: Fit
    size: tuple[int, int] | None
    display_aspect: Fraction | None
    active_width: int | None
    scannings: tuple[Scanning, ...]
    disc: Disc | None
    sound: SoundSpec | None
    burn_place: BurnPlace

    def allows(self, rate: Rate) -> bool:
        """Tell whether the profile takes a rate."""
        return not self.rates or rate in self.rates

    def encoder_options(self) -> dict[str, str]:
        """Return all that the encoder is told: the codec's own, its variant's, the profile's."""
        if self.codec is None:
            return {}
        of_container = self.codec.container_options.get(self.container or "", {})
        of_variant = self.variant.options if self.variant else {}
        return joined(self.codec.options, of_container, of_variant, self.options)


def _yes_or_no(value: Any) -> Any:
    if isinstance(value, str) and value in {"yes", "true"}:
        return True
    if isinstance(value, str) and value in {"no", "false"}:
        return False
    raise NotationError(f"{shown(str(value))} is neither yes nor no", "write yes or no")


def _whole(value: Any) -> Any:
    if not (isinstance(value, str) and _COUNT.fullmatch(value)):
        raise NotationError(f"{shown(str(value))} is no count", "write a whole number such as 2")
    return int(value)


def _name(value: Any) -> Any:
    if isinstance(value, str) and not _NAME.fullmatch(value):
        raise NotationError(
            f"{shown(value)} is no name for a profile", "write small letters, digits and hyphens"
        )
    return value


def _sentence(value: Any) -> Any:
    if value == "":
        raise NotationError("the text is empty", "say in one sentence what is promised")
    return value


def _codec(value: Any) -> Any:
    if isinstance(value, str) and (value == AS_SCANNED or value in CODECS):
        return value
    raise NotationError(
        f"the codec {shown(str(value))} is not known",
        f"write {AS_SCANNED!r} or one of {', '.join(CODECS)}",
    )


def _rates(value: Any) -> Any:
    if value == "any":
        return ()
    if isinstance(value, list) and value and all(isinstance(one, str) for one in value):
        return tuple(parse_rate(one) for one in value)
    raise NotationError("rates are a list of some, or the word any", "write [24, 25] or any")


def _text(read: Callable[[str], Any]) -> BeforeValidator:
    """Return a validator that reads one text with ``read``."""

    def checked(value: Any) -> Any:
        if not isinstance(value, str):
            raise NotationError("one text belongs here")
        return read(value)

    return BeforeValidator(checked)


def _samples(text: str) -> int:
    if not (_LONG_COUNT.fullmatch(text) and int(text) <= LARGEST_SIDE):
        raise NotationError(
            f"{shown(text)} is no number of samples", "write a whole number such as 704"
        )
    return int(text)


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
Size = Annotated[
    Any, _text(parse_size), WithJsonSchema({"type": "string", "pattern": "^[0-9]+x[0-9]+$"})
]
Aspect = Annotated[
    Any,
    _text(parse_aspect),
    # To YAML 1.1, as some editors read it, 16:9 is the number 969.
    WithJsonSchema({"type": ["string", "number"], "pattern": "^[0-9]+:[0-9]+$"}),
]
Samples = Annotated[
    int, _text(_samples), WithJsonSchema({"type": "integer", "minimum": 1, "maximum": LARGEST_SIDE})
]


class ProfileDocument(Section):
    """The keys of a ``retime-profile/1`` document."""

    format: Literal["retime-profile/1"]
    profile: ProfileName = Field(description="the name maps use")
    promises: Sentence = Field(description="one sentence for whoever receives it")
    codec: CodecName
    variant: str | None = Field(default=None, description="the codec's own profile")
    container: Literal[
        "mkv", "mov", "mp4", "mxf", "m2v", "264", "mpg", "ts", "m2ts", "sequence", "as scanned"
    ]
    pixel_formats: list[str] = Field(default=[], alias="pixel-formats")
    rates: Rates
    scanning: list[Scanning] = Field(
        default=[], description="how frames may be scanned, the usual way first"
    )
    options: dict[str, str] = Field(default={}, description="what the encoder is told besides")
    threads: Whole = 2
    links: YesNo = False
    caution: str = ""
    raster: Fit = Field(default=Fit.KEEP, description="how a scan's picture comes into the raster")
    size: Size | None = Field(default=None, description="the raster, width x height")
    display_aspect: Aspect | None = Field(default=None, alias="display-aspect")
    active_width: Samples | None = Field(
        default=None, alias="active-width", description="how much of the width has that aspect"
    )
    disc: DiscSection | None = Field(default=None, description="the limits of a disc")
    sound: SoundSection | None = Field(default=None, description="how sound is coded")
    burn_in: BurnPlace = Field(
        default=BurnPlace.BOTTOM, alias="burn-in", description="where burnt-in text stands"
    )
