"""The shape of a ``retime-evidence/1`` document: which keys it has, and what text each holds.

What needs two keys to be judged is left to the modules that say what a kind of item implies.
"""

# Pydantic reads the annotations when the classes are made, so the imports are needed then.
from __future__ import annotations

from typing import Annotated, Any, Literal, TypeAlias

from pydantic import Field

from retime.evidence.fields import (
    Amount,
    Count,
    DistanceFigure,
    FrequencyFigure,
    ItemId,
    LengthFigure,
    LinkText,
    Mark,
    NumberFigure,
    PartText,
    Per,
    PreferenceText,
    RuleText,
    ScreenText,
    ShareFigure,
    ShareText,
    SpeedFigure,
    SteadySpeed,
    TimeFigure,
    Tolerance,
    Trust,
)
from retime.evidence.model import Kind, Question
from retime.film.gauge import Footage
from retime.speedmap.document import OneOrSeveral
from retime.speedmap.fields import FileName, GaugeName, ItemName, Text
from retime.yamldoc.binding import Section

__all__ = [
    "FORMAT",
    "SECTION_OF",
    "AnySection",
    "CameraSection",
    "CueSheetSection",
    "EvidenceDocument",
    "FlickerSection",
    "HeadSection",
    "InstructionSection",
    "ItemSection",
    "LegibilitySection",
    "MeasuredSection",
    "MotionSection",
    "MusicSection",
    "OfPrintSection",
    "PieceSection",
    "ProgrammeSection",
    "RuntimeSection",
    "ScoreSection",
    "StockSection",
    "ViewingSection",
]

FORMAT = "retime-evidence/1"
_ONE_AT_LEAST = Field(json_schema_extra={"minProperties": 1})


class ItemSection(Section):
    """What every entry of ``evidence`` has."""

    id: ItemId
    trust: Trust
    source: Text
    note: Text | None = None
    group: ItemName | None = None
    about: Question | None = None
    within: Tolerance | None = None


class MeasuredSection(ItemSection):
    """An item whose document measures film, perhaps of another gauge."""

    gauge: GaugeName | None = None
    footage: Footage | None = None


class OfPrintSection(MeasuredSection):
    """An item that speaks of a whole print: its own length, or the scanned one's."""

    length: LengthFigure | None = None
    absent: OneOrSeveral[PartText] | None = None
    added: OneOrSeveral[PartText] | None = None


class RuntimeSection(OfPrintSection):
    """A running time."""

    kind: Literal["runtime"]
    time: TimeFigure


class LessSection(Section):
    """What of the time between two shows was not the film."""

    interval: TimeFigure | None = None
    overture: TimeFigure | None = None
    supporting: TimeFigure | None = None
    clearing: TimeFigure | None = None


class ProgrammeSection(OfPrintSection):
    """The time from the beginning of a show to that of the next."""

    kind: Literal["programme"]
    apart: TimeFigure
    less: LessSection | None = None


class PieceSection(Section):
    """A section of a score, or a cue: its time, or its bars; and perhaps what it goes with."""

    name: Text
    time: TimeFigure | None = None
    bars: Amount | None = None
    beats: Amount | None = None
    mark: NumberFigure | None = None
    length: LengthFigure | None = None
    shots: Text | None = None


class MusicSection(OfPrintSection):
    """An item that tells how long pieces of music last."""

    common: ShareText | None = None


class ScoreSection(MusicSection):
    """A composer's or a conductor's times."""

    kind: Literal["score"]
    sections: Annotated[list[PieceSection], Field(min_length=1)]


class CueSheetSection(MusicSection):
    """A sheet of music cues: its times, the speed printed on it, or both."""

    kind: Literal["music cue sheet"]
    cues: Annotated[list[PieceSection], Field(min_length=1)] | None = None
    speed: SpeedFigure | None = None


class InstructionSection(MeasuredSection):
    """What a projectionist was told: a speed, or a time by length or reel."""

    kind: Literal["instruction"]
    speed: SpeedFigure | None = None
    time: TimeFigure | None = None
    per: Per | None = None
    reel_length: LengthFigure | None = Field(None, alias="reel-length")


class CameraSection(MeasuredSection):
    """A camera's counter or motor, or how fast it was turned."""

    kind: Literal["camera"]
    speed: SpeedFigure | None = None
    turns: FrequencyFigure | None = None
    frames_a_turn: Count | None = Field(None, alias="frames-a-turn")


class StockSection(MeasuredSection):
    """How much film was exposed in how long a time of shooting."""

    kind: Literal["stock"]
    exposed: LengthFigure
    time: TimeFigure
    running: ShareFigure


class MotionSection(ItemSection):
    """A movement that is known from life, measured in film frames."""

    kind: Literal["motion"]
    frames: NumberFigure | None = None
    marks: list[Mark] | None = None
    natural: Text | None = None
    frequency: FrequencyFigure | None = None
    pendulum: DistanceFigure | None = None
    fall: DistanceFigure | None = None


class ViewingSection(MeasuredSection):
    """What people who looked at several speeds found right.

    Either ``votes`` for one speed each, or ``shares``: how probably each is the most preferred.
    """

    kind: Literal["viewing"]
    votes: Annotated[dict[SteadySpeed, Count], _ONE_AT_LEAST] | None = None
    shares: Annotated[dict[SteadySpeed, PreferenceText], _ONE_AT_LEAST] | None = None
    screen: ScreenText | None = None


class LegibilitySection(MeasuredSection):
    """A title that had to be read in its time."""

    kind: Literal["legibility"]
    words: Count
    length: LengthFigure | None = None
    shot: Text | None = None
    rule: RuleText


class FlickerSection(ItemSection):
    """A shutter whose flashes had to melt into one another."""

    kind: Literal["flicker"]
    blades: Count
    limit: FrequencyFigure | None = None


AnySection: TypeAlias = (
    RuntimeSection
    | ProgrammeSection
    | ScoreSection
    | CueSheetSection
    | InstructionSection
    | CameraSection
    | StockSection
    | MotionSection
    | ViewingSection
    | LegibilitySection
    | FlickerSection
)

SECTION_OF: dict[Kind, type[AnySection]] = {
    Kind.RUNTIME: RuntimeSection,
    Kind.PROGRAMME: ProgrammeSection,
    Kind.SCORE: ScoreSection,
    Kind.CUE_SHEET: CueSheetSection,
    Kind.INSTRUCTION: InstructionSection,
    Kind.CAMERA: CameraSection,
    Kind.STOCK: StockSection,
    Kind.MOTION: MotionSection,
    Kind.VIEWING: ViewingSection,
    Kind.LEGIBILITY: LegibilitySection,
    Kind.FLICKER: FlickerSection,
}
"""The shape of each kind: an item is held against its own alone, so that hints name its keys."""


class HeadSection(Section):
    """All of a document but the shapes of its items."""

    format: Literal["retime-evidence/1"]
    film: FileName
    gauge: GaugeName
    footage: Footage | None = None
    map: Text | None = None
    length: LengthFigure | None = None
    candidates: Annotated[list[SteadySpeed], Field(min_length=1, max_length=12)]
    link: OneOrSeveral[LinkText] = Field(default_factory=list)
    evidence: list[Any]


class EvidenceDocument(HeadSection):
    """A whole document, for its schema."""

    evidence: Annotated[
        list[Annotated[AnySection, Field(discriminator="kind")]], Field(min_length=1)
    ]
