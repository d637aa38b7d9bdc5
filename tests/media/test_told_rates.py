"""What the encoder is told, such that seconds of screen time come out as they were asked for."""

from __future__ import annotations

from pathlib import Path

import pytest
from discs import RATE_525
from hypothesis import given
from hypothesis import strategies as st

from retime.errors import OutputError
from retime.media.told_rates import ToldRates, screen_rates, told_rates
from retime.media.vbv import DecoderBuffer

ASKED = ToldRates(average=6_000_000, peak=9_000_000, buffer=1_835_008)


def test_pictures_of_two_fields_are_what_the_encoder_takes_them_for() -> None:
    assert ASKED == told_rates(ASKED, bytes([2] * 50), RATE_525)


def test_pictures_of_three_fields_may_be_half_as_large_again() -> None:
    """20 in 60 fields: two coded pictures where the encoder reckons with three."""
    told = told_rates(ASKED, bytes([3] * 50), RATE_525)

    assert ToldRates(average=9_000_000, peak=13_500_000, buffer=1_835_008) == told


def test_in_two_three_the_buffer_gives_up_half_a_field_of_the_peak() -> None:
    """A picture of 2 fields where 2 1/2 are reckoned with: 9 Mbit/s for half of 1001/60000 s."""
    told = told_rates(ASKED, bytes([2, 3] * 50), RATE_525)

    assert (7_500_000, 11_250_000) == (told.average, told.peak)
    assert 1_835_008 - 75_075 == told.buffer


def test_where_speeds_change_the_fastest_decides_the_peak_and_all_of_them_the_average() -> None:
    told = told_rates(ASKED, bytes([3] * 500 + [2] * 500), RATE_525)

    assert (7_500_000, 9_000_000) == (told.average, told.peak)


@given(
    st.lists(st.sampled_from((2, 3)), min_size=1, max_size=60),
    st.lists(st.integers(0, 900_000), min_size=60, max_size=60),
)
def test_a_stream_that_suits_the_encoder_s_buffer_suits_a_real_one(
    runs: list[int], sizes: list[int]
) -> None:
    told = told_rates(ASKED, bytes(runs), RATE_525)
    reckoned = DecoderBuffer(told.peak / (2 * RATE_525.fps), told.buffer)
    real = DecoderBuffer(ASKED.peak / (2 * RATE_525.fps), ASKED.buffer)

    for size, run in zip(sizes, runs, strict=False):
        reckoned.take(size, 2)
        real.take(size, run)

    assert reckoned.lowest <= real.lowest


@pytest.mark.parametrize("name", ["b", "maxrate", "bufsize"])
@pytest.mark.parametrize("text", ["", "6M", "0", "-5", "1.5"])
def test_rates_that_are_not_stated_in_bits_are_refused(name: str, text: str) -> None:
    options = {"b": "6000000", "maxrate": "9000000", "bufsize": "1835008", name: text}

    with pytest.raises(OutputError, match=f"no stated {name}"):
        screen_rates(options, Path("film.m2v"))


def test_rates_of_a_whole_profile_are_read() -> None:
    options = {"b": "6000000", "maxrate": "9000000", "bufsize": "1835008", "bf": "2"}

    assert ASKED == screen_rates(options, Path("film.m2v"))
    assert {"b": "6000000", "maxrate": "9000000", "bufsize": "1835008"} == ASKED.options
