"""Cadences in fields are told as the trade tells them, up to rotation (common practice)."""

from __future__ import annotations

from fractions import Fraction

import pytest
from filmstrips import uniform

from retime.plan.cadence import same_cadence
from retime.plan.carry import FIELDS, FRAMES
from retime.report.stretches import cadence_of

TOLD = {
    (20, 30): "3:3",
    (20, 25): "2:3",
    (24, 30): "2:3",
    (18, 30): "3:3:4",
    (16, 30): "3:4:4:4",
    (24, 25): "2:2:2:2:2:2:2:2:2:2:2:3",
    (25, 25): "2:2",
}


@pytest.mark.parametrize(("speed", "rate"), TOLD, ids=str)
def test_a_cadence_in_fields_is_told_in_fields(speed: int, rate: int) -> None:
    plan = uniform(240, speed, rate, carry=FIELDS)
    cadence = cadence_of(plan, plan.timeline.stretches[0])
    expected = tuple(map(int, TOLD[speed, rate].split(":")))

    assert cadence is not None
    assert same_cadence(expected, cadence.runs)
    assert sum(expected) == cadence.outputs
    assert len(expected) == cadence.film_frames


def test_a_cadence_of_whole_frames_is_told_in_frames() -> None:
    plan = uniform(240, Fraction(25, 2), 25, carry=FRAMES)
    cadence = cadence_of(plan, plan.timeline.stretches[0])

    assert cadence is not None
    assert (2,) == cadence.runs
