"""A deliverable's plan: run-length, exact, and as small as its shots and breaks are few."""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING, NamedTuple

from msgspec import Struct

from retime.plan.blending import blended
from retime.plan.carry import FRAMES
from retime.plan.look import Look, Part
from retime.plan.sampling import Grid, sample
from retime.plan.timeline import Shows

if TYPE_CHECKING:
    from collections.abc import Iterator

    from retime.plan.carry import Carry
    from retime.plan.conform import Conform
    from retime.plan.layout import Piece
    from retime.plan.timeline import Timeline
    from retime.speedmap.model import Phase

__all__ = ["Counts", "Picture", "Plan", "Showing", "plan_blend", "plan_repeats"]

_WHOLE = Fraction(1)


class Showing(NamedTuple):
    """``times`` pulses in a row that show one thing.

    ``frame`` is a film frame of reel number ``reel`` (in playing order), None for black.
    """

    times: int
    reel: int
    frame: int | None
    unit: int


class Picture(NamedTuple):
    """``times`` output frames in a row that are alike.

    ``fields`` is one look, or two different ones: those of its fields, in the order of time.
    """

    times: int
    fields: tuple[Look, ...]


class Counts(Struct, frozen=True, kw_only=True):
    """What became of the film frames.

    Counted are output frames, or fields where frames may hold two film frames. Without a blend
    shown = source - dropped + repeated + held; ``blended`` are those that mix several.
    """

    source: int
    outputs: int
    shown: int
    repeated: int
    dropped: int
    held: int
    blended: int = 0


class Plan(Struct, frozen=True, kw_only=True):
    """Every output frame of one deliverable, as pieces of pulses; ``outputs`` is M.

    ``window`` is a blend's, in output frames, and None for repeats; a blend's pieces say which
    shot each output frame belongs to.
    """

    timeline: Timeline
    conform: Conform
    phase: Phase
    carry: Carry
    grid: Grid
    outputs: int
    pieces: tuple[Piece, ...]
    window: Fraction | None = None

    @property
    def runtime(self) -> Fraction:
        """The deliverable's own runtime in seconds, M/R."""
        return self.outputs / self.conform.rate.fps

    @property
    def shows_black(self) -> bool:
        """Whether any output frame is black."""
        stretches = self.timeline.stretches
        return any(stretches[piece.stretch].shows is Shows.BLACK for piece in self.pieces)

    def pictures(self) -> Iterator[Picture]:
        """Yield the output frames, in order, neighbours that are alike put together."""
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
        for times, reel, frame, unit in self.showings():
            yield times, (Part(reel, frame, unit, _WHOLE),)

    def showings(self) -> Iterator[Showing]:
        """Yield what is shown, in order, neighbours that show the same frame put together."""
        last: Showing | None = None
        for piece in self.pieces:
            stretch = self.timeline.stretches[piece.stretch]
            reel = self.timeline.units[stretch.unit].reel
            for slot, count in piece.rule.runs(piece.count):
                frame = None
                if stretch.shows is not Shows.BLACK:
                    frame = stretch.first + (slot if stretch.shows is Shows.FILM else 0)
                if last and last[1:] == (reel, frame, stretch.unit):
                    last = last._replace(times=last.times + count)
                    continue
                if last:
                    yield last
                last = Showing(count, reel, frame, stretch.unit)
        if last:
            yield last

    def counts(self) -> Counts:
        """Count the film frames by what became of them; a blend is looked through for it."""
        if self.window is not None:
            return self._blend_counts()
        repeated = held = fresh = 0
        for piece in self.pieces:
            stretch = self.timeline.stretches[piece.stretch]
            if stretch.shows is not Shows.FILM:
                held += self._carried(piece, piece.count)
                continue
            new = piece.rule.distinct(piece.count) - piece.continues
            fresh += new
            if stretch.held:
                held += self._carried(piece, piece.count) - new
            else:
                repeated += self._carried(piece, piece.count) - new
        source = self.timeline.source_frames
        return Counts(
            source=source,
            outputs=self.outputs,
            shown=fresh + repeated + held,
            repeated=repeated,
            dropped=source - fresh,
            held=held,
        )

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
        alone = blended_ones = repeated = held = 0
        seen: set[tuple[int, int]] = set()
        for times, look in self.looks():
            seen.update((part.reel, part.frame) for part in look if part.frame is not None)
            if len(look) > 1:
                blended_ones += times
                continue
            alone += times
            if look[0].frame is None:
                held += times
            else:
                repeated += times - 1
        source = self.timeline.source_frames
        return Counts(
            source=source,
            outputs=self.outputs,
            shown=alone + blended_ones,
            repeated=repeated,
            dropped=source - len(seen),
            held=held,
            blended=blended_ones,
        )

    def reel_fields(self) -> list[tuple[int, int]]:
        """Return each reel's first field and the one after its last, two to an output frame."""
        firsts: dict[int, int] = {}
        stretches, units = self.timeline.stretches, self.timeline.units
        for piece in self.pieces:
            reel = units[stretches[piece.stretch].unit].reel
            if reel not in firsts:
                firsts[reel] = self.carry.first_field(piece.pulse_first)
        stops = [*list(firsts.values())[1:], 2 * self.outputs]
        bounds = dict(zip(firsts, zip(firsts.values(), stops, strict=True), strict=True))
        return [bounds[reel] for reel in range(len(self.timeline.reels))]


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
