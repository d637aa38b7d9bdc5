"""A plan is as large as its shots are many, however many frames they have."""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING

import pytest
from filmstrips import drifted, planned, strip

from retime.film.speed import Ramp, Speed
from retime.plan.assembly import Hole
from retime.plan.timeline import Shows
from retime.speedmap.decisions import RampPart
from retime.speedmap.model import Phase

if TYPE_CHECKING:
    from retime.plan.plan import Plan

SHOTS = 150


def film(times: int, phase: Phase, rate: Fraction | int = 24) -> Plan:
    """Return the plan of shots that each have a speed of their own, ``times`` as long."""
    shots = [
        ((30 + 7 * number % 90) * times, Fraction(16_000 + 37 * number, 1000))
        for number in range(SHOTS)
    ]
    return planned(strip(*shots), rate, phase=phase)


@pytest.mark.parametrize("rate", [24, 25, Fraction(24000, 1001)])
def test_ten_times_the_frames_take_as_many_pieces_in_continuous_phase(
    rate: Fraction | int,
) -> None:
    once, ten_times = (film(times, Phase.CONTINUOUS, rate) for times in (1, 10))

    assert SHOTS == len(once.pieces) == len(ten_times.pieces)
    assert 9 < ten_times.outputs / once.outputs < 11


@pytest.mark.parametrize("times", [1, 10, 1000])
def test_a_shot_takes_at_most_three_pieces_in_per_shot_phase(times: int) -> None:
    # One beat, and where rounding leaves the shot short, what is left of it after the repeat that
    # is given up, and its last frame.
    assert SHOTS <= len(film(times, Phase.PER_SHOT).pieces) <= 3 * SHOTS


@pytest.mark.parametrize("phase", Phase)
def test_a_shot_of_a_million_million_frames_is_planned_counted_and_measured(phase: Phase) -> None:
    # Were any of it done frame by frame, this test would not end.
    count = 10**12
    plan = planned(strip((count, 18), (count, Fraction(21_337, 1000))), 24, phase=phase)
    counts, drift = plan.counts(), drifted(plan)

    assert len(plan.pieces) <= 4
    assert 2 * count == counts.source
    assert 0 == counts.dropped
    assert counts.outputs == counts.source + counts.repeated
    assert drift.largest <= 1


@pytest.mark.parametrize("times", [1, 10])
def test_a_ramp_is_one_piece_and_a_hole_cuts_a_shot_in_three(times: int) -> None:
    speeds = Ramp(Speed(Fraction(16)), Speed(Fraction(22)))
    count = 60 * times
    ramped = strip((count, RampPart(ramp=speeds, index=0, count=count)))
    hole = Hole(first=20 * times, count=10 * times, shows=Shows.BLACK)

    assert 1 == len(planned(ramped, 24).pieces)
    assert 3 == len(planned(strip((count, 18)), 24, holes=[hole]).pieces)
