"""Which film frames of an excerpt a deliverable's output frames show: cut out of its real plan."""

from __future__ import annotations

from itertools import groupby
from typing import TYPE_CHECKING, NamedTuple

from msgspec import Struct
from msgspec.structs import replace

from retime.plan.cadence import cadence_at
from retime.plan.layout import ratio_on
from retime.plan.timeline import Even
from retime.preview.speeds import units_of

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence
    from fractions import Fraction

    from retime.plan.cadence import Cadence
    from retime.plan.layout import Piece
    from retime.plan.look import Look
    from retime.plan.plan import Plan
    from retime.preview.excerpt import Excerpt

__all__ = ["Run", "Showing", "showing_of"]

Mix = tuple[tuple[int, "Fraction"], ...]


class Run(NamedTuple):
    """``times`` output frames in a row; ``mix`` has film frames, from the excerpt's first on."""

    times: int
    mix: Mix


class Showing(Struct, frozen=True, kw_only=True):
    """The output frames that show an excerpt, from ``output`` on, counted in the deliverable.

    ``cadence`` is None where there is no short one; then ``nearest`` may stand for it.
    """

    output: int
    runs: tuple[Run, ...]
    cadence: str | None = None
    nearest: str | None = None

    @property
    def frames(self) -> int:
        """How many output frames there are."""
        return sum(run.times for run in self.runs)


def showing_of(plan: Plan, excerpt: Excerpt, most: int) -> Showing | None:
    """Return the longest run of output frames that show nothing but the excerpt; None for none.

    The plan's pulses are output frames. ``most`` output frames are taken, the first of a longer
    run.
    """
    found = [one for pieces in _pieces(plan, excerpt) for one in _shown(plan, pieces, excerpt)]
    if not found:
        return None
    longest = max(found, key=lambda showing: showing.frames)
    shortened = replace(longest, runs=tuple(_first(longest.runs, most)))
    told = _cadence(plan, excerpt, shortened)
    if told is None:
        return shortened
    exact, words = told
    return replace(shortened, cadence=words) if exact else replace(shortened, nearest=words)


def _pieces(plan: Plan, excerpt: Excerpt) -> Iterator[list[Piece]]:
    """Yield the plan's pieces of the shots that show an excerpt, neighbours together."""
    wanted = set(units_of(plan.timeline, excerpt))

    def is_wanted(piece: Piece) -> bool:
        return plan.timeline.stretches[piece.stretch].unit in wanted

    for taken, pieces in groupby(plan.pieces, key=is_wanted):
        if taken:
            yield list(pieces)


def _shown(plan: Plan, pieces: list[Piece], excerpt: Excerpt) -> Iterator[Showing]:
    """Yield what some pieces show of an excerpt, in runs that nothing else interrupts."""
    output = plan.head_frames + pieces[0].pulse_first
    begin, runs = output, list[Run]()
    for times, look in replace(plan, pieces=tuple(pieces)).looks():
        mix = _mix(plan, look, excerpt)
        if mix is None:
            if runs:
                yield Showing(output=begin, runs=tuple(runs))
            runs = []
            begin = output + times
        elif runs and runs[-1].mix == mix:
            runs[-1] = Run(runs[-1].times + times, mix)
        else:
            runs.append(Run(times, mix))
        output += times
    if runs:
        yield Showing(output=begin, runs=tuple(runs))


def _mix(plan: Plan, look: Look, excerpt: Excerpt) -> Mix | None:
    """Return what a look is made of; None where anything in it is no frame of the excerpt."""
    reels = plan.timeline.reels
    mixed = []
    for part in look:
        if part.frame is None or part.reel is None or reels[part.reel].name != excerpt.reel:
            return None
        if not excerpt.first <= part.frame <= excerpt.last:
            return None
        mixed.append((part.frame - excerpt.first, part.weight))
    return tuple(mixed)


def _first(runs: Sequence[Run], most: int) -> Iterator[Run]:
    """Yield runs up to ``most`` output frames."""
    for run in runs:
        if most <= 0:
            return
        yield Run(min(run.times, most), run.mix)
        most -= run.times


def _cadence(plan: Plan, excerpt: Excerpt, showing: Showing) -> tuple[bool, str] | None:
    """Return the cadence from the excerpt's first frame shown, and whether it is exact.

    None for a blend, and where the speed changes or anything is held.
    """
    pace = _one_pace(plan, excerpt)
    if plan.window is not None or pace is None:
        return None
    step, beat = ratio_on(pace, plan.grid.pulses)
    cadence = cadence_at(step, beat, 0)
    if cadence is None:
        return None
    if cadence.slips_every is not None:
        return False, str(cadence)
    return True, ":".join(map(str, _turned(cadence, showing)))


def _one_pace(plan: Plan, excerpt: Excerpt) -> Even | None:
    timeline = plan.timeline
    stretches = [
        stretch
        for number in units_of(timeline, excerpt)
        for stretch in timeline.stretches[slice(*timeline.units[number].stretches)]
        if stretch.first <= excerpt.last and stretch.last >= excerpt.first
    ]
    paces = {stretch.pace for stretch in stretches if isinstance(stretch.pace, Even)}
    if len(paces) != 1 or not all(isinstance(one.pace, Even) for one in stretches):
        return None
    return None if any(stretch.held for stretch in stretches) else paces.pop()


def _turned(cadence: Cadence, showing: Showing) -> tuple[int, ...]:
    """Return a cycle as the excerpt begins it; as it is where the excerpt is too short for that."""
    first, last = showing.runs[0].mix[0][0], showing.runs[-1].mix[0][0]
    counts = dict.fromkeys(range(first, first + cadence.film_frames), 0)
    for run in showing.runs:
        for frame, _ in run.mix:
            if frame in counts:
                counts[frame] += run.times
    # A run at the end may have been cut short.
    whole = last >= first + cadence.film_frames
    return tuple(counts.values()) if whole else cadence.runs
