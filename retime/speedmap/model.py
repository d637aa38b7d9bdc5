"""The speed map as values: what was decided, in the words in which it was said.

Speeds stay spoken (``75 ft/min``) because a reel may come from another gauge than the film's;
``retime.speedmap.footage`` says what a foot or a metre holds on each reel. Frames count from 0
within a reel's scan, and ``first`` and ``last`` are both inclusive.
"""

from __future__ import annotations

import re
from enum import StrEnum
from fractions import Fraction
from typing import TYPE_CHECKING, NamedTuple, TypeAlias

from msgspec import Struct, field

from retime.film.notation import SpokenRamp, SpokenSpeed
from retime.film.scanning import Scanning
from retime.speedmap.place import NOWHERE, Where

if TYPE_CHECKING:
    from collections.abc import Mapping
    from pathlib import Path

    from retime.film.gauge import Footage, Gauge
    from retime.film.speed import Rate
    from retime.findings import Finding
    from retime.light.raster import Fit, Framing
    from retime.light.transfer import Transfer
    from retime.speedmap.assembly import Assembly
    from retime.speedmap.baked import Baked
    from retime.speedmap.following import ChapterSource, Mark, Meeting, Recording, Subtitles
    from retime.yamldoc.tree import Tree

__all__ = [
    "NUMBERING",
    "BurnItem",
    "CadenceIn",
    "Cuts",
    "Deliverable",
    "Labelled",
    "Leader",
    "Limits",
    "Method",
    "Missing",
    "Phase",
    "Pulldown",
    "Reel",
    "Scanning",
    "Shot",
    "ShotKey",
    "ShotKind",
    "ShotRule",
    "SpeedMap",
    "SpokenPace",
    "TitleRule",
    "Version",
]

NUMBERING = re.compile(r"%(?:0[1-9][0-9]?)?d")
"""The pattern that stands for a number in the name of a sequence's files."""

SpokenPace: TypeAlias = SpokenSpeed | SpokenRamp


class Missing(StrEnum):
    """What a hole in a numbered sequence means: a fault, the last picture held, or black."""

    STOP = "stop"
    HOLD = "hold"
    BLACK = "black"


class ShotKind(StrEnum):
    """Moving picture, or an intertitle or other text card."""

    ACTION = "action"
    TITLE = "title"


class Method(StrEnum):
    """How a film frame becomes output frames."""

    REPEAT = "repeat"
    BLEND = "blend"


class Phase(StrEnum):
    """Whether the cadence runs through the film or begins anew at every cut."""

    CONTINUOUS = "continuous"
    PER_SHOT = "per-shot"


class CadenceIn(StrEnum):
    """What an interlaced deliverable's cadence is counted in."""

    FIELDS = "fields"
    FRAMES = "frames"


class Pulldown(StrEnum):
    """How many fields carry each film-rate picture, in turn: 24 in 60 fields."""

    TWO_THREE = "2:3"
    THREE_TWO = "3:2"


class Cuts(StrEnum):
    """What is known of cuts where there is no list of shots."""

    UNKNOWN = "unknown"


class Labelled(StrEnum):
    """Which output frame bears the label that a deliverable states."""

    FILM = "film"
    """The first of the film, after the head."""
    FILE = "file"
    """The first of the file."""


class BurnItem(StrEnum):
    """What a reference copy tells in its pictures."""

    TIMECODE = "timecode"
    REEL = "reel"
    FRAME = "frame"
    FEET = "feet"
    SHOT = "shot"
    VERSION = "version"


class ShotKey(NamedTuple):
    """A shot's full name: that of its reel and its own; ``str`` of it is ``1/14A``."""

    reel: str
    shot: str

    def __str__(self) -> str:
        """Return the key as a map writes it."""
        return f"{self.reel}/{self.shot}"


class Reel(Struct, frozen=True, kw_only=True):
    """One reel's scan, and which of its frames are picture.

    ``last`` is None for the scan's last frame. ``frames``, if stated, is how many the scan holds.
    ``gauge`` is None where the film's own holds. ``scan`` is the address as written, relative to
    the map's folder: a movie file, or a numbered sequence with one ``%d`` or ``%06d``.
    ``framing`` is None where the whole scan is picture and lies as it should. ``baked`` is the
    cadence that a transfer holds already, None for a scan of one picture a film frame.
    """

    name: str
    scan: str
    first: int = 0
    last: int | None = None
    frames: int | None = None
    missing: Missing = Missing.STOP
    gauge: Gauge | None = None
    framing: Framing | None = None
    baked: Baked | None = None
    where: Where = NOWHERE

    @property
    def is_sequence(self) -> bool:
        """Say whether the scan is a numbered sequence."""
        return NUMBERING.search(self.scan) is not None

    def stop(self, frames: int | None = None) -> int | None:
        """Return the frame after the last of picture, or None while that is unknown.

        ``frames`` is how many the scan is known to hold, where the map does not say it.
        """
        if self.last is not None:
            return self.last + 1
        return self.frames if self.frames is not None else frames


class Shot(Struct, frozen=True, kw_only=True):
    """A shot of a reel; ``name`` is the shot's own (``14A``), ``title`` what a person calls it."""

    reel: str
    first: int
    last: int
    name: str
    kind: ShotKind = ShotKind.ACTION
    title: str | None = None
    where: Where = NOWHERE

    @property
    def key(self) -> ShotKey:
        """The shot's full name."""
        return ShotKey(self.reel, self.name)


class Limits(Struct, frozen=True, kw_only=True):
    """How long a shot may run, in seconds of true time: ``at least``, ``at most``, or ``for``."""

    at_least: Fraction | None = None
    at_most: Fraction | None = None
    exactly: Fraction | None = None

    @property
    def given(self) -> bool:
        """Say whether any of the three is."""
        return (self.at_least, self.at_most, self.exactly) != (None, None, None)


class ShotRule(Struct, frozen=True, kw_only=True):
    """What a version decides for one shot, or for a run of shots in list order.

    ``first`` and ``last`` are the run's ends, both inclusive, and the same for a single shot.
    ``loop`` is how many frames play back and forth where the shot is held, None for one that
    stands still. ``inherited`` counts the versions from this one to that which writes it.
    """

    first: ShotKey
    last: ShotKey
    pace: SpokenPace | None = None
    limits: Limits = Limits()
    loop: int | None = None
    inherited: int = 0
    where: Where = NOWHERE

    @property
    def is_run(self) -> bool:
        """Say whether the rule spans several shots."""
        return self.first != self.last

    def __str__(self) -> str:
        """Return the rule's key as a map writes it."""
        return f"{self.first}-{self.last}" if self.is_run else str(self.first)


class TitleRule(Struct, frozen=True, kw_only=True):
    """What a version decides for titles; ``loop`` is as in a shot's rule."""

    speed: SpokenSpeed | None = None
    limits: Limits = Limits()
    loop: int | None = None
    where: Where = NOWHERE


class Version(Struct, frozen=True, kw_only=True):
    """The whole film at decided speeds.

    Of ``speed``, ``runtime`` (seconds of true time) and ``runtime_of`` (a deliverable's name) one
    is given. ``reels`` are paces by reel name, ``shots`` the rules in the order written, inherited
    ones first. ``like`` is the version that this one inherits from, whose share is here already.
    ``assembly`` is the film's with the version's own over it, None where all plays as scanned.
    ``meet`` is a score that the speeds of film with no nearer rule are found for.
    """

    name: str
    like: str | None = None
    speed: SpokenPace | None = None
    runtime: Fraction | None = None
    runtime_of: str | None = None
    reels: Mapping[str, SpokenPace] = field(default_factory=dict)
    shots: tuple[ShotRule, ...] = ()
    titles: TitleRule | None = None
    assembly: Assembly | None = None
    meet: Meeting | None = None
    where: Where = NOWHERE


class Leader(Struct, frozen=True, kw_only=True):
    """A piece of what stands before or after the film, at the deliverable's own rate.

    It is ``lasts`` seconds of a ``still``, or of black where there is none, or a whole ``movie``,
    one of its frames to an output frame. Addresses are relative to the map's folder.
    """

    lasts: Fraction | None = None
    still: str | None = None
    movie: str | None = None
    where: Where = NOWHERE


class Deliverable(Struct, frozen=True, kw_only=True):
    """One version made to one profile at one rate.

    ``rate`` is None where the profile has only one, ``conform_at`` where the rate decides it,
    ``file`` where the default name serves, ``drop_frame`` where the rate decides it, and
    ``scanning``, ``cadence_in``, ``raster`` and ``size`` where the profile does.
    ``window`` is a blend's, in output frames, above 0 and at most 1. ``timecode`` is the label of
    the first output frame of the film, or of the file where ``timecode_at`` says so. ``head`` and
    ``tail`` stand before and after the film, ``burn`` in its pictures. ``sound``, ``subtitles``
    and ``chapters`` follow it.
    """

    name: str
    version: str
    profile: str
    rate: Rate | None = None
    method: Method = Method.REPEAT
    phase: Phase = Phase.CONTINUOUS
    scanning: Scanning | None = None
    cadence_in: CadenceIn | None = None
    pulldown: Pulldown | None = None
    window: Fraction = Fraction(1)
    cuts: Cuts | None = None
    conform_at: Rate | None = None
    raster: Fit | None = None
    size: tuple[int, int] | None = None
    timecode: str | None = None
    timecode_at: Labelled = Labelled.FILM
    head: tuple[Leader, ...] = ()
    tail: tuple[Leader, ...] = ()
    burn: tuple[BurnItem, ...] = ()
    sound: tuple[Recording, ...] = ()
    subtitles: tuple[Subtitles, ...] = ()
    chapters: ChapterSource | tuple[Mark, ...] | None = None
    file: str | None = None
    drop_frame: bool | None = None
    where: Where = NOWHERE


class SpeedMap(Struct, frozen=True, kw_only=True):
    """A whole map.

    ``footage`` is None where the map does not choose; feet are nominal then. ``transfer`` is None
    where the scans say what curve their codes follow. ``others`` are scans that are no reels of
    the film, but from which frames are put in. ``remarks`` are warnings that reading it gave.
    """

    film: str
    gauge: Gauge
    footage: Footage | None
    reels: tuple[Reel, ...]
    shots: tuple[Shot, ...]
    versions: Mapping[str, Version]
    deliverables: Mapping[str, Deliverable]
    transfer: Transfer | None = None
    others: tuple[Reel, ...] = ()
    remarks: tuple[Finding, ...] = ()
    tree: Tree

    @property
    def where(self) -> Where:
        """The map as a whole."""
        return Where(self.tree, ())

    @property
    def sha256(self) -> str:
        """The digest of the map's bytes."""
        return self.tree.sha256

    @property
    def folder(self) -> Path:
        """The folder that the map's paths are relative to."""
        return self.tree.path.parent

    def reel(self, name: str) -> Reel:
        """Return the reel of that name, or the other scan.

        Raises:
            KeyError: there is none.
        """
        for reel in (*self.reels, *self.others):
            if reel.name == name:
                return reel
        raise KeyError(name)

    def scan_path(self, reel: Reel) -> Path:
        """Return the path of a reel's scan, its numbering pattern included."""
        return self.folder / reel.scan
