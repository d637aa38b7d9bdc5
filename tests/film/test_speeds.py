"""Speeds, rates and ramps as values."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from retime.film.speed import Ramp, Rate, Speed

FPS = st.fractions(min_value=Fraction(1, 10), max_value=200, max_denominator=10**6)
SPEEDS = FPS.map(Speed)


def test_a_speed_and_a_rate_of_the_same_number_are_not_the_same() -> None:
    speed: object = Speed(Fraction(24))
    rate: object = Rate(Fraction(24))

    assert speed != rate


def test_a_speed_cannot_be_put_in_order_with_a_rate() -> None:
    with pytest.raises(TypeError):
        _ = Speed(Fraction(20)) < Rate(Fraction(24))  # type: ignore[operator]


def test_speeds_and_rates_have_an_order_and_do_not_change() -> None:
    assert Speed(Fraction(16)) < Speed(Fraction(200, 11)) < Speed(Fraction(20))
    assert Rate(Fraction(24000, 1001)) < Rate(Fraction(24))
    with pytest.raises(AttributeError):
        Speed(Fraction(16)).fps = Fraction(18)  # type: ignore[misc]


@pytest.mark.parametrize("kind", [Speed, Rate])
@pytest.mark.parametrize("fps", [Fraction(0), Fraction(-1, 2)])
def test_nothing_runs_at_zero_or_backwards(kind: type[Speed | Rate], fps: Fraction) -> None:
    with pytest.raises(ValueError, match="above 0"):
        kind(fps)


@settings(deadline=None)
@given(SPEEDS)
def test_a_frame_lasts_the_inverse_of_its_speed(speed: Speed) -> None:
    assert 1 == speed.fps * speed.duration


@pytest.mark.parametrize(
    ("fps", "expected"), [(Fraction(24000, 1001), "24000/1001"), (Fraction(24), "24")]
)
def test_a_speed_or_rate_is_told_as_an_exact_fraction(fps: Fraction, expected: str) -> None:
    assert expected == str(Rate(fps)) == str(Speed(fps))


@settings(deadline=None)
@given(st.integers(1, 1000))
def test_the_nominal_rate_of_n_times_1000_over_1001_is_n(whole: int) -> None:
    rate = Rate(Fraction(whole * 1000, 1001))

    assert rate.is_fractional
    assert Rate(Fraction(whole)) == rate.nominal


@settings(deadline=None)
@given(FPS)
def test_any_other_rate_is_its_own_nominal_rate(fps: Fraction) -> None:
    rate = Rate(fps)

    assert rate.is_fractional or rate == rate.nominal
    assert rate.nominal == rate.nominal.nominal


@pytest.mark.parametrize("fps", ["2997/125", "2997/100", "18", "200/11", "240/11", "1000", "1001"])
def test_whole_rates_and_decimals_close_to_a_fractional_one_are_not_fractional(fps: str) -> None:
    assert not Rate(Fraction(fps)).is_fractional


@settings(deadline=None)
@given(SPEEDS, SPEEDS, st.integers(1, 60), st.data())
def test_a_ramp_s_elapsed_time_is_the_sum_of_its_durations(
    first: Speed, last: Speed, count: int, data: st.DataObject
) -> None:
    ramp = Ramp(first, last)
    i = data.draw(st.integers(0, count))

    assert sum((ramp.duration(n, count) for n in range(i)), Fraction(0)) == ramp.elapsed(i, count)


@settings(deadline=None)
@given(SPEEDS, SPEEDS, st.integers(2, 1000))
def test_a_ramp_begins_and_ends_at_its_speeds_and_takes_their_mean_duration(
    first: Speed, last: Speed, count: int
) -> None:
    ramp = Ramp(first, last)

    assert first.duration == ramp.duration(0, count)
    assert last.duration == ramp.duration(count - 1, count)
    assert count * (first.duration + last.duration) / 2 == ramp.elapsed(count, count)


@settings(deadline=None)
@given(SPEEDS, SPEEDS)
def test_a_ramp_over_one_frame_lasts_as_its_first_speed_says(first: Speed, last: Speed) -> None:
    assert first.duration == Ramp(first, last).duration(0, 1) == Ramp(first, last).elapsed(1, 1)


@settings(deadline=None)
@given(SPEEDS, st.integers(1, 60))
def test_a_ramp_between_equal_speeds_is_that_speed(speed: Speed, count: int) -> None:
    assert count / speed.fps == Ramp(speed, speed).elapsed(count, count)


def test_a_ramp_changes_durations_evenly_and_not_speeds() -> None:
    durations = [Ramp(Speed(Fraction(10)), Speed(Fraction(20))).duration(i, 6) for i in range(6)]

    assert [Fraction(n, 100) for n in (10, 9, 8, 7, 6, 5)] == durations


def test_a_ramp_is_told_as_a_map_writes_it() -> None:
    assert "18 fps -> 22 fps" == str(Ramp(Speed(Fraction(18)), Speed(Fraction(22))))
