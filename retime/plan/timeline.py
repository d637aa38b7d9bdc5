"""The version's own time: a list of stretches of film, each with an exact true start."""

from __future__ import annotations

from enum import StrEnum
from fractions import Fraction
from typing import TYPE_CHECKING

from msgspec import Struct

from retime.film.rounding import floor_of

if TYPE_CHECKING:
    from retime.film.speed import Ramp
    from retime.speedmap.assembly import Plate
    from retime.speedmap.model import ShotKind

__all__ = ["Eased", "Even", "Reel", "Shows", "Stretch", "Timeline", "Unit"]


class Shows(StrEnum):
    """What the slots of a stretch put on the screen."""

    FILM = "film"
    """Slot i shows film frame ``first + i``."""
    STILL = "still"
    """Every slot shows film frame ``first``: a hole in a sequence, held."""
    BLACK = "black"
    """Every slot is black: a hole in a sequence left dark, or black that was put in."""
    PLATE = "plate"
    """Every slot shows the stretch's plate, a picture from a file of its own."""


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
    the one frame that a title rule lengthens. ``again`` marks a loop's frames, which have had
    their turn before, and ``backward`` those that run down from ``first``. ``inset`` marks what is
    no frame of the film's.
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
    again: bool = False
    backward: bool = False
    inset: bool = False
    plate: Plate | None = None

    @property
    def held(self) -> bool:
        """Whether showings beyond a frame's first are the map's doing and not its speed's."""
        return self.hold or self.again or self.shows is not Shows.FILM

    @property
    def fresh(self) -> bool:
        """Whether film frames have their turn here, rather than being shown once more."""
        return self.shows is Shows.FILM and not self.again

    @property
    def last(self) -> int:
        """The last film frame that the stretch stands for."""
        return self.first + (1 - self.count if self.backward else self.count - 1)

    def frame(self, slot: int) -> int | None:
        """Return the film frame that a slot shows, None where it shows no film."""
        if self.shows is Shows.FILM:
            return self.first - slot if self.backward else self.first + slot
        return self.first if self.shows is Shows.STILL else None


class Unit(Struct, frozen=True, kw_only=True):
    """What lies between two cuts: a shot, frames in no shot, a reel without shots, an inset.

    ``stretches`` are its first stretch and the one after its last in the timeline; ``first``
    and ``last`` are film frames of the reel, both included, and None where no film plays.
    ``shot`` is a shot's name, ``name`` an inset's.
    """

    reel: int
    first: int | None
    last: int | None
    shot: str | None
    kind: ShotKind
    start: Fraction
    stop: Fraction
    stretches: tuple[int, int]
    name: str | None = None


class Reel(Struct, frozen=True, kw_only=True):
    """One reel's place in the timeline: its units (first, and one after the last).

    ``positions`` are how many of its scan play, holes included. An assembly can give a reel
    several places.
    """

    name: str
    start: Fraction
    stop: Fraction
    units: tuple[int, int]
    positions: int
    missing: int = 0


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
        if unit.first is None:
            return f"what is put into reel {reel}" + (f", {unit.name}" if unit.name else "")
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
