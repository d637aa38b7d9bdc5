from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from retime.film.rounding import ceiling_of, floor_of, half_up

NUMBERS = st.fractions(min_value=-(10**6), max_value=10**6, max_denominator=10**6)


@pytest.mark.parametrize(
    ("x", "expected"),
    [("0", 0), ("1/2", 1), ("3/2", 2), ("5/2", 3), ("-1/2", 0), ("-3/2", -1), ("49/100", 0)],
)
def test_a_half_goes_up_below_zero_too(x: str, expected: int) -> None:
    assert expected == half_up(Fraction(x))


@settings(deadline=None)
@given(NUMBERS)
def test_half_up_is_the_nearest_whole_number_and_the_upper_of_two(x: Fraction) -> None:
    assert -Fraction(1, 2) < half_up(x) - x <= Fraction(1, 2)


@settings(deadline=None)
@given(NUMBERS, st.integers(-(10**9), 10**9))
def test_half_up_moves_with_whole_numbers_and_keeps_them(x: Fraction, whole: int) -> None:
    assert half_up(x) + whole == half_up(x + whole)
    assert whole == half_up(Fraction(whole))


@settings(deadline=None)
@given(NUMBERS, NUMBERS)
def test_half_up_keeps_the_order_of_numbers(x: Fraction, y: Fraction) -> None:
    assert half_up(min(x, y)) <= half_up(max(x, y))


@settings(deadline=None)
@given(NUMBERS)
def test_floor_and_ceiling_close_a_number_in(x: Fraction) -> None:
    assert floor_of(x) <= x < floor_of(x) + 1
    assert ceiling_of(x) - 1 < x <= ceiling_of(x)


def test_a_number_of_many_digits_is_rounded_without_loss() -> None:
    huge = 10**400

    assert huge == half_up(huge + Fraction(1, 2) - Fraction(1, 10**900))
    assert huge + 1 == half_up(huge + Fraction(1, 2))
