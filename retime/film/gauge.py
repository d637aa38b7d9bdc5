"""Film gauges: frames to the foot by convention, and frame pitch by the standards."""

from __future__ import annotations

from enum import StrEnum
from fractions import Fraction

from msgspec import Struct

from retime.errors import NotationError
from retime.film.notation import shown

__all__ = ["GAUGES", "Footage", "Gauge", "frames_per_foot", "frames_per_metre", "gauge_named"]

_FOOT_MM = Fraction(3048, 10)
_METRE_MM = 1000


class Footage(StrEnum):
    """How lengths are turned into frames: by convention, or by the pitch of fresh film."""

    NOMINAL = "nominal"
    PITCH = "pitch"


class Gauge(Struct, frozen=True, kw_only=True):
    """A gauge: its names, frames to the foot and frame pitch, and who says so.

    ``per_foot`` is the number of frames that a foot holds by convention, ``pitch`` the distance
    from frame to frame on fresh film, in millimetres; the two need not agree.
    """

    name: str
    aliases: tuple[str, ...]
    per_foot: Fraction
    pitch: Fraction
    source: str


GAUGES: tuple[Gauge, ...] = (
    Gauge(
        name="35mm",
        aliases=("35", "35mm 4-perf"),
        per_foot=Fraction(16),
        pitch=Fraction(19),
        source="16 to the foot: Filmfuss, German Wikipedia mirror, naming ISO 491; "
        "19 mm: Filmschritt, the same, naming ISO 491:2002",
    ),
    Gauge(
        name="35mm 3-perf",
        aliases=("35 3-perf",),
        per_foot=Fraction(64, 3),
        pitch=Fraction(57, 4),
        source="64 perforations to the foot: vtc timecode library documentation, FilmFormat; "
        "pitch computed, three quarters of 19 mm",
    ),
    Gauge(
        name="35mm 2-perf",
        aliases=("35 2-perf",),
        per_foot=Fraction(32),
        pitch=Fraction(19, 2),
        source="32 to the foot: vtc timecode library documentation, FilmFormat; "
        "pitch from memory, half of 19 mm",
    ),
    Gauge(
        name="28mm",
        aliases=("28",),
        per_foot=Fraction(41, 2),
        pitch=Fraction(15),
        source="20.5 to the foot: Village Hall Cinemas, 9.5 and 28 mm page; 15 mm, which makes "
        "20.32 to the foot: Reel Deals magazine, 2012-03 p. 7",
    ),
    Gauge(
        name="16mm",
        aliases=("16",),
        per_foot=Fraction(40),
        pitch=Fraction(762, 100),
        source="40 to the foot: Filmfuss, naming ISO 69, and Sprocket School wiki, Film gauges; "
        "7.62 mm: Filmschritt",
    ),
    Gauge(
        name="9.5mm",
        aliases=("9.5",),
        per_foot=Fraction(40),
        pitch=Fraction(754, 100),
        source="40 to the foot: Filmfuss, while Village Hall Cinemas, 9.5 and 28 mm page, has 41; "
        "7.54 mm, which makes 40.42: Filmschritt",
    ),
    Gauge(
        name="8mm",
        aliases=("8", "standard 8", "standard 8mm", "regular 8", "double 8"),
        per_foot=Fraction(80),
        pitch=Fraction(381, 100),
        source="80 to the foot: EIDR knowledge base, Durations; 3.81 mm: Filmschritt",
    ),
    Gauge(
        name="super 8",
        aliases=("super8", "super 8mm", "single 8"),
        per_foot=Fraction(72),
        pitch=Fraction(127, 30),
        source="72 to the foot: Filmfuss; one sixth of an inch: Filmschritt",
    ),
    Gauge(
        name="70mm",
        aliases=("70", "70mm 5-perf", "65mm", "65", "65mm 5-perf", "65/70mm"),
        per_foot=Fraction(64, 5),
        pitch=Fraction(2375, 100),
        source="5 feet hold 64 frames: Filmfuss, naming ISO 3023; 23.75 mm: Filmschritt",
    ),
)
_BY_NAME = {name: gauge for gauge in GAUGES for name in (gauge.name, *gauge.aliases)}


def gauge_named(text: str) -> Gauge:
    """Return a gauge by its name or an alias; raises NotationError where there is none."""
    name = " ".join(text.lower().replace(" mm", "mm").split())
    if name in {"17.5", "17.5mm"}:
        # NFSA preservation glossary, Film gauges; Grahame N's pages, 17.5 mm history.
        raise NotationError(
            "17.5mm has no single frame pitch: many incompatible formats used it",
            "state speeds in fps and lengths in frames",
        )
    if name not in _BY_NAME:
        names = ", ".join(gauge.name for gauge in GAUGES)
        raise NotationError(f"the gauge {shown(text)} is not known", f"write one of {names}")
    return _BY_NAME[name]


def frames_per_foot(gauge: Gauge, footage: Footage) -> Fraction:
    """Return how many frames a foot holds, by convention or by pitch."""
    return gauge.per_foot if footage is Footage.NOMINAL else _FOOT_MM / gauge.pitch


def frames_per_metre(gauge: Gauge, footage: Footage) -> Fraction:
    """Return how many frames a metre holds, by convention or by pitch."""
    return frames_per_foot(gauge, footage) * _METRE_MM / _FOOT_MM
