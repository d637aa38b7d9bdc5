"""Standard rates by name, and the samples of sound in a frame at each."""

from __future__ import annotations

from fractions import Fraction

import pytest

from retime.film.notation import parse_rate
from retime.film.speed import Rate


# FFmpeg filters manual, ffmpeg-filters(1) of FFmpeg 5.1.9, constants of the fps filter:
# ntsc 30000/1001, ntsc_film 24000/1001, pal 25, film 24. The others from Rec. ITU-R BT.709,
# encyclopaedia extract: 60, 50, 30, 25, 24 Hz, and 60, 30, 24 divided by 1.001.
@pytest.mark.parametrize(
    ("written", "exact", "nominal"),
    [
        ("23.976", Fraction(24000, 1001), 24),
        ("29.97", Fraction(30000, 1001), 30),
        ("59.94", Fraction(60000, 1001), 60),
        ("23.98", Fraction(24000, 1001), 24),  # common practice
        ("47.952", Fraction(48000, 1001), 48),  # common practice
    ],
)
def test_a_rate_in_decimals_is_the_standard_one_and_knows_its_nominal(
    written: str, exact: Fraction, nominal: int
) -> None:
    rate = parse_rate(written)

    assert Rate(exact) == rate
    assert rate.is_fractional
    assert Rate(Fraction(nominal)) == rate.nominal
    assert exact * 1001 == rate.nominal.fps * 1000


@pytest.mark.parametrize("fps", ["16", "18", "24", "25", "30", "50", "60", "1000", "200/11"])
def test_another_rate_is_its_own_nominal(fps: str) -> None:
    rate = Rate(Fraction(fps))

    assert not rate.is_fractional
    assert rate == rate.nominal


# SMPTE ST 428-21:2011, abstract in the document registry msrbot.io: archive rates 16, 200/11,
# 20, 240/11. That their samples at 48 kHz are whole is arithmetic.
@pytest.mark.parametrize(
    ("rate", "at_48_khz", "at_96_khz"),
    [("16", 3000, 6000), ("200/11", 2640, 5280), ("20", 2400, 4800), ("240/11", 2200, 4400)],
)
def test_an_archive_rate_has_whole_samples_in_a_frame(
    rate: str, at_48_khz: int, at_96_khz: int
) -> None:
    assert at_48_khz == 48_000 / parse_rate(rate).fps
    assert at_96_khz == 96_000 / parse_rate(rate).fps


# C. Poynton, Digital Video and HDTV, p. 380: 960 samples in a picture of 1/50 s, 1601 3/5 in a
# frame at 29.97, 882 at 44.1 kHz. Attachment on the ffmpeg-user list, 7 Feb 2022: 1,000 film
# frames are 2,000,000 samples at 24 and 2,002,000 at 23.976. The others are arithmetic.
@pytest.mark.parametrize(
    ("rate", "samples"),
    [
        ("23.976", "2002"),
        ("24", "2000"),
        ("25", "1920"),
        ("29.97", "8008/5"),
        ("30", "1600"),
        ("50", "960"),
        ("59.94", "4004/5"),
        ("60", "800"),
        ("16", "3000"),
        ("18", "8000/3"),
        ("20", "2400"),
        ("22", "24000/11"),
    ],
)
def test_samples_in_a_frame_at_48_khz_are_exact(rate: str, samples: str) -> None:
    assert Fraction(samples) == 48_000 / parse_rate(rate).fps


def test_samples_in_a_frame_at_44_1_khz_are_exact() -> None:
    assert 882 == 44_100 / parse_rate("50").fps
    assert Fraction(3675, 2) == 44_100 / parse_rate("24").fps
    assert Fraction(147_147, 100) == 44_100 / parse_rate("29.97").fps


def test_18_and_22_fps_are_not_the_archive_rates_next_to_them() -> None:
    """How far apart they are is arithmetic: 100/99 and 120/121."""
    assert Fraction(100, 99) == parse_rate("200/11").fps / 18
    assert Fraction(120, 121) == parse_rate("240/11").fps / 22
