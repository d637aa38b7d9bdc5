"""The shape of a ``retime-map/1`` document: which keys it has, and what kind of text each holds.

What needs two parts of a map to be judged is left to ``retime.speedmap.rules``.
"""

# Pydantic reads the annotations when the classes are made, so the imports are needed then.
from __future__ import annotations

from fractions import Fraction
from typing import Annotated, Any, Literal, TypeAlias, TypeVar

from pydantic import Discriminator, Field, Tag

from retime.film.gauge import Footage
from retime.light.raster import Fit, Flip
from retime.light.transfer import Transfer
from retime.speedmap.fields import (
    Area,
    Aspect,
    BakedCadence,
    CharactersASecond,
    Decibels,
    Duration,
    FileName,
    FrameCount,
    FrameNumber,
    GaugeName,
    ItemName,
    Language,
    Moment,
    Pace,
    RasterSize,
    RateText,
    Rotation,
    ScanAddress,
    Shift,
    SpeedRange,
    SteadySpeed,
    Switch,
    Text,
    Window,
)
from retime.speedmap.following import ChapterSource, Pitch
from retime.speedmap.model import (
    BurnItem,
    CadenceIn,
    Cuts,
    Labelled,
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
    "AssemblySection",
    "ChapterSection",
    "DeliverableSection",
    "InsetSection",
    "LeaderSection",
    "LimitSection",
    "MapDocument",
    "MeetSection",
    "RecordingSection",
    "ReelSection",
    "ReplacementSection",
    "ShotRuleSection",
    "ShotSection",
    "SubtitleSection",
    "TitleSection",
    "VersionSection",
]

FORMAT = "retime-map/1"


_T = TypeVar("_T")


def _kind(value: Any) -> str:
    return "one" if isinstance(value, str) else "several"


def _count(value: Any) -> str:
    return "several" if isinstance(value, list) else "one"


OneOrSeveral: TypeAlias = Annotated[
    Annotated[_T, Tag("one")] | Annotated[list[_T], Tag("several")], Discriminator(_count)
]
"""One item, or a list of them."""


class ReelSection(Section):
    """One entry of ``reels``."""

    reel: ItemName
    scan: ScanAddress
    first: FrameNumber = 0
    last: FrameNumber | None = None
    frames: FrameCount | None = None
    missing: Missing = Missing.STOP
    cadence: BakedCadence | None = None
    gauge: GaugeName | None = None
    area: Area | None = None
    rotate: Rotation = 0
    flip: Flip | None = None
    sample_aspect: Aspect | None = Field(None, alias="sample-aspect")


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
    loop: FrameCount | None = None


class TitleSection(LimitSection):
    """A version's rule for titles."""

    speed: SteadySpeed | None = None
    loop: FrameCount | None = None


class InsetSection(Section):
    """One entry of ``insert``."""

    after: Text | None = None
    before: Text | None = None
    still: ScanAddress | None = None
    black: Duration | None = None
    scan: ScanAddress | None = None
    play: Text | None = None
    first: FrameNumber | None = None
    last: FrameNumber | None = None
    speed: SteadySpeed | None = None
    lasts: Duration | None = Field(None, alias="for")
    kind: ShotKind = ShotKind.ACTION
    name: Text | None = None


class ReplacementSection(Section):
    """What plays in a shot's place, written out."""

    still: ScanAddress
    lasts: Duration | None = Field(None, alias="for")


class AssemblySection(Section):
    """What the film, or a version, is put together from."""

    order: list[Text] | None = None
    omit: list[Text] = Field(default_factory=list)
    insert: OneOrSeveral[InsetSection] = Field(default_factory=list)
    replace: Annotated[
        Annotated[Text, Tag("one")]
        | Annotated[
            dict[
                Text,
                Annotated[
                    Annotated[ScanAddress, Tag("one")]
                    | Annotated[ReplacementSection, Tag("several")],
                    Discriminator(_kind),
                ],
            ],
            Tag("several"),
        ],
        Discriminator(_kind),
    ] = Field(default_factory=dict)


class MeetCueSection(Section):
    """One entry of a score's ``cues``."""

    at: Text
    time: Moment
    within: Moment = Fraction(0)


class MeetSection(Section):
    """A recorded score that a version meets."""

    cues: Annotated[list[MeetCueSection], Field(min_length=1)]
    between: SpeedRange
    smooth: Switch = False
    end: Moment | None = None


class VersionSection(AssemblySection):
    """One entry of ``versions``."""

    like: ItemName | None = None
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
    meet: MeetSection | None = None


class LeaderSection(Section):
    """One piece of ``head`` or ``tail``."""

    black: Duration | None = None
    still: ScanAddress | None = None
    movie: ScanAddress | None = None
    lasts: Duration | None = Field(None, alias="for")


class RecordingSection(Section):
    """One entry of ``sound``."""

    file: ScanAddress
    follows: Text | None = None
    pitch: Pitch = Pitch.MOVES
    at: Text | None = None
    offset: Shift = Fraction(0)
    gain: Decibels | None = None
    language: Language | None = None


class SubtitleSection(Section):
    """One entry of ``subtitles``."""

    file: ScanAddress
    follows: Text | None = None
    offset: Shift = Fraction(0)
    gap: Duration | None = None
    at_most: CharactersASecond | None = Field(None, alias="at most")
    language: Language | None = None


class ChapterSection(Section):
    """One entry of ``chapters``."""

    at: Text
    name: Text
    frame: FrameNumber | None = None


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
    timecode_at: Labelled = Field(Labelled.FILM, alias="timecode-at")
    head: OneOrSeveral[LeaderSection] = Field(default_factory=list)
    tail: OneOrSeveral[LeaderSection] = Field(default_factory=list)
    burn: list[BurnItem] = Field(default_factory=list)
    sound: OneOrSeveral[RecordingSection] = Field(default_factory=list)
    subtitles: OneOrSeveral[SubtitleSection] = Field(default_factory=list)
    chapters: (
        Annotated[
            Annotated[ChapterSource, Tag("one")] | Annotated[list[ChapterSection], Tag("several")],
            Discriminator(_kind),
        ]
        | None
    ) = None
    file: FileName | None = None
    drop_frame: Switch | None = Field(None, alias="drop-frame")


class MapDocument(AssemblySection):
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
    versions: Annotated[dict[ItemName, VersionSection], Field(min_length=1)] = Field(
        default_factory=dict
    )
    deliverables: dict[FileName, DeliverableSection] = Field(default_factory=dict)
