"""The evidence as values: what each item says, and the speeds that this implies.

Speeds are in film frames per second, times in seconds, lengths in film frames. An item's figures
are read once, by ``retime.evidence.reading``; what they imply is kept beside them.
"""

from __future__ import annotations

from enum import StrEnum
from fractions import Fraction
from typing import TYPE_CHECKING

from msgspec import Struct

from retime.speedmap.place import NOWHERE, Where

if TYPE_CHECKING:
    from retime.evidence.quantity import Quantity
    from retime.evidence.score import ScoreFit
    from retime.film.gauge import Footage, Gauge
    from retime.film.speed import Speed
    from retime.findings import Finding
    from retime.speedmap.model import SpeedMap
    from retime.yamldoc.tree import Tree

__all__ = [
    "ASKED_BY",
    "Evidence",
    "Implied",
    "Item",
    "Kind",
    "Link",
    "Measure",
    "Question",
    "Sense",
    "Yardstick",
]


class Question(StrEnum):
    """Which speed an item speaks of: three unknowns that often differed."""

    TAKING = "taking"
    """The speed at which the film went through the camera."""
    SHOWING = "showing"
    """The speed at which it was shown, or meant to be."""
    LOOKING = "looking"
    """The speed at which its motion looks right to people today."""


class Kind(StrEnum):
    """What an item is."""

    RUNTIME = "runtime"
    PROGRAMME = "programme"
    SCORE = "score"
    CUE_SHEET = "music cue sheet"
    INSTRUCTION = "instruction"
    CAMERA = "camera"
    STOCK = "stock"
    MOTION = "motion"
    VIEWING = "viewing"
    LEGIBILITY = "legibility"
    FLICKER = "flicker"


ASKED_BY: dict[Kind, Question] = {
    Kind.RUNTIME: Question.SHOWING,
    Kind.PROGRAMME: Question.SHOWING,
    Kind.SCORE: Question.SHOWING,
    Kind.CUE_SHEET: Question.SHOWING,
    Kind.INSTRUCTION: Question.SHOWING,
    Kind.CAMERA: Question.TAKING,
    Kind.STOCK: Question.TAKING,
    Kind.MOTION: Question.TAKING,
    Kind.VIEWING: Question.LOOKING,
    Kind.LEGIBILITY: Question.SHOWING,
    Kind.FLICKER: Question.SHOWING,
}
"""The question that a kind speaks to, unless an item says otherwise."""


class Sense(StrEnum):
    """Whether an item says what the speed was, or only what it was not below or above."""

    NEAR = "near"
    AT_LEAST = "at least"
    AT_MOST = "at most"


class Measure(StrEnum):
    """What a document's figure counts."""

    TIME = "time"
    FPS = "fps"
    FEET_PER_MINUTE = "ft/min"
    METRES_PER_MINUTE = "m/min"
    TURNS = "turns/s"
    FRAMES = "frames"
    FLASHES = "flashes/s"


class Yardstick(Struct, frozen=True, kw_only=True):
    """What a document should say at a speed: ``offset`` plus ``factor`` times or over the fps.

    ``inverse`` is so for times, which grow as the speed falls. The figure is in the unit of
    ``measure``, times in seconds.
    """

    measure: Measure
    factor: Fraction
    inverse: bool = False
    offset: Fraction = Fraction(0)

    def at(self, speed: Speed) -> Fraction:
        """Return the figure that goes with a speed."""
        return self.offset + (self.factor / speed.fps if self.inverse else self.factor * speed.fps)


class Implied(Struct, frozen=True, kw_only=True):
    """A speed that a document implies, and in what sense.

    ``speed`` is in frames per second. Of a limit only the value and its bounds are known: the speed
    was not below it, or not above. ``said`` is the figure it comes from, as a person reads it
    (``95 min within 5 min``), ``part`` names what of the document says it where it says more than
    one thing, ``yardstick`` what it should have said at other speeds.
    """

    speed: Quantity
    sense: Sense = Sense.NEAR
    said: str
    part: str = ""
    yardstick: Yardstick

    @property
    def lowest(self) -> Fraction | None:
        """The lowest speed that can be meant, None where there is none."""
        return None if self.sense is Sense.AT_MOST else self.speed.low

    @property
    def highest(self) -> Fraction | None:
        """The highest speed that can be meant, None where there is none."""
        return None if self.sense is Sense.AT_LEAST else self.speed.high


class Item(Struct, frozen=True, kw_only=True):
    """One piece of evidence.

    ``trust`` is from 0 (it says nothing) to 1 (it is right within what it states). Items of one
    ``group`` copy one another and count once. ``implied`` has at least one speed; several from one
    item (a cue sheet's timings and its printed speed) count once together. ``score`` is how the
    sections of a score fit together, None for other kinds.
    """

    id: str
    kind: Kind
    question: Question
    trust: Fraction
    implied: tuple[Implied, ...]
    group: str | None = None
    source: str = ""
    note: str = ""
    score: ScoreFit | None = None
    where: Where = NOWHERE


class Link(Struct, frozen=True, kw_only=True):
    """What is taken to join two questions: one speed is ``low`` to ``high`` times the other's."""

    question: Question
    low: Fraction
    high: Fraction
    of: Question
    where: Where = NOWHERE


class Evidence(Struct, frozen=True, kw_only=True):
    """A whole file of evidence.

    ``length`` is that of the print that was scanned, in film frames. ``links`` join no two
    questions twice, and none with itself round about. ``remarks`` are warnings that reading gave.
    """

    film: str
    gauge: Gauge
    footage: Footage | None
    length: Quantity
    candidates: tuple[Speed, ...]
    items: tuple[Item, ...]
    links: tuple[Link, ...] = ()
    speed_map: SpeedMap | None = None
    remarks: tuple[Finding, ...] = ()
    tree: Tree
