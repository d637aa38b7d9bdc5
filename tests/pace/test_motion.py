"""What moves, as it is said, and the speed that it implies."""

from __future__ import annotations

from fractions import Fraction

import pytest

from retime.errors import NotationError
from retime.evidence.natural import NATURAL
from retime.evidence.quantity import exactly
from retime.pace.counting import Paced, counted
from retime.pace.implied import frames_of, implied
from retime.pace.motion import Law, parse_motion
from retime.signal.period import Other, Period, Unclear

WALK = parse_motion("walk")


def paced(frames: float, uncertainty: float) -> Paced:
    return Paced(frames=frames, uncertainty=uncertainty, confidence=0.9, seen=6)


def test_nine_frames_a_step_are_15_0_to_17_7_frames_a_second() -> None:
    """109 +/- 9 steps a minute: Dall et al. 2013, in Richard Baker, "What is normal walking?"."""
    speed = implied(exactly(Fraction(9)), WALK.frequency)
    low, centre, high = (round(float(one), 2) for one in (speed.low, speed.value, speed.high))

    assert (15.0, 16.35, 17.7) == (low, centre, high)


def test_nine_frames_a_step_in_a_laboratory_are_15_to_18() -> None:
    """100 to 120 steps a minute: Winter 1991, in the same."""
    speed = implied(exactly(Fraction(9)), parse_motion("walk in a laboratory").frequency)

    assert 15 == speed.low
    assert 18 == speed.high


@pytest.mark.parametrize("name", [one.name for one in NATURAL])
@pytest.mark.parametrize("uncertainty", [0.0, 0.001, 0.1, 0.8])
def test_a_speed_is_never_told_more_narrowly_than_the_movement_is_known(
    name: str, uncertainty: float
) -> None:
    natural = parse_motion(name).frequency
    speed = implied(frames_of(paced(11, uncertainty)), natural)

    assert speed.low <= 11 * natural.low
    assert speed.high >= 11 * natural.high
    assert speed.uncertainty >= float(11 * natural.uncertainty) - 1e-12
    if uncertainty:
        assert speed.high - speed.low > 11 * (natural.high - natural.low)


def test_a_seconds_pendulum_of_40_frames_was_taken_at_20() -> None:
    """0.9936 m swings in 2.0000 s: textbook, T = 2 pi sqrt(L / g) with standard gravity.

    A length within 1 % makes a speed within half of that.
    """
    motion = parse_motion("pendulum 0.9936 m within 1 %")
    speed = implied(exactly(Fraction(40)), motion.frequency)

    assert (Law.PENDULUM, "0.9936 m within 1 %", "swing there and back") == (
        motion.law,
        motion.said,
        motion.counted,
    )
    assert float(speed.value) == pytest.approx(20, abs=5e-4)
    assert float(speed.low) == pytest.approx(19.9, abs=0.005)
    assert float(speed.high) == pytest.approx(20.1, abs=0.005)


@pytest.mark.parametrize(
    ("metres", "frames", "fps"), [("1 m", "7.23", 16), ("1 m", "9.03", 20), ("5 m", "24.235", 24)]
)
def test_a_fall_of_so_many_frames_was_taken_at_the_speed_of_galileos_rule(
    metres: str, frames: str, fps: float
) -> None:
    """sqrt(2 h / g): 0.4516 s for 1 m, 1.0098 s for 5 m: textbook."""
    motion = parse_motion(f"fall {metres}")

    speed = implied(exactly(Fraction(frames)), motion.frequency)
    assert float(speed.value) == pytest.approx(fps, rel=1e-3)
    assert motion.falls


def test_a_fall_within_2_per_cent_of_its_height_is_a_speed_within_1() -> None:
    frequency = parse_motion("fall 4.9 m within 2 %").frequency

    assert float(frequency.high / frequency.value) == pytest.approx(1.01, abs=3e-4)


def test_names_are_read_whatever_their_letters_and_blanks() -> None:
    assert WALK == parse_motion("  Walk ")
    assert parse_motion("pendulum of 1 m") == parse_motion("Pendulum  1 m")


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("wlak", "did you mean 'walk'"),
        ("juggling", "known are walk"),
        ("", "no movement is named"),
        ("pendulum", "does not say how long is the pendulum"),
        ("fall", "from how high"),
        ("pendulum 1", "is no distance"),
        ("pendulum 0 m", "is not above 0"),
        ("pendulum -1 m", "is no distance"),
        ("fall 4.9 m within 2", "is no distance"),
        ("fall 4.9 m within 90 %", "so wide that it says nothing"),
        ("walk 3 m", "no movement is named"),
    ],
)
def test_what_cannot_be_read_says_what_would_be_right(text: str, words: str) -> None:
    with pytest.raises(NotationError) as caught:
        parse_motion(text)
    assert words in str(caught.value)


def period(frames: float, half: float, *, confidence: float = 0.7) -> Period:
    others = (
        Other(frames=frames / 2, strength=half, words="half"),
        Other(frames=frames * 2, strength=0.8, words="double"),
    )
    return Period(
        frames=frames,
        uncertainty=0.2,
        strength=0.9,
        confidence=confidence,
        seen=6,
        others=others,
    )


def test_steps_are_counted_where_strides_are_seen() -> None:
    told = counted(period(22, half=0.5), WALK)

    assert isinstance(told, Paced)
    assert (11, 0.1, 12) == (told.frames, told.uncertainty, told.seen)
    assert [22, 44] == [one.frames for one in told.others]


def test_strides_stay_strides_for_a_horse() -> None:
    told = counted(period(13, half=0.5), parse_motion("horse trot"))

    assert isinstance(told, Paced)
    assert 13 == told.frames


def test_a_period_that_no_camera_was_cranked_for_is_halved_or_doubled_and_that_is_said() -> None:
    """As a step, 20 frames would be 36 a second; as a trot's stride, 6 would be 8.4."""
    step = counted(period(20, half=0.1), WALK)
    stride = counted(period(6, half=0.1), parse_motion("horse trot"))

    assert isinstance(step, Paced)
    assert isinstance(stride, Paced)
    assert (10, 12) == (step.frames, stride.frames)
    assert "36.3 fps" in step.notes[0]
    assert "8.4 fps" in stride.notes[0]


def test_what_no_camera_was_cranked_for_is_refused_where_little_is_seen() -> None:
    """60 frames a step would be 109 a second."""
    unlikely, sure = (counted(period(60, half=0, confidence=one), WALK) for one in (0.3, 0.7))

    assert isinstance(unlikely, Unclear)
    assert "109.0 fps" in unlikely.reason
    assert isinstance(sure, Paced)


def test_a_step_that_may_be_a_stride_is_refused_where_little_is_seen() -> None:
    doubtful = period(14, half=0.2, confidence=0.3)

    assert isinstance(counted(doubtful, WALK), Unclear)
    assert isinstance(counted(doubtful, None), Paced)
    assert isinstance(counted(period(14, half=0.05, confidence=0.3), WALK), Paced)
