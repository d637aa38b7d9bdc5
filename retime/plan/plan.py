"""A deliverable's plan: run-length, exact, and as small as its shots and breaks are few."""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING, NamedTuple

from msgspec import Struct
from msgspec.structs import replace

from retime.plan.blending import blended
from retime.plan.carry import FRAMES
from retime.plan.look import Look, Part
from retime.plan.sampling import Grid, sample
from retime.plan.timeline import Shows

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from retime.plan.carry import Carry
    from retime.plan.conform import Conform
    from retime.plan.layout import Piece
    from retime.plan.timeline import Stretch, Timeline
    from retime.speedmap.assembly import Plate
    from retime.speedmap.model import Phase

__all__ = ["Counts", "Lead", "Picture", "Plan", "Showing", "plan_blend", "plan_repeats"]

_WHOLE = Fraction(1)


class Showing(NamedTuple):
    """``times`` pulses in a row that show one thing.

    ``frame`` is a film frame of reel number ``reel`` (in playing order), None for a ``plate`` and
    for black.
    """

    times: int
    reel: int
    frame: int | None
    unit: int
    plate: Plate | None


class Picture(NamedTuple):
    """``times`` output frames in a row that are alike.

    ``fields`` is one look, or two different ones: those of its fields, in the order of time.
    """

    times: int
    fields: tuple[Look, ...]


class Lead(Struct, frozen=True, kw_only=True):
    """``frames`` output frames before or after the film, of a still, a movie, or black.

    ``moving`` shows one frame of the plate's movie after the other, from the plate's own.
    """

    frames: int
    plate: Plate | None = None
    moving: bool = False

    def pictures(self) -> Iterator[Picture]:
        """Yield its output frames."""
        if not self.moving or self.plate is None:
            yield _lead_picture(self.frames, self.plate)
            return
        first = self.plate.frame or 0
        for frame in range(first, first + self.frames):
            yield _lead_picture(1, replace(self.plate, frame=frame))


def _lead_picture(times: int, plate: Plate | None) -> Picture:
    return Picture(times, ((Part(None, None, None, _WHOLE, plate),),))


class Counts(Struct, frozen=True, kw_only=True):
    """What became of the film frames.

    Counted are output frames, or fields where frames may hold two film frames, without those
    before and after the film. Without a blend shown = source - dropped + repeated + held +
    inserted; ``inserted`` show what is no frame of the film, ``blended`` mix several.
    """

    source: int
    outputs: int
    shown: int
    repeated: int
    dropped: int
    held: int
    inserted: int = 0
    blended: int = 0


class Plan(Struct, frozen=True, kw_only=True):
    """Every output frame of one deliverable, the film as pieces of pulses; ``outputs`` is its M.

    ``window`` is a blend's, in output frames, and None for repeats; a blend's pieces say which
    shot each output frame belongs to. ``head`` and ``tail`` stand before and after the film.
    """

    timeline: Timeline
    conform: Conform
    phase: Phase
    carry: Carry
    grid: Grid
    outputs: int
    pieces: tuple[Piece, ...]
    window: Fraction | None = None
    head: tuple[Lead, ...] = ()
    tail: tuple[Lead, ...] = ()

    @property
    def runtime(self) -> Fraction:
        """The film's own runtime in the deliverable, in seconds: M/R."""
        return self.outputs / self.conform.rate.fps

    @property
    def head_frames(self) -> int:
        """How many output frames come before the film."""
        return sum(lead.frames for lead in self.head)

    @property
    def total(self) -> int:
        """How many output frames there are, head and tail counted."""
        return self.head_frames + self.outputs + sum(lead.frames for lead in self.tail)

    @property
    def total_runtime(self) -> Fraction:
        """How long all output frames last, in seconds."""
        return self.total / self.conform.rate.fps

    def plates(self) -> set[Plate | None]:
        """Return what is shown that is no frame of the film, None standing for black."""
        stretches = (self.timeline.stretches[piece.stretch] for piece in self.pieces)
        kinds = {Shows.BLACK, Shows.PLATE}
        film = {one.plate for one in stretches if one.shows in kinds}
        return film | {lead.plate for lead in (*self.head, *self.tail)}

    def pictures(self) -> Iterator[Picture]:
        """Yield all output frames, in order, neighbours that are alike put together."""
        for lead in self.head:
            yield from lead.pictures()
        yield from self.film_pictures()
        for lead in self.tail:
            yield from lead.pictures()

    def film_pictures(self) -> Iterator[Picture]:
        """Yield the film's output frames, as ``pictures``."""
        waiting: Look | None = None
        pulse, total = 0, self.pieces[-1].pulse_stop
        for times, look in self.looks():
            first, pulse = pulse, pulse + times
            stop = 2 * self.outputs if pulse == total else self.carry.first_field(pulse)
            fields = stop - self.carry.first_field(first)
            if waiting is not None:
                yield Picture(1, (waiting, look))
                waiting, fields = None, fields - 1
            if fields > 1:
                yield Picture(fields // 2, (look,))
            if fields % 2:
                waiting = look

    def looks(self) -> Iterator[tuple[int, Look]]:
        """Yield what pulses in a row show, in order, and how many they are."""
        if self.window is not None:
            yield from blended(self.timeline, self.pieces, self.grid, self.phase, self.window)
            return
        for times, reel, frame, unit, plate in self.showings():
            yield times, (Part(reel, frame, unit, _WHOLE, plate),)

    def showings(self) -> Iterator[Showing]:
        """Yield what is shown, in order, neighbours that show the same frame put together."""
        last: Showing | None = None
        for piece in self.pieces:
            stretch = self.timeline.stretches[piece.stretch]
            reel = self.timeline.units[stretch.unit].reel
            for slot, count in piece.rule.runs(piece.count):
                shown = (reel, stretch.frame(slot), stretch.unit, stretch.plate)
                if last and last[1:] == shown:
                    last = last._replace(times=last.times + count)
                    continue
                if last:
                    yield last
                last = Showing(count, *shown)
        if last:
            yield last

    def counts(self) -> Counts:
        """Count the film frames by what became of them; a blend is looked through for it."""
        if self.window is not None:
            return self._blend_counts()
        repeated = held = fresh = inserted = 0
        for piece in self.pieces:
            stretch = self.timeline.stretches[piece.stretch]
            carried = self._carried(piece, piece.count)
            if stretch.inset:
                inserted += carried
                continue
            new = 0
            if stretch.fresh:
                new = piece.rule.distinct(piece.count) - piece.continues
            fresh += new
            if stretch.held:
                held += carried - new
            else:
                repeated += carried - new
        late = self._shown_late()
        source = self.timeline.source_frames
        return Counts(
            source=source,
            outputs=self.outputs,
            shown=fresh + repeated + held + inserted,
            repeated=repeated,
            dropped=source - fresh - late,
            held=held - late,
            inserted=inserted,
        )

    def _shown_late(self) -> int:
        """Count the film frames that a loop shows and their own turn, too fast, does not."""
        looped = {one.unit for one in self.timeline.stretches if one.again}
        in_turn: set[tuple[int, int | None]] = set()
        again: set[tuple[int, int | None]] = set()
        for piece in self.pieces if looped else ():
            stretch = self.timeline.stretches[piece.stretch]
            if stretch.unit in looped and stretch.shows is Shows.FILM:
                shown = again if stretch.again else in_turn
                slots = piece.rule.runs(piece.count)
                shown.update((stretch.unit, stretch.frame(slot)) for slot, _ in slots)
        return len(again - in_turn)

    def _carried(self, piece: Piece, pulses: int) -> int:
        """Return how many frames, or fields where these count, carry a piece's first pulses."""
        if not self.carry.in_fields:
            return pulses
        stop = piece.pulse_first + pulses
        end = self.carry.first_field(stop)
        if stop == self.pieces[-1].pulse_stop:
            end = 2 * self.outputs
        return end - self.carry.first_field(piece.pulse_first)

    def _blend_counts(self) -> Counts:
        insets = {stretch.unit for stretch in self.timeline.stretches if stretch.inset}
        alone = blended_ones = repeated = held = inserted = 0
        seen: set[tuple[int | None, int | None]] = set()
        for times, look in self.looks():
            seen.update(
                (part.unit, part.frame)
                for part in look
                if part.frame is not None and self._plays(part.unit, part.frame)
            )
            if len(look) > 1:
                blended_ones += times
                continue
            alone += times
            if look[0].frame is not None:
                repeated += times - 1
            elif look[0].unit in insets:
                inserted += times
            else:
                held += times
        source = self.timeline.source_frames
        return Counts(
            source=source,
            outputs=self.outputs,
            shown=alone + blended_ones,
            repeated=repeated,
            dropped=source - len(seen),
            held=held,
            inserted=inserted,
            blended=blended_ones,
        )

    def _plays(self, unit: int | None, frame: int) -> bool:
        """Tell whether a frame is of the shot, rather than standing in for one that is missing."""
        if unit is None:
            return False
        first, last = self.timeline.units[unit].first, self.timeline.units[unit].last
        return first is not None and last is not None and first <= frame <= last

    def reel_fields(self) -> list[tuple[int, int]]:
        """Return each reel's first field and the one after its last, two to an output frame.

        They are counted from the head's first.
        """
        units = self.timeline.units
        firsts = self._first_fields(lambda stretch: units[stretch.unit].reel)
        stops = [*list(firsts.values())[1:], 2 * (self.head_frames + self.outputs)]
        bounds = dict(zip(firsts, zip(firsts.values(), stops, strict=True), strict=True))
        return [bounds[reel] for reel in range(len(self.timeline.reels))]

    def unit_fields(self) -> dict[int, tuple[int, int]]:
        """Return, by its number, each shot's first field and the one after its last."""
        firsts = self._first_fields(lambda stretch: stretch.unit)
        stops = [*list(firsts.values())[1:], 2 * (self.head_frames + self.outputs)]
        return dict(zip(firsts, zip(firsts.values(), stops, strict=True), strict=True))

    def _first_fields(self, group: Callable[[Stretch], int]) -> dict[int, int]:
        """Return the first field of every group of stretches, in the order of time."""
        firsts: dict[int, int] = {}
        head = 2 * self.head_frames
        for piece in self.pieces:
            number = group(self.timeline.stretches[piece.stretch])
            if number not in firsts:
                firsts[number] = head + self.carry.first_field(piece.pulse_first)
        return firsts


def plan_repeats(timeline: Timeline, conform: Conform, phase: Phase, carry: Carry = FRAMES) -> Plan:
    """Lay a timeline out at the conform rate by repeating and dropping frames."""
    return _planned(timeline, conform, phase, carry, None)


def plan_blend(
    timeline: Timeline,
    conform: Conform,
    phase: Phase,
    window: Fraction = _WHOLE,
    carry: Carry = FRAMES,
) -> Plan:
    """Lay a timeline out by output frames that are means over ``window`` output frames.

    ``window`` is above 0 and at most 1; where 2:3 carries them, it counts film-rate pictures.
    """
    return _planned(timeline, conform, phase, carry, window)


def _planned(
    timeline: Timeline, conform: Conform, phase: Phase, carry: Carry, window: Fraction | None
) -> Plan:
    at = conform.at.fps
    pulses, outputs = carry.lengths(timeline.duration, at)
    grid = Grid(
        pulses=carry.grid(at),
        per_bound=carry.per_frame or 1,
        noun="output field" if carry.per_frame > 1 else "output frame",
    )
    return Plan(
        timeline=timeline,
        conform=conform,
        phase=phase,
        carry=carry,
        grid=grid,
        outputs=outputs,
        pieces=sample(timeline, grid, pulses, phase),
        window=window,
    )
