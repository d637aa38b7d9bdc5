"""Figures with bounds and uncertainties: published examples, drawn figures, and what must hold."""

from __future__ import annotations

from fractions import Fraction
from math import sqrt
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from retime.evidence.quantity import Quantity, around, between, exactly, spread, within

if TYPE_CHECKING:
    from collections.abc import Callable


def figure(value: str, tolerance: str) -> Quantity:
    return within(Fraction(value), Fraction(tolerance))


def test_a_bound_of_which_nothing_more_is_known_is_a_rectangle() -> None:
    """The Guide, 4.3.7, example 1, from memory: the expansion of copper, "should not exceed"."""
    copper = figure("16.52e-6", "0.40e-6")

    assert 53.3e-15 == pytest.approx(float(copper.variance), abs=0.05e-15)
    assert 0.23e-6 == pytest.approx(copper.uncertainty, abs=0.005e-6)
    assert (Fraction("16.12e-6"), Fraction("16.92e-6")) == (copper.low, copper.high)
    assert copper == between(Fraction("16.12e-6"), Fraction("16.92e-6"))


def test_the_variances_of_a_sum_add() -> None:
    """The Guide, 4.3.7, example 2, and 5.1.5, from memory: a voltmeter's reading and its bias."""
    reading = spread(Fraction("0.928571"), Fraction("12e-6"))
    bias = figure("0", "15e-6")  # 14 in a million of the reading and 2 in a million of the range
    voltage = reading + bias

    assert 8.7e-6 == pytest.approx(bias.uncertainty, abs=0.05e-6)
    assert 219e-12 == pytest.approx(float(voltage.variance), abs=0.5e-12)
    assert 15e-6 == pytest.approx(voltage.uncertainty, abs=0.5e-6)
    assert 16e-6 == pytest.approx(voltage.relative, abs=0.5e-6)


def test_a_length_out_of_many_figures_is_as_uncertain_as_the_published_one() -> None:
    """The Guide, H.1, from memory: the calibration of an end gauge, in nm."""
    standard = spread(Fraction(50_000_623), Fraction(25))
    # Of the comparator: what repeats, what is random, what is systematic.
    measured = spread(Fraction(215), Fraction("5.8")) + spread(Fraction(0), Fraction("3.9"))
    measured += spread(Fraction(0), Fraction("6.7"))
    expansion, warmth = figure("0", "1e-6"), figure("0", "0.05")
    # 50 mm times what differs in expansion, 0.1 degrees away; times 11.5 in a million a degree.
    by_expansion = spread(Fraction(0), Fraction(expansion.uncertainty) * 5_000_000)
    by_warmth = spread(Fraction(0), Fraction(warmth.uncertainty) * 575)
    length = standard + measured - by_expansion - by_warmth

    assert 0.58e-6 == pytest.approx(expansion.uncertainty, abs=0.005e-6)
    assert 0.029 == pytest.approx(warmth.uncertainty, abs=0.0005)
    assert 9.7 == pytest.approx(measured.uncertainty, abs=0.05)
    assert 2.9 == pytest.approx(by_expansion.uncertainty, abs=0.05)
    assert 16.6 == pytest.approx(by_warmth.uncertainty, abs=0.05)
    assert 50_000_838 == length.value
    assert 32 == pytest.approx(length.uncertainty, abs=0.5)


def test_the_relative_variances_of_a_product_and_of_a_quotient_add() -> None:
    """The Guide, 5.1.6, from memory; 3 % and 4 % make 5 %."""
    first, second = spread(Fraction(200), Fraction(6)), spread(Fraction(50), Fraction(2))

    assert (Fraction(10_000), Fraction(500) ** 2) == (
        (first * second).value,
        (first * second).variance,
    )
    assert (Fraction(4), Fraction(1, 5) ** 2) == ((first / second).value, (first / second).variance)


class Case(NamedTuple):
    """Figures with their tolerances, and what is made of them."""

    figures: tuple[tuple[float, float], ...]
    made: Callable[..., Quantity]
    drawn: Callable[..., np.ndarray]


CASES = {
    # A print's frames over its minutes, less an interval.
    "speed": Case(
        ((96_000, 1500), (5400, 150), (600, 120)),
        lambda frames, lasted, interval: frames / (lasted - interval),
        lambda frames, lasted, interval: frames / (lasted - interval),
    ),
    # A cranked camera: turns a second times frames a turn; and a length in feet.
    "turns": Case(((2.2, 0.1), (8, 0.4)), lambda a, b: a * b, lambda a, b: a * b),
    "feet": Case(
        ((6000, 60), (80, 4)),
        lambda feet, rate: (feet / rate).times(Fraction(60)),
        lambda feet, rate: feet / rate * 60,
    ),
    # What a section of a score says is missing.
    "missing": Case(
        ((20, 0.4), (300, 9), (4000, 20)),
        lambda speed, seconds, frames: speed * seconds - frames,
        lambda speed, seconds, frames: speed * seconds - frames,
    ),
}


@pytest.mark.parametrize("case", CASES.values(), ids=CASES)
def test_what_is_made_of_figures_spreads_as_draws_out_of_their_rectangles_do(case: Case) -> None:
    dice = np.random.default_rng(1908)
    made = case.made(*(within(Fraction(a), Fraction(by)) for a, by in case.figures))
    drawn = case.drawn(*(a + by * dice.uniform(-1, 1, 400_000) for a, by in case.figures))

    # Propagation is to the first order: what the second adds is some thousandths here.
    assert drawn.std() == pytest.approx(made.uncertainty, rel=0.01)
    assert drawn.mean() == pytest.approx(float(made.value), abs=made.uncertainty / 20)
    assert made.low <= drawn.min()
    assert drawn.max() <= made.high
    # And the bounds are no wider than they have to be: every corner is met.
    corners = np.meshgrid(*([a - by, a + by] for a, by in case.figures))
    assert float(made.low) == pytest.approx(case.drawn(*corners).min())
    assert float(made.high) == pytest.approx(case.drawn(*corners).max())


def test_a_figure_told_with_its_uncertainty_has_the_bounds_of_a_rectangle_with_it() -> None:
    told = around(Fraction(20), Fraction(1, 2))

    assert Fraction(1, 4) == told.variance
    assert 20 + sqrt(3) / 2 == pytest.approx(float(told.high))
    assert 0.5 == pytest.approx(between(told.low, told.high).uncertainty)


SHARES = st.fractions(min_value=0, max_value=1, max_denominator=1000)


class Drawn(NamedTuple):
    """A figure, and what it truly is: anything within its bounds."""

    figure: Quantity
    true: Fraction


@st.composite
def drawn(draw: st.DrawFn, *, lowest: int) -> Drawn:
    parts = st.fractions(min_value=0, max_value=1000, max_denominator=1000)
    low = draw(st.fractions(min_value=lowest, max_value=1000, max_denominator=1000))
    value = low + draw(parts)
    high = value + draw(parts)
    told = Quantity(value=value, low=low, high=high, variance=draw(parts))
    return Drawn(told, low + (high - low) * draw(SHARES))


def encloses(made: Quantity, true: Fraction) -> bool:
    return made.low <= made.value <= made.high and made.low <= true <= made.high


@settings(deadline=None)
@given(drawn(lowest=-1000), drawn(lowest=-1000))
def test_sums_and_differences_enclose_what_is_true(first: Drawn, second: Drawn) -> None:
    assert encloses(first.figure + second.figure, first.true + second.true)
    assert encloses(first.figure - second.figure, first.true - second.true)
    assert encloses(-first.figure, -first.true)
    assert first.figure.value - second.figure.value == (first.figure - second.figure).value


@settings(deadline=None)
@given(drawn(lowest=0), drawn(lowest=0), st.fractions(min_value=Fraction(1, 99), max_value=99))
def test_products_enclose_what_is_true(first: Drawn, second: Drawn, factor: Fraction) -> None:
    assert encloses(first.figure * second.figure, first.true * second.true)
    assert encloses(first.figure.times(factor), first.true * factor)
    assert first.figure.uncertainty * float(factor) == pytest.approx(
        first.figure.times(factor).uncertainty
    )


@settings(deadline=None)
@given(drawn(lowest=0), drawn(lowest=1))
def test_quotients_enclose_what_is_true(first: Drawn, second: Drawn) -> None:
    assert encloses(second.figure.inverse(), 1 / second.true)
    assert encloses(first.figure / second.figure, first.true / second.true)
    assert first.figure.value / second.figure.value == (first.figure / second.figure).value


@settings(deadline=None)
@given(drawn(lowest=-1000))
def test_what_is_exact_adds_no_uncertainty(one: Drawn) -> None:
    moved = one.figure + exactly(Fraction(7))

    assert one.figure.variance == moved.variance
    assert one.figure.high - one.figure.low == moved.high - moved.low


def test_a_value_outside_its_bounds_is_refused() -> None:
    with pytest.raises(ValueError, match="25 is not within 18 to 24"):
        Quantity(value=Fraction(25), low=Fraction(18), high=Fraction(24), variance=Fraction(0))


def test_there_is_no_product_of_what_may_be_below_0_and_no_inverse_of_what_may_be_0() -> None:
    below, at_least_0 = figure("1", "2"), figure("1", "1")

    for first, second in ((below, at_least_0), (at_least_0, below)):
        with pytest.raises(ValueError, match="has no product"):
            _ = first * second
    for figure_of_0 in (below, at_least_0):
        with pytest.raises(ValueError, match="may be"):
            figure_of_0.inverse()
