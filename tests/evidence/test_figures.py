"""A figure is one value or a range, and within what: in its own unit, or as a share."""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING, Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from retime.errors import NotationError
from retime.evidence.families import (
    DISTANCE,
    FREQUENCY,
    LENGTH,
    NUMBER,
    READING,
    SHARE,
    SPEED,
    TIME,
)
from retime.evidence.measures import Measures
from retime.film.gauge import Footage, gauge_named

if TYPE_CHECKING:
    from retime.evidence.families import Family
    from retime.evidence.quantity import Quantity

FILM = Measures(gauge=gauge_named("35mm"), footage=Footage.NOMINAL)


def told(family: Family[Any], text: str, measures: Measures = FILM) -> Quantity:
    return family.comes_to(family.figure(text), measures)


def bounds(figure: Quantity) -> tuple[object, ...]:
    return figure.low, figure.value, figure.high


# a text, and its lowest, middle and highest figure in seconds, worked by hand
TIMES = {
    "95 min within 5 min": (5400, 5700, 6000),
    "95 min within 5 %": (5415, 5700, 5985),
    "95 min within 300 s": (5400, 5700, 6000),
    "1:35:00 within 0:05:00": (5400, 5700, 6000),
    "95 min within 5:00": (5400, 5700, 6000),
    "90..100 min": (5400, 5700, 6000),
    "90 min..100 min": (5400, 5700, 6000),
    "90 .. 100 min": (5400, 5700, 6000),
    "1:30:00..1:40:00": (5400, 5700, 6000),
    "12..14 min": (720, 780, 840),
    "12 s within 0.5%": (Fraction("11.94"), 12, Fraction("12.06")),
    "16:40": (1000, 1000, 1000),
}


@pytest.mark.parametrize("text", TIMES)
def test_a_time_lies_between_its_bounds(text: str) -> None:
    figure = told(TIME, text)

    assert TIMES[text] == bounds(figure)


# a text, and its lowest, middle and highest figure: in frames of 35 mm, 16 to the foot
LENGTHS = {
    "1000 ft": (16000, 16000, 16000),
    "1000 ft within 10 ft": (15840, 16000, 16160),
    "1000 ft within 1 %": (15840, 16000, 16160),
    "990..1010 ft": (15840, 16000, 16160),
    "39+14 within 0+08": (630, 638, 646),
    "39+06..40+06": (630, 638, 646),
    "1234 frames within 20 frames": (1214, 1234, 1254),
    "1234 frames within 2 ft": (1202, 1234, 1266),
    "292 frames within 1 frames": (291, 292, 293),
}


@pytest.mark.parametrize("text", LENGTHS)
def test_a_length_is_told_in_frames(text: str) -> None:
    figure = told(LENGTH, text)

    assert LENGTHS[text] == bounds(figure)


# the same in frames per second; 80 ft/min is 80 x 16 / 60 = 64/3, 13:20 for 1,000 ft 16000/800
SPEEDS = {
    "20 fps within 1 fps": (19, 20, 21),
    "20 within 1": (19, 20, 21),
    "20 fps within 5 %": (19, 20, 21),
    "19..21 fps": (19, 20, 21),
    "75 ft/min within 3.75 ft/min": (19, 20, 21),
    "20 fps within 3.75 ft/min": (19, 20, 21),
    "75..85 ft/min": (20, Fraction(64, 3), Fraction(68, 3)),
    "80 ft/min": (Fraction(64, 3), Fraction(64, 3), Fraction(64, 3)),
    "13:20 /1000ft within 1:20 /1000ft": (Fraction(16000, 880), 20, Fraction(16000, 720)),
    "13:20 /1000ft within 10 %": (Fraction(16000, 880), 20, Fraction(16000, 720)),
    "12:00..14:40 /1000ft": (Fraction(16000, 880), 20, Fraction(16000, 720)),
    "12:00..14:40/1000ft": (Fraction(16000, 880), 20, Fraction(16000, 720)),
    "240/11..260/11 fps": (Fraction(240, 11), Fraction(250, 11), Fraction(260, 11)),
}


@pytest.mark.parametrize("text", SPEEDS)
def test_a_speed_is_told_in_frames_per_second(text: str) -> None:
    figure = told(SPEED, text)

    assert SPEEDS[text] == bounds(figure)


OTHERS = [
    (NUMBER, "12 within 0.5", (Fraction("11.5"), 12, Fraction("12.5"))),
    (NUMBER, "11..13", (11, 12, 13)),
    (SHARE, "0.5..0.7", (Fraction("0.5"), Fraction("0.6"), Fraction("0.7"))),
    (FREQUENCY, "1.8 /s within 0.1 /s", (Fraction("1.7"), Fraction("1.8"), Fraction("1.9"))),
    (FREQUENCY, "1.7..1.9/s", (Fraction("1.7"), Fraction("1.8"), Fraction("1.9"))),
    (FREQUENCY, "108 /min within 6 /min", (Fraction("1.7"), Fraction("1.8"), Fraction("1.9"))),
    (DISTANCE, "4.9 m within 0.1 m", (Fraction("4.8"), Fraction("4.9"), 5)),
    (DISTANCE, "10 ft", (Fraction("3.048"),) * 3),
    (READING, "0.8..1.2 s/word", (Fraction("0.8"), 1, Fraction("1.2"))),
    (READING, "1 s / word within 20 %", (Fraction("0.8"), 1, Fraction("1.2"))),
]


@pytest.mark.parametrize(("family", "text", "expected"), OTHERS)
def test_other_figures_are_told_in_their_unit(
    family: Family[Any], text: str, expected: tuple[Fraction, ...]
) -> None:
    figure = told(family, text)

    assert expected == bounds(figure)


REFUSED = [
    (TIME, "95", "is no time"),
    (TIME, "within 5 min", "is no time"),
    (TIME, "95 min within", "is no time"),
    (TIME, "95 min within 5", "'5' is no time"),
    (TIME, "95 min within 0 min", "is not above 0"),
    (TIME, "95 min within -5 min", "is no time"),
    (TIME, "95 min within 5 fps", "is no time"),
    (TIME, "95 min within 0 %", "is not above 0"),
    (TIME, "95 min within five %", "is no share"),
    (TIME, "90..100 min within 5 min", "is a range, and within something besides"),
    (TIME, "100..90 min", "does not rise"),
    (TIME, "90..90 min", "does not rise"),
    (TIME, "90.. min", "is no time"),
    (TIME, "..100 min", "is no time"),
    (TIME, "90...100 min", "is no time"),
    (TIME, "95 min within 60 min", "is so wide that it says nothing"),
    (TIME, "95 min within 95 min", "is so wide that it says nothing"),
    (TIME, "95 min within 61 %", "is so wide that it says nothing"),
    (TIME, "1..10 min", "is so wide that it says nothing"),
    (LENGTH, "1,234 frames", "is no length"),
    (LENGTH, "1000", "is no length"),
    (LENGTH, "12.5 frames", "has part of a frame"),
    (LENGTH, "39+16", "has 16 frames beyond whole feet"),
    (SPEED, "18 fps -> 22 fps", "is a ramp"),
    (SPEED, "0..20 fps", "is not above 0"),
    (SPEED, "80 ft/min within 0:20 /1000ft", "a speed on one side and a time on the other"),
    (SPEED, "20 fps..12:00 /1000ft", "a speed on one side and a time on the other"),
    (NUMBER, "1e2", "is no number"),
    (NUMBER, "9 frames", "is no number"),
    (FREQUENCY, "2", "does not say how often"),
    (FREQUENCY, "2 /h", "does not say how often"),
    (FREQUENCY, "/s", "does not say how often"),
    (DISTANCE, "5", "is no distance"),
    (DISTANCE, "5 km", "is no distance"),
    (READING, "0.3 s", "is no rule of reading"),
    (READING, "12 /word", "is no rule of reading"),
    (READING, "1 s/letter", "is no rule of reading"),
]


@pytest.mark.parametrize(("family", "text", "words"), REFUSED)
def test_what_says_nothing_or_two_things_is_refused(
    family: Family[Any], text: str, words: str
) -> None:
    with pytest.raises(NotationError, match=words):
        told(family, text)


@pytest.mark.parametrize(
    ("family", "text"), [(LENGTH, "300 m"), (LENGTH, "990 ft..300 m"), (SPEED, "22 m/min")]
)
def test_metres_need_a_convention(family: Family[Any], text: str) -> None:
    """Feet are nominal unless said otherwise; of metres nobody can know it."""
    with pytest.raises(NotationError, match="needs to know how many frames a metre holds"):
        told(family, text, Measures(gauge=gauge_named("35mm")))


def test_metres_go_by_the_convention_that_was_chosen() -> None:
    """2736 m run 100 minutes at 24 frames a second ("Basic principles of projection")."""
    by_pitch = Measures(gauge=gauge_named("35mm"), footage=Footage.PITCH)

    assert 24 * 6000 == told(LENGTH, "2736 m", by_pitch).value
    assert 24 == told(SPEED, "27.36 m/min", by_pitch).value
    assert 24 != told(SPEED, "27.36 m/min").value


def test_a_stated_bound_is_a_rectangle() -> None:
    """Its variance is the half width squared over 3 (JCGM 100:2008, 4.3.7; from memory)."""
    assert Fraction(300**2, 3) == told(TIME, "95 min within 5 min").variance
    assert Fraction(300**2, 3) == told(TIME, "90..100 min").variance
    assert 0 == told(TIME, "95 min").variance


@settings(deadline=None)
@given(
    st.fractions(min_value=1, max_value=999, max_denominator=100),
    st.fractions(min_value=Fraction(1, 100), max_value=Fraction(1, 2), max_denominator=100),
)
def test_a_range_a_tolerance_and_a_share_say_the_same(value: Fraction, share: Fraction) -> None:
    low, high, tolerance = value * (1 - share), value * (1 + share), value * share
    ways = (
        f"{_written(low)}..{_written(high)} s",
        f"{_written(value)} s within {_written(tolerance)} s",
        f"{_written(value)} s within {_written(share * 100)} %",
    )

    assert 1 == len({told(TIME, way) for way in ways})


def _written(number: Fraction) -> str:
    return f"{number.numerator}/{number.denominator}"
