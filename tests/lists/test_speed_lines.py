"""The M2 rule: an event of d record frames at speed s and rate r uses d s/r source frames."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from retime.errors import NotationError
from retime.lists.speed_lines import (
    error_over,
    fits,
    frames_said,
    parse_m2_speed,
    said_as,
    source_length,
    source_used,
    written_speed,
)

# Each row is reckoned by hand: so many seconds of record, times source frames a second.
BY_HAND = [
    (24, 24, 240, 240),  # 10 s at 24 a second
    (18, 24, 180, 135),  # 7.5 s at 18
    (16, 24, 240, 160),  # 10 s at 16
    (20, 25, 250, 200),  # 10 s at 20
    (48, 24, 48, 96),  # 2 s at 48
    (12, 30, 30, 12),  # 1 s at 12
    (-24, 24, 24, 24),  # backwards uses as many
]


@pytest.mark.parametrize(("speed", "rate", "record", "source"), BY_HAND)
def test_an_event_uses_speed_times_its_seconds(
    speed: int, rate: int, record: int, source: int
) -> None:
    assert source == source_used(Fraction(speed), record, rate)
    assert source == source_length(Fraction(speed), record, rate)


def test_the_record_is_not_divided_by_the_scalar() -> None:
    """180 frames at 18 in 24 are 135 of source; 180/(18/24) = 240 is what a public writer has."""
    assert 135 == source_length(Fraction(18), 180, 24)
    assert not fits(240, Fraction(18), 180, 24)


@given(
    speed=st.integers(1, 9999).map(lambda tenths: Fraction(tenths, 10)),
    record=st.integers(1, 10_000),
    rate=st.sampled_from([24, 25, 30, 48, 50, 60]),
)
def test_the_rule_counts_what_a_clock_counts(speed: Fraction, record: int, rate: int) -> None:
    """Frame by frame: the source stands at k s/r when k record frames have passed."""
    at_start = [speed * k / rate for k in (0, record)]

    assert at_start[1] - at_start[0] == source_used(speed, record, rate)
    assert abs(source_length(speed, record, rate) - at_start[1]) <= max(
        Fraction(1, 2), 1 - at_start[1]
    )


@pytest.mark.parametrize(
    ("text", "speed"),
    [
        ("024.0", Fraction(24)),
        ("18", Fraction(18)),
        ("-012.5", Fraction(-25, 2)),
        ("+020.0", Fraction(20)),
        ("000.0", Fraction(0)),
        ("0", Fraction(0)),
        ("23.976", Fraction(2997, 125)),
        ("7.", Fraction(7)),
    ],
)
def test_a_speed_is_read_with_and_without_decimals(text: str, speed: Fraction) -> None:
    assert speed == parse_m2_speed(text)


@pytest.mark.parametrize("text", ["", "fast", "1/2", "--3", "1.2.3", "1e3", "٣", "9" * 12, "-"])
def test_what_is_no_speed_is_refused(text: str) -> None:
    with pytest.raises(NotationError):
        parse_m2_speed(text)


@given(st.integers(-9999, 9999))
def test_every_speed_of_one_decimal_is_written_and_read_alike(tenths: int) -> None:
    speed = Fraction(tenths, 10)

    assert speed == parse_m2_speed(written_speed(speed))
    assert speed == said_as(speed / 24, 24)


def test_two_hundred_elevenths_are_told_with_what_they_miss() -> None:
    """200/11 is 18.1818..., M2 says 18.2, which is 1/55 a second too fast: 12 frames in 11 min."""
    ratio = Fraction(200, 11) / 24
    record = 11 * 60 * 24
    said = said_as(ratio, 24)

    assert Fraction("18.2") == said
    assert 12 == error_over(ratio, said, record, 24)


def test_a_length_goes_with_a_speed_while_ends_and_tenths_alone_are_rounded() -> None:
    """380 frames at 20 in 24 use 316.67; tenths are off by 0.05 a second, 0.79 in these 15.83."""
    speed = Fraction(20)

    assert [False, True, True, True, False] == [
        fits(n, speed, 380, 24) for n in (314, 315, 317, 318, 319)
    ]
    assert fits(1, Fraction(0), 48, 24)
    assert not fits(2, Fraction(0), 48, 24)


@pytest.mark.parametrize(
    ("frames", "said"),
    [
        (Fraction(12), "12"),
        (Fraction(31, 5), "6.2"),
        (Fraction(-1, 3), "-0.33"),
        (Fraction(1, 900), "less than 0.01"),
        (Fraction(0), "0"),
    ],
)
def test_errors_are_said_in_frames_to_two_decimals(frames: Fraction, said: str) -> None:
    assert said == frames_said(frames)


def test_what_is_faster_than_three_digits_is_said_as_fast_as_can_be() -> None:
    assert Fraction("999.9") == said_as(Fraction(100), 24)
