from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from retime.film.clock import clock
from retime.film.notation import parse_time
from retime.film.rounding import half_up


@pytest.mark.parametrize(
    ("seconds", "expected"),
    [
        ("0", "0:00:00.000"),
        ("108", "0:01:48.000"),
        ("59.9994", "0:00:59.999"),
        ("59.9995", "0:01:00.000"),
        ("3599.9995", "1:00:00.000"),
        ("5832.5", "1:37:12.500"),
        ("360000", "100:00:00.000"),
        ("-0.016667", "-0:00:00.017"),
        ("-61.5", "-0:01:01.500"),
    ],
)
def test_a_clock_tells_hours_minutes_seconds_and_milliseconds(seconds: str, expected: str) -> None:
    assert expected == clock(Fraction(seconds))


@pytest.mark.parametrize("seconds", ["-0.0001", "-0.0005"])
def test_nothing_is_not_told_as_less_than_nothing(seconds: str) -> None:
    assert "0:00:00.000" == clock(Fraction(seconds))


@settings(deadline=None)
@given(st.fractions(min_value=Fraction(1, 2000), max_value=10**6))
def test_what_a_clock_tells_is_read_back_to_the_nearest_millisecond(seconds: Fraction) -> None:
    assert Fraction(half_up(seconds * 1000), 1000) == parse_time(clock(seconds))
