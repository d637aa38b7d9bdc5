"""What of a scan is picture, and how it lies, as the map writes it."""

from __future__ import annotations

from fractions import Fraction

import pytest

from retime.errors import NotationError
from retime.light.raster import Flip, Framing, Rectangle, parse_area

AREA = Rectangle(left=64, top=20, width=1920, height=1440)


@pytest.mark.parametrize("text", ["64,20,1920,1440", "64, 20, 1920, 1440", "00064,020,1920,  1440"])
def test_an_area_is_left_top_width_height(text: str) -> None:
    assert AREA == parse_area(text)


def test_an_area_may_begin_in_the_corner_and_be_one_sample() -> None:
    assert Rectangle(left=0, top=0, width=1, height=1) == parse_area("0,0,1,1")


@pytest.mark.parametrize(
    "text",
    [
        "",
        "64,20,1920",
        "64,20,1920,1440,1",
        "64,20,0,1440",
        "64,20,1920,0",
        "-1,20,1920,1440",
        "64 ,20,1920,1440",
        "64;20;1920;1440",
        "1920x1440+64+20",
        "6.4,20,1920,1440",
        "100000,20,1920,1440",
        "\u0661,20,1920,1440",
    ],
)
def test_an_area_that_is_none_is_refused(text: str) -> None:
    hint = "is no area; write left, top, width, height in samples of the scan: 64,20,1920,1440"
    with pytest.raises(NotationError, match=hint):
        parse_area(text)


def test_a_framing_that_says_nothing_takes_the_scan_as_it_is() -> None:
    assert Framing().whole


@pytest.mark.parametrize(
    "framing",
    [
        Framing(area=AREA),
        Framing(rotate=180),
        Framing(flip=Flip.VERTICAL),
        Framing(sample_aspect=Fraction(1)),
    ],
)
def test_a_framing_that_says_anything_does_not(framing: Framing) -> None:
    assert not framing.whole
