"""Lays stretches of film onto pulses by the repeat rule: pieces of one beat each."""

from __future__ import annotations

from fractions import Fraction
from itertools import pairwise
from math import gcd, lcm
from typing import TYPE_CHECKING

from msgspec import Struct
from msgspec.structs import replace

from retime.plan.beat import Beat, Runs, still
from retime.plan.onset import Onset, onset_of
from retime.plan.timeline import Eased, Even, Shows

if TYPE_CHECKING:
    from collections.abc import Sequence

    from retime.plan.timeline import Stretch

__all__ = ["Piece", "lay", "ratio_on"]


class Piece(Struct, frozen=True, kw_only=True):
    """``count`` pulses from ``pulse_first`` that show slots of one stretch by one rule.

    ``continues`` says that the piece before already shows this one's first slot.
    """

    stretch: int
    pulse_first: int
    count: int
    rule: Beat | Runs
    continues: bool = False

    @property
    def pulse_stop(self) -> int:
        """The pulse after the piece's last."""
        return self.pulse_first + self.count

    @property
    def last_slot(self) -> int:
        """The slot that the piece shows last."""
        return self.rule.slot(self.count - 1)

    def head(self, count: int) -> Piece:
        """Return the piece's first ``count`` pulses."""
        return replace(self, count=count)

    def tail(self, skip: int) -> Piece:
        """Return what follows the first ``skip`` pulses, the last of which is given up."""
        rule = self.rule.advanced(skip)
        before = skip - 2
        shown = before >= 0 and self.rule.slot(before) == rule.slot(0)
        return Piece(
            stretch=self.stretch,
            pulse_first=self.pulse_first + skip,
            count=self.count - skip,
            rule=rule,
            continues=shown or (self.continues and self.rule.slot(0) == rule.slot(0)),
        )

    def moved(self, by: int) -> Piece:
        """Return the piece ``by`` pulses later."""
        return replace(self, pulse_first=self.pulse_first + by)


def ratio_on(pace: Even, grid: Fraction) -> tuple[int, int]:
    """Return how many slots pass in how many pulses, in lowest terms."""
    slots = pace.duration.denominator * grid.denominator
    outputs = pace.duration.numerator * grid.numerator
    common = gcd(slots, outputs)
    return slots // common, outputs // common


def lay(
    stretches: Sequence[tuple[int, Stretch, Fraction, int | None]],
    grid: Fraction,
    pulse_first: int,
    count: int,
) -> list[Piece]:
    """Return pieces for ``count`` pulses from ``pulse_first``.

    ``stretches`` come with their place in the timeline and their start (and what is ``nearly``
    it) on the clock that the rule runs on, which begins with ``pulse_first``. Pulse j shows the
    slot whose half-open interval holds (j + 1/2)/``grid``; past the end the last slot repeats.
    """
    onsets = [onset_of(start, near, grid) for _, _, start, near in stretches]
    bounds = [min(max(onset.pulse, 0), count) for onset in onsets]
    pieces: list[Piece] = []
    for (index, stretch, *_), onset, (begin, end) in zip(
        stretches, onsets, pairwise([*bounds, count]), strict=True
    ):
        if end > begin:
            pieces += _stretch_pieces(index, stretch, onset, (pulse_first + begin, end - begin))
    return pieces


def _stretch_pieces(
    index: int,
    stretch: Stretch,
    onset: Onset,
    span: tuple[int, int],
) -> list[Piece]:
    """Return the pieces of one stretch, its last slot repeated where the film has run out."""
    first, count = span
    if stretch.shows is not Shows.FILM or stretch.count == 1:
        return [Piece(stretch=index, pulse_first=first, count=count, rule=still(0))]
    rule = (
        _beat(stretch.pace, onset)
        if isinstance(stretch.pace, Even)
        else _runs(stretch.pace, stretch.count, onset, count)
    )
    inside = _outputs_before(rule, stretch.count, count)
    pieces = []
    if inside:
        pieces.append(Piece(stretch=index, pulse_first=first, count=inside, rule=rule))
    if inside < count:
        last = stretch.count - 1
        pieces.append(
            Piece(
                stretch=index,
                pulse_first=first + inside,
                count=count - inside,
                rule=still(last),
                continues=bool(inside) and rule.slot(inside - 1) == last,
            )
        )
    return pieces


def _beat(pace: Even, onset: Onset) -> Beat:
    step, beat = ratio_on(pace, onset.grid)
    # floor((k + past) step / beat) = floor((k step + floor(past step)) / beat): short terms.
    return Beat(step=step, beat=beat, phase=onset.phase(step))


def _outputs_before(rule: Beat | Runs, slots: int, count: int) -> int:
    """Return how many of ``count`` pulses show slots that the stretch has."""
    if isinstance(rule, Runs):
        return min(count, sum(rule.counts))
    return min(count, -((rule.phase - slots * rule.beat) // rule.step))


def _runs(pace: Eased, slots: int, onset: Onset, count: int) -> Runs:
    """Return a ramp's run lengths, frame by frame: the one place where a plan visits frames."""
    grid, (past, past_scale) = onset.grid, onset.past()
    a, b = pace.ramp.first.duration, pace.ramp.last.duration
    change = Fraction(0) if pace.span == 1 else (b - a) / (pace.span - 1)
    # Slot i begins at i base + i (i - 1)/2 change, in pulses.
    base = (a + change * pace.index) * pace.scale * grid
    change *= pace.scale * grid
    scale = lcm(base.denominator, change.denominator)
    base_part = base.numerator * (scale // base.denominator)
    change_part = change.numerator * (scale // change.denominator)
    starts = [i * base_part + (i * (i - 1) // 2) * change_part for i in range(slots + 1)]
    phase = past * scale // past_scale
    firsts = [min(count, max(0, -((phase - start) // scale))) for start in starts]
    return Runs(
        first=0,
        counts=tuple(after - before for before, after in pairwise(firsts)),
        starts=tuple(starts[:-1]),
        scale=scale,
    )
