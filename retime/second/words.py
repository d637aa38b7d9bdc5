"""What the program says of a file when it opens it, taken apart.

The words are those of versions 5.1 to 9.0, which differ a little: where they stand, what stands
between them, and that streams may be gathered in groups.
"""

from __future__ import annotations

import re
from fractions import Fraction
from typing import TYPE_CHECKING

from msgspec import Struct, field
from msgspec.structs import replace

from retime.second.colours import NOTHING_SAID, Colours, colours_in_words

if TYPE_CHECKING:
    from collections.abc import Iterator

__all__ = ["ORDERS", "SaidStream", "Words", "read_words"]

ORDERS = {
    "progressive": "progressive",
    "top first": "top-first",
    "bottom first": "bottom-first",
    "top coded first (swapped)": "bottom-first",
    "bottom coded first (swapped)": "top-first",
}
"""By the order in which fields are shown, whichever is coded first."""

_INPUT = re.compile(r"Input #0, (?P<format>.+?), from '")
_STREAM = re.compile(
    r" {2,6}Stream #0:(?P<number>\d+)(?:\[0x[0-9a-f]+\])?(?:\((?P<language>[^)]*)\))?: "
    r"(?P<kind>Video|Audio|Subtitle|Data|Attachment): (?P<said>.*)"
)
_TAG = re.compile(r"\((?P<tag>.{4}|(?:[^()]|\[\d+\])+) / 0x[0-9A-Fa-f]+\)")
_BRACKETS = re.compile(r"\(([^()]*)\)")
_FORMAT = re.compile(r"(?P<name>\w+)(?:\((?P<parts>.*)\))?")
_SIZE = re.compile(r"(?P<width>\d+)x(?P<height>\d+)\b(?P<more>.*)")
_ASPECT = re.compile(r"SAR (?P<sample>\d+:\d+) DAR (?P<display>\d+:\d+)")
_VALUE = re.compile(r" +(?P<key>[^ :][^:]*?) *: (?P<value>.*)")
_HERTZ = re.compile(r"(\d+) Hz")
_AFTER = ("Output #", "Stream mapping")


class SaidStream(Struct, frozen=True, kw_only=True):
    """What is said of a stream; what is not said is empty, 0 or None.

    ``sample_aspect`` is the container's, ``coded_aspect`` that of the coded pictures.
    """

    number: int
    kind: str
    language: str = ""
    codec: str = ""
    profile: str = ""
    tag: str = ""
    pixel_format: str = ""
    width: int = 0
    height: int = 0
    sample_aspect: Fraction | None = None
    coded_aspect: Fraction | None = None
    order: str | None = None
    colours: Colours = NOTHING_SAID
    sample_rate: int = 0
    values: dict[str, str] = field(default_factory=dict)


class Words(Struct, frozen=True, kw_only=True):
    """A file's container, by the program's names of it, and its streams."""

    container: str
    streams: tuple[SaidStream, ...]

    def of_kind(self, kind: str) -> tuple[SaidStream, ...]:
        """Return the streams of a kind: Video, Audio or Subtitle."""
        return tuple(stream for stream in self.streams if stream.kind == kind)


def read_words(text: str) -> Words | None:
    """Return what is said of the input, None where nothing was opened.

    A stream's values are those that stand under it, their keys in small letters; of a key's
    several values the first counts.
    """
    container = ""
    streams: list[SaidStream] = []
    under: dict[str, str] = {}
    for line in text.splitlines():
        if not container:
            found = _INPUT.match(line)
            container = found["format"] if found else ""
        elif line.startswith(_AFTER):
            break
        elif stream := _STREAM.match(line):
            under = {}
            streams.append(_stream(stream, under))
        elif value := _VALUE.match(line):
            under.setdefault(value["key"].lower(), value["value"].strip())
    return Words(container=container, streams=tuple(streams)) if container else None


def _stream(found: re.Match[str], values: dict[str, str]) -> SaidStream:
    parts = list(_split(found["said"]))
    said = SaidStream(
        number=int(found["number"]),
        kind=found["kind"],
        language=found["language"] or "",
        codec=parts[0].split(" ")[0],
        profile=_profile(parts[0]),
        tag=_tag(parts[0]),
        values=values,
    )
    if said.kind == "Video":
        return _video(said, parts[1:])
    if said.kind == "Audio":
        rates = [int(rate[1]) for part in parts[1:] if (rate := _HERTZ.fullmatch(part))]
        return replace(said, sample_rate=rates[0] if rates else 0)
    return said


def _profile(text: str) -> str:
    """Return the codec's own profile: the last thing in brackets that is no tag."""
    found = _BRACKETS.findall(_TAG.sub("", text))
    return found[-1] if found else ""


def _tag(text: str) -> str:
    found = _TAG.search(text)
    return found["tag"] if found else ""


def _video(said: SaidStream, parts: list[str]) -> SaidStream:
    pixels = _FORMAT.fullmatch(parts[0]) if parts else None
    inside = list(_split(pixels["parts"] or "")) if pixels else []
    orders = [ORDERS[part] for part in inside if part in ORDERS]
    size, coded = (0, 0), None
    told = None
    for part in parts[1:]:
        raster, aspect = _SIZE.match(part), _ASPECT.search(part)
        if raster and size == (0, 0):
            size = int(raster["width"]), int(raster["height"])
            coded = _ratio(aspect)
        elif aspect:
            told = _ratio(aspect)
    return replace(
        said,
        pixel_format=pixels["name"] if pixels else "",
        width=size[0],
        height=size[1],
        sample_aspect=told,
        coded_aspect=coded,
        order=orders[0] if orders else None,
        colours=colours_in_words(inside),
    )


def _ratio(found: re.Match[str] | None) -> Fraction | None:
    if found is None:
        return None
    one, other = map(int, found["sample"].split(":"))
    return Fraction(one, other) if one and other else None


def _split(text: str) -> Iterator[str]:
    """Yield what stands between commas that are in no brackets."""
    depth = begin = 0
    for place, letter in enumerate(text):
        depth += (letter in "([") - (letter in ")]")
        if letter == "," and not depth:
            yield text[begin:place].strip()
            begin = place + 1
    if text[begin:].strip():
        yield text[begin:].strip()
