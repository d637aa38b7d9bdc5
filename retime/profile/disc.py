"""A disc's published limits, each with its source, as a profile's ``disc`` section states them."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Annotated, Any

from msgspec import Struct
from pydantic import BeforeValidator, Field, WithJsonSchema

from retime.errors import NotationError
from retime.film.notation import parse_rate, shown
from retime.light.raster import parse_aspect, parse_size
from retime.yamldoc.binding import Section

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Mapping
    from fractions import Fraction

    from retime.film.speed import Rate
    from retime.profile.model import ProfileDocument

__all__ = ["CODED", "Disc", "DiscSection", "disc_faults", "disc_of"]

CODED = ("mpeg2", "h264")
"""The codecs that discs here take, by our names."""

_NUMBER = re.compile(r"[1-9][0-9]{0,9}")


class Disc(Struct, frozen=True, kw_only=True):
    """What a disc takes.

    ``peak_rate`` are the most bits of coded pictures in any one second, ``average_rate`` those of
    the mean second, None where nothing is said of it. ``buffer`` is a decoder's, in bits.
    ``group_fields`` are the most fields that a group of pictures shows. ``repeat_flags`` if film
    frames may be coded once and shown for two or three fields. ``sources`` has, by the keys of
    the profile, who says so.
    """

    rates: tuple[Rate, ...]
    rasters: tuple[tuple[int, int], ...]
    display_aspects: tuple[Fraction, ...]
    peak_rate: int
    average_rate: int | None
    buffer: int
    group_fields: int
    repeat_flags: bool
    sources: dict[str, str]


def _number(value: Any) -> Any:
    if not (isinstance(value, str) and _NUMBER.fullmatch(value)):
        raise NotationError(
            f"{shown(str(value))} is no number", "write a whole number such as 9800000"
        )
    return int(value)


def _each(read: Callable[[str], Any]) -> BeforeValidator:
    """Return a validator that reads a list of texts with ``read``."""

    def checked(value: Any) -> Any:
        if not (isinstance(value, list) and value and all(isinstance(one, str) for one in value)):
            raise NotationError("a list belongs here", "write [one, another]")
        return tuple(read(one) for one in value)

    return BeforeValidator(checked)


def _yes_or_no(value: Any) -> Any:
    if not isinstance(value, str) or value not in {"yes", "no"}:
        raise NotationError(f"{shown(str(value))} is neither yes nor no", "write yes or no")
    return value == "yes"


def _source(value: Any) -> Any:
    if not (isinstance(value, str) and value):
        raise NotationError("a limit has a source", "say who says so, or write from memory")
    return value


_TEXTS = {"type": "array", "minItems": 1, "items": {"type": ["string", "number"]}}
_LISTED = WithJsonSchema(_TEXTS)
Number = Annotated[int, BeforeValidator(_number), WithJsonSchema({"type": "integer", "minimum": 1})]
Source = Annotated[
    str, BeforeValidator(_source), WithJsonSchema({"type": "string", "minLength": 1})
]


class _Sourced(Section):
    source: Source = Field(description="who says so, in words")


class NumberLimit(_Sourced):
    """A number that is not to be passed."""

    limit: Number


class RateLimit(_Sourced):
    """The rates that there are."""

    limit: Annotated[tuple[Any, ...], _each(parse_rate), _LISTED]


class RasterLimit(_Sourced):
    """The rasters that there are."""

    limit: Annotated[tuple[Any, ...], _each(parse_size), _LISTED]


class AspectLimit(_Sourced):
    """The display aspects that there are."""

    limit: Annotated[tuple[Any, ...], _each(parse_aspect), _LISTED]


class FlagLimit(_Sourced):
    """Whether something is taken at all."""

    limit: Annotated[bool, BeforeValidator(_yes_or_no), WithJsonSchema({"type": "boolean"})]


class DiscSection(Section):
    """The keys of a profile's ``disc`` section: each has a ``limit`` and its ``source``."""

    rates: RateLimit
    rasters: RasterLimit
    display_aspects: AspectLimit = Field(alias="display-aspects")
    peak_rate: NumberLimit = Field(alias="peak-rate", description="bits in any second")
    average_rate: NumberLimit | None = Field(default=None, alias="average-rate")
    buffer: NumberLimit = Field(description="the decoder's buffer, in bits")
    group_fields: NumberLimit = Field(
        alias="group-fields", description="the most fields that a group of pictures shows"
    )
    repeat_flags: FlagLimit = Field(alias="repeat-flags")


def disc_of(section: DiscSection) -> Disc:
    """Return a section's limits as a value."""
    sources = {
        (info.alias or name): getattr(section, name).source
        for name, info in DiscSection.model_fields.items()
        if getattr(section, name) is not None
    }
    return Disc(
        rates=section.rates.limit,
        rasters=section.rasters.limit,
        display_aspects=section.display_aspects.limit,
        peak_rate=section.peak_rate.limit,
        average_rate=section.average_rate.limit if section.average_rate else None,
        buffer=section.buffer.limit,
        group_fields=section.group_fields.limit,
        repeat_flags=section.repeat_flags.limit,
        sources=sources,
    )


Fault = tuple[tuple[str, ...], str, str]


def disc_faults(document: ProfileDocument) -> Iterator[Fault]:
    """Yield what a profile promises or tells its encoder beyond the limits of its disc.

    Each is where it stands, what is wrong and what would be right.
    """
    if document.disc is None:
        return
    if document.codec not in CODED:
        hint = f"write codec: {' or '.join(CODED)}"
        yield ("disc",), f"no disc here takes {document.codec}", hint
        return
    disc = disc_of(document.disc)
    strange = [str(rate) for rate in document.rates if rate not in disc.rates]
    if strange or not document.rates:
        told = f"the disc has no rate of {strange[0]}" if strange else "the disc has not any rate"
        yield ("rates",), told, f"write [{', '.join(map(str, disc.rates))}]"
    if document.size not in disc.rasters:
        rasters = " or ".join(f"{width}x{height}" for width, height in disc.rasters)
        yield ("size",), "the disc has no such raster", f"write size: {rasters}"
    if document.display_aspect not in disc.display_aspects:
        aspects = " or ".join(f"{one.numerator}:{one.denominator}" for one in disc.display_aspects)
        yield ("display-aspect",), "the disc has no such display aspect", f"write {aspects}"
    yield from _told_faults(disc, document.options)


def _told_faults(disc: Disc, options: Mapping[str, str]) -> Iterator[Fault]:
    """Yield what is wrong with the rates and the group length that the encoder is told."""
    told: dict[str, int] = {}
    for name in ("b", "maxrate", "bufsize", "g"):
        text = options.get(name, "")
        if not _NUMBER.fullmatch(text):
            hint = f"add {name} as a whole number"
            yield ("options",), f"the encoder is not told {name}, which a disc limits", hint
        else:
            told[name] = int(text)
    most = {
        "b": disc.average_rate or disc.peak_rate,
        "maxrate": disc.peak_rate,
        "bufsize": disc.buffer,
        "g": disc.group_fields // 2,
    }
    for name, value in told.items():
        if value > most[name]:
            yield ("options", name), f"{value} is beyond the disc's limit", f"at most {most[name]}"
    second = told.get("maxrate", 0) + told.get("bufsize", 0)
    if second > disc.peak_rate >= told.get("maxrate", 0):
        text = f"maxrate and bufsize allow {second} bits in a second, the disc {disc.peak_rate}"
        yield ("options", "maxrate"), text, "make one of them smaller"
