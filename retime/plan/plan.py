"""A deliverable's plan: run-length, exact, and as small as its shots and breaks are few."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from msgspec import Struct

from retime.plan.sampling import sample
from retime.plan.timeline import Shows

if TYPE_CHECKING:
    from collections.abc import Iterator
    from fractions import Fraction

    from retime.plan.conform import Conform
    from retime.plan.layout import Piece
    from retime.plan.timeline import Timeline
    from retime.speedmap.model import Phase

__all__ = ["Counts", "Plan", "Showing", "plan_repeats"]


class Showing(NamedTuple):
    """``times`` output frames in a row that show one thing.

    ``frame`` is a film frame of reel number ``reel`` (in playing order), None for black.
    """

    times: int
    reel: int
    frame: int | None
    unit: int


class Counts(Struct, frozen=True, kw_only=True):
    """What became of the film frames; outputs = source - dropped + repeated + held."""

    source: int
    outputs: int
    repeated: int
    dropped: int
    held: int


class Plan(Struct, frozen=True, kw_only=True):
    """Every output frame of one deliverable, as pieces; ``outputs`` is their number, M."""

    timeline: Timeline
    conform: Conform
    phase: Phase
    pieces: tuple[Piece, ...]

    @property
    def outputs(self) -> int:
        """How many output frames the deliverable has."""
        return self.pieces[-1].output_stop

    @property
    def runtime(self) -> Fraction:
        """The deliverable's own runtime in seconds, M/R."""
        return self.outputs / self.conform.rate.fps

    @property
    def shows_black(self) -> bool:
        """Whether any output frame is black."""
        stretches = self.timeline.stretches
        return any(stretches[piece.stretch].shows is Shows.BLACK for piece in self.pieces)

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
        """Count the film frames by what became of them."""
        shown = repeated = held = 0
        for piece in self.pieces:
            stretch = self.timeline.stretches[piece.stretch]
            if stretch.shows is not Shows.FILM:
                held += piece.count
                continue
            fresh = piece.rule.distinct(piece.count) - piece.continues
            shown += fresh
            if stretch.held:
                held += piece.count - fresh
            else:
                repeated += piece.count - fresh
        source = self.timeline.source_frames
        return Counts(
            source=source,
            outputs=self.outputs,
            repeated=repeated,
            dropped=source - shown,
            held=held,
        )

    def reel_bounds(self) -> list[tuple[int, int]]:
        """Return each reel's first output frame and the one after its last."""
        firsts: dict[int, int] = {}
        for piece in self.pieces:
            unit = self.timeline.units[self.timeline.stretches[piece.stretch].unit]
            firsts.setdefault(unit.reel, piece.output_first)
        stops = [*list(firsts.values())[1:], self.outputs]
        bounds = dict(zip(firsts, zip(firsts.values(), stops, strict=True), strict=True))
        return [bounds[reel] for reel in range(len(self.timeline.reels))]


def plan_repeats(timeline: Timeline, conform: Conform, phase: Phase) -> Plan:
    """Lay a timeline out at the conform rate by repeating and dropping frames."""
    return Plan(
        timeline=timeline,
        conform=conform,
        phase=phase,
        pieces=sample(timeline, conform.at.fps, phase),
    )
