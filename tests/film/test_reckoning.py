from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from retime.errors import CommandError, NotationError
from retime.film.gauge import Footage, frames_per_foot, frames_per_metre, gauge_named
from retime.film.length import parse_length
from retime.film.notation import parse_speed, parse_time
from retime.film.reckoning import Question, Reckoned, answer, answer_by_other, convention, other
from retime.film.speed import Speed

FRAMES, FPS, SECONDS = Fraction(16_000), Fraction(20), Fraction(800)
THREE = Reckoned(frames=FRAMES, speed=Speed(FPS), runtime=SECONDS)


def question(
    *,
    length: str | None = None,
    speed: str | None = None,
    runtime: str | None = None,
    gauge: str | None = "35mm",
    footage: Footage | None = None,
) -> Question:
    return Question(
        length=None if length is None else parse_length(length),
        speed=None if speed is None else parse_speed(speed),
        runtime=None if runtime is None else parse_time(runtime),
        gauge=None if gauge is None else gauge_named(gauge),
        footage=footage,
    )


@pytest.mark.parametrize(
    "asked",
    [
        question(length="1000 ft", speed="75 ft/min"),
        question(length="1000 ft", runtime="13:20"),
        question(speed="20 fps", runtime="13:20"),
        question(length="16000 frames", runtime="13:20", gauge=None),
        question(length="400 ft", speed="20", gauge="16mm"),
    ],
)
def test_two_of_length_speed_and_runtime_give_the_third(asked: Question) -> None:
    assert THREE == answer(asked, Footage.NOMINAL)


@settings(deadline=None)
@given(st.integers(1, 10**6), st.fractions(min_value=8, max_value=40, max_denominator=1000))
def test_each_of_the_three_comes_back_from_the_other_two(frames: int, fps: Fraction) -> None:
    length, speed = parse_length(f"{frames} frames"), parse_speed(str(fps))

    found = answer(Question(length=length, speed=speed), Footage.NOMINAL)

    by_time = answer(Question(length=length, runtime=found.runtime), Footage.NOMINAL)
    by_speed = answer(Question(speed=speed, runtime=found.runtime), Footage.NOMINAL)
    assert found == by_time == by_speed


@pytest.mark.parametrize(
    "asked",
    [
        question(),
        question(length="1000 ft"),
        question(speed="20"),
        question(runtime="13:20"),
        question(length="1000 ft", speed="20", runtime="13:20"),
    ],
)
def test_one_or_three_of_them_are_refused(asked: Question) -> None:
    with pytest.raises(CommandError, match="two of length, speed and runtime") as caught:
        answer(asked, Footage.NOMINAL)

    assert "exactly two" in caught.value.hint


@pytest.mark.parametrize(
    "asked",
    [
        question(length="1000 ft", speed="20", gauge=None),
        question(length="300 m", speed="20", gauge=None),
        question(length="39+14", speed="20", gauge=None),
        question(runtime="13:20", speed="75 ft/min", gauge=None),
        question(runtime="13:20", speed="22.86 m/min", gauge=None),
        question(runtime="13:20", speed="13:20 /1000ft", gauge=None),
    ],
)
def test_the_gauge_is_asked_for_where_feet_or_metres_are_given(asked: Question) -> None:
    with pytest.raises(CommandError, match="needs to know the gauge") as caught:
        answer(asked, Footage.NOMINAL)

    assert "--gauge 35mm" in caught.value.hint


def test_feet_are_taken_by_convention_unless_pitch_is_said() -> None:
    assert Footage.NOMINAL == convention(question(length="1000 ft", speed="20"))
    assert Footage.PITCH == convention(
        question(length="1000 ft", speed="20", footage=Footage.PITCH)
    )


@pytest.mark.parametrize(
    ("length", "speed"), [("300 m", "20"), ("16000 frames", "22.86 m/min"), ("300 m", "75 ft/min")]
)
def test_metres_must_choose_their_convention(length: str, speed: str) -> None:
    with pytest.raises(CommandError, match="metres need to know") as caught:
        convention(question(length=length, speed=speed))

    assert "--footage pitch" in caught.value.hint
    assert Footage.NOMINAL == convention(
        question(length=length, speed=speed, footage=Footage.NOMINAL)
    )


def test_each_convention_is_the_other_of_the_other() -> None:
    assert [Footage.PITCH, Footage.NOMINAL] == [other(Footage.NOMINAL), other(Footage.PITCH)]


# "Basic principles of projection", aj69.tripod.com: 2,736 m of 35 mm are 100 min at 24 fps; that
# by 16 frames to the foot it is 15.8 s less is arithmetic.
def test_2736_metres_are_100_minutes_by_pitch_and_less_by_convention() -> None:
    asked = question(length="2736 m", speed="24", footage=Footage.PITCH)

    found = answer_by_other(asked, Footage.PITCH)

    assert 6000 == answer(asked, Footage.PITCH).runtime
    assert found is not None
    assert Fraction("15.7") < 6000 - found.runtime < Fraction("15.8")


def test_a_length_at_a_footage_speed_runs_the_same_by_either_convention() -> None:
    asked = question(length="1000 ft", speed="75 ft/min")

    found = answer_by_other(asked, Footage.NOMINAL)

    assert found is not None
    assert answer(asked, Footage.NOMINAL).runtime == found.runtime
    assert answer(asked, Footage.NOMINAL).speed != found.speed


def test_a_runtime_at_a_footage_speed_is_a_length_whatever_the_convention() -> None:
    asked = question(speed="90 ft/min", runtime="100 min")

    for footage in Footage:
        frames = answer(asked, footage).frames
        assert 9000 == frames / frames_per_foot(gauge_named("35mm"), footage)


def test_metres_come_back_as_metres_by_the_same_convention() -> None:
    asked = question(length="304.8 m", speed="20", footage=Footage.PITCH)

    found = answer(asked, Footage.PITCH)

    per_metre = frames_per_metre(gauge_named("35mm"), Footage.PITCH)
    assert Fraction("304.8") == found.frames / per_metre


def test_feet_and_frames_that_exist_by_pitch_alone_have_no_other_answer() -> None:
    """By pitch, frames 0 to 16 begin in the first foot of 35 mm."""
    asked = question(length="0+16", speed="16", footage=Footage.PITCH)

    assert 16 == answer(asked, Footage.PITCH).frames
    assert answer_by_other(asked, Footage.PITCH) is None
    with pytest.raises(NotationError, match="16 frames beyond whole feet"):
        answer(asked, Footage.NOMINAL)


@pytest.mark.parametrize(
    ("length", "speed", "by"),
    [
        ("16000 frames", "20", ""),
        ("1000 ft", "20", "feet"),
        ("39+14", "20", "feet"),
        ("300 m", "20", "metres"),
        ("16000 frames", "75 ft/min", "feet"),
        ("16000 frames", "13:20 /1000ft", "feet"),
        ("16000 frames", "22.86 m/min", "metres"),
    ],
)
def test_a_question_knows_whether_it_is_measured_in_feet_or_metres(
    length: str, speed: str, by: str
) -> None:
    asked = question(length=length, speed=speed)

    assert (by != "", by == "metres") == (asked.by_length, asked.by_metres)
