"""The demo film's movements have the periods that its truth file states."""

from fractions import Fraction

import numpy as np
import pytest
from demofilm import motion, reel_one
from demofilm.figures import gait

from retime.film.speed import Ramp, Speed

STEP = 0.36  # step over height


@pytest.mark.parametrize("frame", [0, 3, 7, 10, 15])
def test_abels_pose_comes_again_two_steps_of_eleven_frames_on(frame: int) -> None:
    now, later = (gait(float(motion.ABEL.steps(n))) for n in (frame, frame + 22))
    assert [(x + 2 * STEP, y) for x, y in now.ankles] == [pytest.approx(at) for at in later.ankles]
    assert (now.hip[0] + 2 * STEP, now.hip[1]) == pytest.approx(later.hip)
    assert now.swing == pytest.approx(later.swing)


def test_one_step_exchanges_the_legs_and_not_less() -> None:
    now, later = gait(0.3), gait(1.3)
    exchanged = [(x + STEP, y) for x, y in reversed(now.ankles)]
    assert exchanged == [pytest.approx(at) for at in later.ankles]


def test_the_planted_foot_does_not_slide() -> None:
    planted = {gait(float(motion.ABEL.steps(frame))).ankles[0] for frame in range(11)}
    assert {(STEP, 0.035)} == planted


@pytest.mark.parametrize("walk", [motion.ABEL, motion.WENNA])
def test_both_walkers_keep_a_natural_cadence(walk: motion.Walk) -> None:
    """100 to 120 steps a minute: Winter 1991, in Richard Baker, "What is normal walking?"."""
    assert 100 <= walk.steps_per_minute <= 120


@pytest.mark.parametrize("frame", [0, 7, 19])
def test_the_clock_looks_the_same_forty_frames_on_and_not_twenty(frame: int) -> None:
    now = reel_one.clock(frame)
    np.testing.assert_allclose(now, reel_one.clock(frame + 40), atol=1e-4)
    if frame != 10:
        assert np.abs(now - reel_one.clock(frame + 20)).max() > 0.2


def test_the_pendulum_is_as_long_as_its_two_seconds_ask() -> None:
    """0.9936 m swings in 2.0000 s: textbook, T = 2 pi sqrt(L / g) with standard gravity."""
    assert motion.PENDULUM.seconds == 2
    assert motion.PENDULUM.metres == pytest.approx(0.9936, abs=5e-5)


def test_the_can_falls_4_9_metres_in_twenty_frames_at_twenty() -> None:
    """Galileo's rule: distances from rest grow with the squares of the times."""
    let_go = motion.FALL.let_go
    assert motion.FALL.frames == pytest.approx(20, abs=0.01)
    assert motion.FALL.dropped(let_go) == 0
    assert motion.FALL.dropped(let_go + 20) == 4.9
    assert motion.FALL.dropped(let_go + 18) == pytest.approx(9 * motion.FALL.dropped(let_go + 6))


@pytest.mark.parametrize("frames", [6, 10, 15])
def test_the_can_stands_in_the_picture_as_low_as_it_has_fallen(frames: int) -> None:
    """The yard lies at row 424, 68 pixels are a metre; the sky behind the can is still."""
    hanging, falling = (reel_one.fall(motion.FALL.let_go + n) for n in (0, frames))
    changed = np.abs(hanging - falling)[:320, 326:335].max(axis=1) > 0.1
    fallen = 9.80665 / 2 * (frames / 20) ** 2
    assert 424 - (4.9 - fallen) * 68 == pytest.approx(np.flatnonzero(changed).max(), abs=1.5)


@pytest.mark.parametrize("frame", [0, 1, 17, 63])
def test_the_cranked_shot_was_taken_by_the_ramp_that_its_map_plays(frame: int) -> None:
    crank = motion.CRANK
    ramp = Ramp(Speed(Fraction(16)), Speed(Fraction(20)))
    durations = [ramp.duration(i, crank.frames) for i in range(frame)]
    assert sum(durations) == crank.elapsed(frame)
