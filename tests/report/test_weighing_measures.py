"""Figures of a weighing as a person reads them, held against published ones."""

from __future__ import annotations

from fractions import Fraction

import pytest
from weighings import evidence, flicker, instruction, legibility, viewing

from retime.evidence.model import Measure, Yardstick
from retime.evidence.quantity import around, exactly
from retime.film.speed import Speed
from retime.report.weighing_measures import (
    bounds_said,
    cells_of,
    factor_said,
    figure_said,
    joined,
    lengths_said,
    ranges_said,
    span_said,
    speed,
    time_said,
)

TIMES = {
    Fraction(15, 2): "7.5 s",
    Fraction("59.96"): "1:00.0",
    Fraction(495, 2): "4:07.5",
    Fraction("599.99"): "10:00.0",
    Fraction(12000, 17): "11:46",
    Fraction("3599.7"): "1:00:00",
    Fraction(5700): "1:35:00",
}


@pytest.mark.parametrize("seconds", TIMES, ids=float)
def test_a_time_is_told_as_a_clock_tells_it(seconds: Fraction) -> None:
    assert TIMES[seconds] == time_said(seconds)


# 1,000 ft are 16 min 40 s at 16 fps and 11 min 6 2/3 s at 24: James Card, "Silent Film Speed"
# (1955). 60 and 90 ft a minute are 16 and 24 fps: Filmfuss, German Wikipedia. 48 flashes a second
# from three blades at 16 fps and two at 24: Pickfair Institute. Two turns of eight frames: common
# practice.
PUBLISHED = {
    (Measure.TIME, Fraction(16_000), True, 16): "16:40",
    (Measure.TIME, Fraction(16_000), True, 24): "11:07",
    (Measure.FEET_PER_MINUTE, Fraction(60, 16), False, 16): "60 ft/min",
    (Measure.FEET_PER_MINUTE, Fraction(60, 16), False, 24): "90 ft/min",
    (Measure.FLASHES, Fraction(3), False, 16): "48 flashes/s",
    (Measure.FLASHES, Fraction(2), False, 24): "48 flashes/s",
    (Measure.TURNS, Fraction(1, 8), False, 16): "2 turns/s",
}


@pytest.mark.parametrize("case", PUBLISHED, ids=str)
def test_what_should_have_been_said_is_what_is_published(
    case: tuple[Measure, Fraction, bool, int],
) -> None:
    measure, factor, inverse, fps = case
    yardstick = Yardstick(measure=measure, factor=factor, inverse=inverse)

    assert PUBLISHED[case] == figure_said(yardstick, Speed(Fraction(fps)))


def test_a_candidate_fits_where_what_is_stated_allows_it() -> None:
    (letter,) = instruction().implied  # 76 to 84 ft a minute, 20.27 to 22.4 fps
    speeds = [Speed(Fraction(fps)) for fps in (20, 21, 22, 23)]

    assert [False, True, True, False] == [one.fits for one in cells_of(letter, speeds)]


def test_what_is_stated_allows_its_own_bounds() -> None:
    (said,) = viewing().implied  # 20 fps within 1
    speeds = [Speed(Fraction(fps)) for fps in ("18.999", "19", "21", "21.001")]

    assert [False, True, True, False] == [one.fits for one in cells_of(said, speeds)]


def test_a_limit_fits_everything_on_its_open_side() -> None:
    (title,), (shutter,) = legibility().implied, flicker().implied  # <= 21.5, >= 15
    speeds = [Speed(Fraction(fps)) for fps in (13, 20, 24)]

    assert [True, True, False] == [one.fits for one in cells_of(title, speeds)]
    assert [False, True, True] == [one.fits for one in cells_of(shutter, speeds)]
    assert ("open", "<= 20.00", "21.50") == bounds_said(title)
    assert ("15.00", ">= 16.00", "open") == bounds_said(shutter)


FACTORS = {1.0: "1.0", 9.94: "9.9", 9.97: "10", 13.4: "13", 149.0: "150", 258_170.0: "260,000"}


@pytest.mark.parametrize("factor", FACTORS)
def test_a_factor_is_told_to_two_figures(factor: float) -> None:
    assert FACTORS[factor] == factor_said(factor)


def test_an_enormous_factor_is_told_as_a_bound() -> None:
    assert "more than 1,000,000" == factor_said(1e300)


def test_missing_footage_is_told_in_metres_and_feet_by_the_film_s_own_gauge() -> None:
    # 16 frames to the foot, 0.3048 m: 1,600 frames are 100 ft.
    missing = around(Fraction(1_600), Fraction(160))

    assert "30 ± 3 m (100 ± 10 ft)" == lengths_said(evidence(instruction()), missing)


def test_a_short_length_is_told_to_a_decimal() -> None:
    assert "0.3 ± 0.0 m (1.0 ± 0.0 ft)" == lengths_said(
        evidence(instruction()), exactly(Fraction(16))
    )


def test_other_figures_are_told_as_people_write_them() -> None:
    assert ["20", "22.5", "21.33"] == [
        speed(Speed(Fraction(fps))) for fps in (Fraction(20), Fraction(45, 2), Fraction(64, 3))
    ]
    assert "19.2 to 20.8, or 23.1 to 23.4 fps" == ranges_said(((19.2, 20.8), (23.1, 23.4)))
    assert ["1.5 s", "40 s", "1 min", "5 min 9 s"] == [
        span_said(Fraction(seconds)) for seconds in ("1.5", "40", "59.8", "308.6")
    ]
    assert ["a", "a or b", "a, b or c"] == [joined(["a", "b", "c"][:n], "or") for n in (1, 2, 3)]
