"""Frames marked by hand: the period by least squares, its standard error, and doubtful gaps."""

from __future__ import annotations

from fractions import Fraction
from math import sqrt

import numpy as np
import pytest

from retime.signal.marks import MarkedPeriod, fit_marks
from retime.signal.period import Unclear


def told(*marks: Fraction | float) -> MarkedPeriod:
    found = fit_marks(marks)
    assert isinstance(found, MarkedPeriod), found
    return found


def reason(*marks: float) -> str:
    found = fit_marks(marks)
    assert isinstance(found, Unclear), found
    return found.reason


def test_slope_and_standard_error_are_those_of_a_published_regression() -> None:
    """F. J. Anscombe, "Graphs in Statistical Analysis", 1973: slope 0.500, standard error 0.118.

    The first of its four sets, its x being 4, 5 ... 14; a hundred frames more for each step of x
    make it a walk of marks that rise, and change the slope by 100 and its error not at all.
    """
    heights = [4.26, 5.68, 7.24, 4.82, 6.95, 8.81, 8.04, 8.33, 10.84, 7.58, 9.96]
    found = told(*(100 * x + y for x, y in zip(range(4, 15), heights, strict=True)))

    assert found.period == pytest.approx(100.500, abs=0.0005)
    assert found.standard_error == pytest.approx(0.118, abs=0.0005)
    assert 10 == found.periods


@pytest.mark.parametrize("seed", range(8))
def test_slope_and_standard_error_are_numpys(seed: int) -> None:
    chance = np.random.default_rng(seed)
    places = np.cumsum(chance.integers(1, 3, 9))
    marks = 12.3 * places + chance.normal(0, 0.6, 9)
    found = told(*map(float, marks))

    (slope, _), shared = np.polyfit(places, marks, 1, cov=True)
    assert found.period == pytest.approx(slope)
    assert found.standard_error == pytest.approx(sqrt(shared[0, 0]))


def test_marks_may_leave_periods_out() -> None:
    found = told(0, 11, 22, 44, 55, 88)

    assert found.period == pytest.approx(11)
    assert 8 == found.periods


def test_even_marks_are_not_surer_than_they_can_be_read() -> None:
    """Half a frame either way, a rectangle: JCGM 100:2008, 4.3.7 (from memory)."""
    found = told(0, 9, 18, 27)

    spread = sum((place - 1.5) ** 2 for place in range(4))
    assert found.standard_error == pytest.approx(0.5 / sqrt(3) / sqrt(spread))


def test_two_marks_have_the_error_of_reading_both() -> None:
    found = told(Fraction(289), Fraction(309))

    assert 20 == found.period
    assert found.standard_error == pytest.approx(sqrt(2) * 0.5 / sqrt(3))


def test_fractions_and_floats_are_marks_alike() -> None:
    assert told(12, 21.5, 30) == told(Fraction(12), Fraction(43, 2), Fraction(30))


@pytest.mark.parametrize(
    ("marks", "words"),
    [
        ((0, 10, 25), "between the marks 10 and 25 there may be 1 period or 2"),
        ((0, 10, 20, 47), "between the marks 20 and 47 there may be 2 periods or 3"),
        ((0, 4, 8, 100), "between the marks 8 and 100"),  # how many fours, nobody can tell
        ((5,), "one mark has no distance"),
        ((5, 5), "do not rise"),
        ((5, 9, 7), "do not rise"),
    ],
)
def test_what_is_doubtful_is_refused(marks: tuple[float, ...], words: str) -> None:
    assert words in reason(*marks)


def test_a_long_gap_is_told_where_the_period_is_known_well_enough() -> None:
    assert 20 == told(*range(0, 100, 10), 200).periods
