from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from retime.errors import NotationError
from retime.film.gauge import GAUGES, Footage, frames_per_foot, gauge_named
from retime.film.length import LengthUnit, SpokenLength, feet_and_frames, parse_length

if TYPE_CHECKING:
    from retime.film.gauge import Gauge

G35, G16 = gauge_named("35mm"), gauge_named("16mm")


def nominal(text: str, gauge: str) -> Fraction:
    return parse_length(text).frames(gauge_named(gauge), Footage.NOMINAL)


@pytest.mark.parametrize(
    ("text", "amount", "unit"),
    [
        ("1000 ft", "1000", LengthUnit.FEET),
        ("83.95ft", "83.95", LengthUnit.FEET),
        ("300 m", "300", LengthUnit.METRES),
        (" 2736.5 m ", "2736.5", LengthUnit.METRES),
        ("16000 fr", "16000", LengthUnit.FRAMES),
        ("16000 frames", "16000", LengthUnit.FRAMES),
    ],
)
def test_a_length_is_read_as_it_is_written(text: str, amount: str, unit: LengthUnit) -> None:
    expected = SpokenLength(amount=Fraction(amount), unit=unit, text=text.strip())

    assert expected == parse_length(text)


@pytest.mark.parametrize("text", ["39+14", "39 + 14", "39+14 ft"])
def test_feet_and_frames_are_read_in_two_parts(text: str) -> None:
    length = parse_length(text)

    assert (Fraction(39), 14) == (length.amount, length.frames_over)
    assert LengthUnit.FEET_AND_FRAMES == length.unit


# Notes of the New York University Film History blog, "Notes about LOC XML files", 7 Oct 2017:
# The Black Viper (1908), 730 ft of paper roll copied to 292 ft of 16 mm.
def test_730_feet_of_35_mm_are_292_feet_of_16_mm() -> None:
    assert 11_680 == nominal("730 ft", "35mm") == nominal("292 ft", "16mm")


# "Film and audio conversion formulas", after M. Lustig and I. Oshman.
def test_the_length_of_16_mm_is_four_tenths_of_that_of_35_mm() -> None:
    assert nominal("90 ft", "35mm") == nominal("36 ft", "16mm")


# "Film and audio conversion formulas", after M. Lustig and I. Oshman.
def test_feet_and_frames_add_up_across_the_foot() -> None:
    total = nominal("39+14", "35mm") + nominal("1769+07", "35mm")

    assert nominal("1809+05", "35mm") == total
    assert "1809+05" == feet_and_frames(int(total), Fraction(16))


# "Film and audio conversion formulas", after M. Lustig and I. Oshman.
def test_a_frame_is_a_sixteenth_of_a_foot_in_35_mm_and_a_fortieth_in_16_mm() -> None:
    assert 1 == nominal("0.0625 ft", "35mm") == nominal("0+01", "35mm")
    assert 1 == nominal("0.025 ft", "16mm") == nominal("0+01", "16mm")


# "Film and audio conversion formulas", after M. Lustig and I. Oshman.
def test_83_feet_38_of_16_mm_are_209_feet_14_of_35_mm() -> None:
    assert 3358 == nominal("83+38", "16mm") == nominal("83.95 ft", "16mm")
    assert 3358 == nominal("209+14", "35mm") == nominal("209.875 ft", "35mm")
    assert "209+14" == feet_and_frames(3358, Fraction(16))
    assert "83+38" == feet_and_frames(3358, Fraction(40))


# F. H. Richardson's Bluebook of Projection (1935), p. 198: a motor cue 12 ft 6 frames before the
# end at 90 ft/min comes "about 8 seconds" before it; exactly 198 frames at 24, 8.25 s.
def test_a_motor_cue_of_12_feet_6_comes_8_and_a_quarter_seconds_before_the_end() -> None:
    assert Fraction("8.25") == nominal("12+06", "35mm") / 24


# "Basic principles of projection", aj69.tripod.com: a metre of 35 mm is almost 53 frames, 2.2 s;
# 2,736 m are 100 min at 24 fps. Metres go by pitch there.
def test_a_metre_of_35_mm_is_almost_53_frames_and_2736_metres_are_100_minutes() -> None:
    metre = parse_length("1 m").frames(G35, Footage.PITCH)

    assert Fraction("52.6") < metre < 53
    assert Fraction("2.15") < metre / 24 < Fraction("2.25")
    assert 144_000 == parse_length("2736 m").frames(G35, Footage.PITCH)


def test_a_length_in_frames_needs_no_gauge_and_the_others_do() -> None:
    assert 16_000 == parse_length("16000 frames").frames(None, Footage.NOMINAL)
    for text in ("1000 ft", "39+14", "300 m"):
        with pytest.raises(NotationError, match="needs to know the gauge") as caught:
            parse_length(text).frames(None, Footage.NOMINAL)
        assert "35mm" in caught.value.hint


def test_frames_beyond_whole_feet_are_fewer_than_a_foot_holds() -> None:
    assert 655 == nominal("40+15", "35mm")
    with pytest.raises(NotationError, match=r"'40\+16' has 16 frames beyond whole feet") as caught:
        nominal("40+16", "35mm")
    assert "that foot of 35mm holds 16" in caught.value.hint
    assert 1616 == nominal("40+16", "16mm")


def test_a_foot_that_holds_no_whole_number_of_frames_begins_with_its_first_whole_one() -> None:
    """64 frames are three feet of 35 mm with three perforations: 22, 21 and 21 frames."""
    told = [feet_and_frames(frame, Fraction(64, 3)) for frame in (21, 22, 42, 43, 63, 64)]

    assert ["0+21", "1+00", "1+20", "2+00", "2+20", "3+00"] == told
    assert 22 == nominal("1+00", "35mm 3-perf")
    with pytest.raises(NotationError, match="21 frames beyond"):
        nominal("1+21", "35mm 3-perf")


@settings(deadline=None)
@given(st.integers(1, 10**7), st.sampled_from(GAUGES), st.sampled_from(Footage))
def test_feet_and_frames_read_as_the_frames_that_they_tell(
    frames: int, gauge: Gauge, footage: Footage
) -> None:
    text = feet_and_frames(frames, frames_per_foot(gauge, footage))

    assert frames == parse_length(text).frames(gauge, footage)


@settings(deadline=None)
@given(st.integers(1, 10**9 - 1), st.sampled_from(["ft", "m"]), st.sampled_from(Footage))
def test_twice_the_length_has_twice_the_frames(half: int, unit: str, footage: Footage) -> None:
    one = parse_length(f"{half}/2 {unit}").frames(G16, footage)

    assert 2 * one == parse_length(f"{half} {unit}").frames(G16, footage)


@pytest.mark.parametrize(
    ("text", "what", "hint"),
    [
        ("", "'' is no length", "write 1000 ft"),
        ("1000", "'1000' is no length", "write 1000 ft"),
        ("1,000 ft", "'1,000 ft' is no length", "write 1000 ft"),
        ("-10 ft", "'-10 ft' is no length", "write 1000 ft"),
        ("ten ft", "'ten ft' is no length", "write 1000 ft"),
        ("ft", "'ft' is no length", "write 1000 ft"),
        ("90 min", "'90 min' is no length", "write 1000 ft"),
        ("300 mm", "'300 mm' is no length", "write 1000 ft"),
        ("39+", "'39+' is no length", "write 1000 ft"),
        ("39+1.5", "'39+1.5' is no length", "write 1000 ft"),
        ("0 ft", "'0 ft' is not above 0", "write 1000 ft"),
        ("0+00", "'0+00' is not above 0", "write 1000 ft"),
        ("0 frames", "'0 frames' is not above 0", "write 1000 ft"),
        ("10/0 m", "'10/0 m' divides by 0", "write 1000 ft"),
        ("1.5 frames", "'1.5 frames' has part of a frame", "write whole frames"),
        ("0.1234567 m", "'0.1234567 m' is no length", "write at most 6 decimals"),
    ],
)
def test_a_bad_length_is_told_with_what_would_be_right(text: str, what: str, hint: str) -> None:
    with pytest.raises(NotationError) as caught:
        parse_length(text)

    assert what == caught.value.text
    assert hint in caught.value.hint
