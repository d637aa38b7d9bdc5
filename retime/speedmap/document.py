"""The shape of a ``retime-map/1`` document: which keys it has, and what kind of text each holds.

What needs two parts of a map to be judged is left to ``retime.speedmap.rules``.
"""

# Pydantic reads the annotations when the classes are made, so the imports are needed then.
from __future__ import annotations

from fractions import Fraction
from typing import Annotated, Any, Literal

from pydantic import Discriminator, Field, Tag

from retime.film.gauge import Footage
from retime.light.raster import Fit
from retime.light.transfer import Transfer
from retime.speedmap.fields import (
    Duration,
    FileName,
    FrameCount,
    FrameNumber,
    GaugeName,
    ItemName,
    Pace,
    RasterSize,
    RateText,
    ScanAddress,
    SteadySpeed,
    Switch,
    Text,
    Window,
)
from retime.speedmap.model import (
    CadenceIn,
    Cuts,
    Method,
    Missing,
    Phase,
    Pulldown,
    Scanning,
    ShotKind,
)
from retime.yamldoc.binding import Section

__all__ = [
    "FORMAT",
    "DeliverableSection",
    "LimitSection",
    "MapDocument",
    "ReelSection",
    "ShotRuleSection",
    "ShotSection",
    "TitleSection",
    "VersionSection",
]

FORMAT = "retime-map/1"


def _kind(value: Any) -> str:
    return "one" if isinstance(value, str) else "several"


class ReelSection(Section):
    """One entry of ``reels``."""

    reel: ItemName
    scan: ScanAddress
    first: FrameNumber = 0
    last: FrameNumber | None = None
    frames: FrameCount | None = None
    missing: Missing = Missing.STOP
    gauge: GaugeName | None = None


class ShotSection(Section):
    """One entry of ``shots``, or one row of its table."""

    reel: ItemName
    first: FrameNumber
    last: FrameNumber
    shot: ItemName
    kind: ShotKind = ShotKind.ACTION
    name: Text | None = None


class LimitSection(Section):
    """The three limits on how long a shot runs."""

    at_least: Duration | None = Field(None, alias="at least")
    at_most: Duration | None = Field(None, alias="at most")
    exactly: Duration | None = Field(None, alias="for")


class ShotRuleSection(LimitSection):
    """A version's rule for a shot, written out."""

    speed: Pace | None = None


class TitleSection(LimitSection):
    """A version's rule for titles."""

    speed: SteadySpeed | None = None


class VersionSection(Section):
    """One entry of ``versions``."""

    speed: Pace | None = None
    runtime: Duration | None = None
    runtime_of: ItemName | None = Field(None, alias="runtime of")
    reels: dict[ItemName, Pace] = Field(default_factory=dict)
    shots: dict[
        Text,
        Annotated[
            Annotated[Pace, Tag("one")] | Annotated[ShotRuleSection, Tag("several")],
            Discriminator(_kind),
        ],
    ] = Field(default_factory=dict)
    titles: TitleSection | None = None


class DeliverableSection(Section):
    """One entry of ``deliverables``."""

    version: ItemName
    profile: ItemName
    rate: RateText | None = None
    method: Method = Method.REPEAT
    phase: Phase = Phase.CONTINUOUS
    scanning: Scanning | None = None
    cadence_in: CadenceIn | None = Field(None, alias="cadence-in")
    pulldown: Pulldown | None = None
    window: Window = Fraction(1)
    cuts: Cuts | None = None
    conform_at: RateText | None = Field(None, alias="conform-at")
    raster: Fit | None = None
    size: RasterSize | None = None
    timecode: Text | None = None
    file: FileName | None = None
    drop_frame: Switch | None = Field(None, alias="drop-frame")


class MapDocument(Section):
    """A whole map."""

    format: Literal["retime-map/1"]
    film: FileName
    gauge: GaugeName
    footage: Footage | None = None
    transfer: Transfer | None = None
    reels: Annotated[list[ReelSection], Field(min_length=1)]
    shots: (
        Annotated[
            Annotated[Text, Tag("one")] | Annotated[list[ShotSection], Tag("several")],
            Discriminator(_kind),
        ]
        | None
    ) = None
    versions: Annotated[dict[ItemName, VersionSection], Field(min_length=1)]
    deliverables: dict[FileName, DeliverableSection] = Field(default_factory=dict)
