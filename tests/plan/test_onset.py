"""Starts of thousands of digits are placed on the grid exactly as by their full terms."""

from __future__ import annotations

from fractions import Fraction
from math import ceil, floor

from hypothesis import given, settings
from hypothesis import strategies as st

from retime.plan.onset import lag_of, nearly, onset_of

GRIDS = [Fraction(24), Fraction(25), Fraction(50), Fraction(60), Fraction(60000, 1001)]
LONG = 3**400
grids = st.sampled_from(GRIDS)
# Anywhere in an hour and a half, and less than the 80th binary place from a pulse's centre.
anywhere = st.integers(0, 5400 * LONG).map(lambda top: Fraction(top, LONG))


@st.composite
def on_a_centre(draw: st.DrawFn) -> Fraction:
    grid, pulse = draw(grids), draw(st.integers(0, 300_000))
    hair = Fraction(draw(st.sampled_from([-1, 0, 1])), LONG)
    return max(Fraction(0), (pulse + Fraction(1, 2)) / grid + hair)


@settings(max_examples=400, deadline=None)
@given(anywhere | on_a_centre(), grids, st.integers(1, 10**9))
def test_pulse_and_phase_are_those_of_the_full_terms(
    start: Fraction, grid: Fraction, step: int
) -> None:
    onset = onset_of(start, nearly(start), grid)
    pulse = ceil(start * grid - Fraction(1, 2))

    assert pulse == onset.pulse
    assert floor((pulse + Fraction(1, 2) - start * grid) * step) == onset.phase(step)
    lag = lag_of(7, start, nearly(start), grid)
    assert abs(lag - float(7 - start * grid)) < 1e-9


def test_only_long_starts_are_put_between_short_ones() -> None:
    assert nearly(Fraction(1, 3)) is None
    long = Fraction(1, 3) + Fraction(1, LONG)
    assert floor(long * 2**80) == nearly(long)
