"""The version's own time: a list of stretches of film, each with an exact true start."""

from __future__ import annotations

from enum import StrEnum
from fractions import Fraction
from typing import TYPE_CHECKING

from msgspec import Struct

from retime.film.rounding import floor_of

if TYPE_CHECKING:
    from retime.film.speed import Ramp
    from retime.speedmap.model import ShotKind

__all__ = ["Eased", "Even", "Reel", "Shows", "Stretch", "Timeline", "Unit"]


class Shows(StrEnum):
    """What the slots of a stretch put on the screen."""

    FILM = "film"
    """Slot i shows film frame ``first + i``."""
    STILL = "still"
    """Every slot shows film frame ``first``: a hole in a sequence, held."""
    BLACK = "black"
    """Every slot is black: a hole in a sequence, left dark."""


class Even(Struct, frozen=True, kw_only=True):
    """Slots that all last ``duration`` seconds."""

    duration: Fraction

    def elapsed(self, slots: int) -> Fraction:
        """Return how long the first ``slots`` slots last, in seconds."""
        return self.duration * slots


class Eased(Struct, frozen=True, kw_only=True):
    """Slots of a ramp that spans ``span`` frames, from its frame ``index``, times ``scale``."""

    ramp: Ramp
    index: int
    span: int
    scale: Fraction = Fraction(1)

    def elapsed(self, slots: int) -> Fraction:
        """Return how long the first ``slots`` slots last, in seconds."""
        start = self.ramp.elapsed(self.index, self.span)
        return (self.ramp.elapsed(self.index + slots, self.span) - start) * self.scale


class Stretch(Struct, frozen=True, kw_only=True):
    """A run of ``count`` slots of one pace within one unit.

    ``start`` is its true time in seconds from the version's start, ``near`` what
    ``retime.plan.onset.nearly`` says of it, and ``offset`` is from its unit's. ``hold`` marks
    the one frame that a title rule lengthens.
    """

    unit: int
    first: int
    count: int
    pace: Even | Eased
    start: Fraction
    near: int | None
    offset: Fraction
    shows: Shows = Shows.FILM
    hold: bool = False

    @property
    def held(self) -> bool:
        """Whether showings beyond a frame's first are the map's doing and not its speed's."""
        return self.hold or self.shows is not Shows.FILM

    @property
    def last(self) -> int:
        """The last film frame that the stretch stands for."""
        return self.first + self.count - 1


class Unit(Struct, frozen=True, kw_only=True):
    """What lies between two cuts: a shot, a run of frames in no shot, or a reel without shots.

    ``stretches`` are its first stretch and the one after its last in the timeline; ``first``
    and ``last`` are film frames of the reel, both included.
    """

    reel: int
    first: int
    last: int
    shot: str | None
    kind: ShotKind
    start: Fraction
    stop: Fraction
    stretches: tuple[int, int]


class Reel(Struct, frozen=True, kw_only=True):
    """One reel's place in the timeline: its units (first, and one after the last)."""

    name: str
    first: int
    last: int
    start: Fraction
    stop: Fraction
    units: tuple[int, int]
    missing: int = 0

    @property
    def positions(self) -> int:
        """How many positions of the scan play, holes included."""
        return self.last - self.first + 1


class Timeline(Struct, frozen=True, kw_only=True):
    """The whole film at one version's speeds; ``duration`` is its true runtime in seconds."""

    reels: tuple[Reel, ...]
    units: tuple[Unit, ...]
    stretches: tuple[Stretch, ...]
    duration: Fraction

    @property
    def source_frames(self) -> int:
        """How many film frames play; a hole in a sequence is none."""
        return sum(reel.positions - reel.missing for reel in self.reels)

    def unit_name(self, index: int) -> str:
        """Name a unit for a message: ``shot 1/14``, or the reel and its frames."""
        unit = self.units[index]
        reel = self.reels[unit.reel].name
        if unit.shot is not None:
            return f"shot {reel}/{unit.shot}"
        return f"reel {reel}, frames {unit.first}-{unit.last}"

    def slot_at(self, unit: Unit, time: Fraction) -> tuple[int, int]:
        """Return the stretch and the slot in it that ``time`` falls in, inside ``unit``."""
        index = unit.stretches[1] - 1
        while index > unit.stretches[0] and self.stretches[index].start > time:
            index -= 1
        stretch = self.stretches[index]
        into = time - stretch.start
        if isinstance(stretch.pace, Even):
            slot = floor_of(into / stretch.pace.duration)
        else:
            ends = (stretch.pace.elapsed(slots) for slots in range(1, stretch.count + 1))
            slot = sum(1 for end in ends if end <= into)
        return index, min(slot, stretch.count - 1)
