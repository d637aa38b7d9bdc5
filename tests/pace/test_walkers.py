"""Stick figures filmed at several cranking speeds: the step within 5 %, or a refusal.

The cadence is that of free-living walking, 109 steps a minute: Dall et al. 2013, as reported by
Richard Baker, "What is normal walking?".
"""

from __future__ import annotations

import pytest
from figures import CLEAN, WORN, Walk, Wear, planes, walk

from retime.pace.counting import Paced, counted
from retime.pace.motion import parse_motion
from retime.pace.pictures import small_pictures
from retime.pace.views import views_of
from retime.signal.period import Period, find_period

CADENCE = 109 / 60
SPEEDS = (12, 14, 16, 18, 20, 22, 24)


def steps(film: Walk) -> Paced | None:
    """Return what is measured of a walk, None where it is refused."""
    pictures = small_pictures(lambda: iter(planes(film.frames)), film.course)
    found = find_period(views_of(pictures).every)
    paced = counted(found, parse_motion("walk")) if isinstance(found, Period) else None
    return paced if isinstance(paced, Paced) else None


@pytest.mark.parametrize(("wear", "far"), [(CLEAN, 0.0), (CLEAN, 0.2), (WORN, 0.06)])
def test_a_walk_is_measured_within_5_per_cent_or_refused(wear: Wear, far: float) -> None:
    told = []
    for fps in SPEEDS:
        film = walk(fps, CADENCE, steps=5.5, far=far, wear=wear, seed=fps)
        paced = steps(film)
        if paced is not None:
            told.append(paced)
            assert paced.frames == pytest.approx(film.frames_a_step, rel=0.05), fps
            assert abs(paced.frames - film.frames_a_step) < 4 * paced.uncertainty

    assert len(told) >= 2 / 3 * len(SPEEDS)


def test_legs_that_differ_make_a_stride_of_which_a_step_is_half() -> None:
    film = walk(18, CADENCE, steps=6.5, far=0.35, wear=CLEAN, seed=3)
    paced = steps(film)

    assert paced is not None
    assert paced.frames == pytest.approx(film.frames_a_step, rel=0.05)
    assert "two steps" in paced.notes[0]
    assert any(one.frames == pytest.approx(2 * paced.frames) for one in paced.others)


def test_steps_on_the_spot_are_measured_in_a_box_that_stays() -> None:
    film = walk(16, CADENCE, steps=6.5, far=0.1, wear=WORN, seed=5, stays=True)
    paced = steps(film)

    assert paced is not None
    assert paced.frames == pytest.approx(film.frames_a_step, rel=0.05)
