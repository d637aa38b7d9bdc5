"""The decoder's buffer and the peak of a window, reckoned by hand and against brute force."""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING

import pytest
from discs import flagged
from hypothesis import given
from hypothesis import strategies as st

from retime.media.mpeg2 import mpeg2_pictures
from retime.media.vbv import DecoderBuffer, PeakWindow, decoded

if TYPE_CHECKING:
    from pathlib import Path

PICTURES = st.lists(st.tuples(st.integers(0, 1000), st.integers(1, 3)), min_size=1, max_size=30)


def emptied(
    pictures: list[tuple[int, int]], inflow: Fraction, size: int, at_first: int | None = None
) -> tuple[Fraction, int | None]:
    """Return the fewest bits left, and the picture that left them."""
    buffer = DecoderBuffer(inflow, size, at_first)
    for bits, fields in pictures:
        buffer.take(bits, fields)
    return buffer.lowest, buffer.lowest_at


def test_a_buffer_fills_between_pictures_and_no_further_than_full() -> None:
    """100 - 60 = 40, + 2x10 = 60, - 50 = 10, + 3x10 = 40, - 5 = 35, + 200 is full, - 70 = 30."""
    pictures = [(60, 2), (50, 3), (5, 20), (70, 2)]

    assert (Fraction(10), 1) == emptied(pictures, Fraction(10), 100)


def test_a_picture_that_is_not_there_in_time_leaves_less_than_nothing() -> None:
    """100 - 90 = 10, +2x7.5 = 25, -40 = -15."""
    buffer = DecoderBuffer(Fraction(15, 2), 100)
    for bits in (90, 40):
        buffer.take(bits, 2)

    assert Fraction(-15) == buffer.lowest
    assert buffer.underflows
    assert 1 == buffer.lowest_at


def test_decoding_may_begin_before_the_buffer_is_full() -> None:
    assert (Fraction(-10), 0) == emptied([(60, 2)], Fraction(10), 100, at_first=50)
    assert (Fraction(40), 0) == emptied([(60, 2)], Fraction(10), 100, at_first=500)


@given(PICTURES, st.integers(1, 400), st.integers(1, 7), st.integers(1, 3000))
def test_the_buffer_agrees_with_what_it_may_at_most_have_received(
    pictures: list[tuple[int, int]], rate: int, parts: int, size: int
) -> None:
    """What it lacks is the most that any run of pictures takes beyond what flows in meanwhile."""
    inflow = Fraction(rate, parts)
    lacks = [
        sum(bits for bits, _ in pictures[first : last + 1])
        - inflow * sum(fields for _, fields in pictures[first:last])
        for last in range(len(pictures))
        for first in range(last + 1)
    ]

    lowest, _ = emptied(pictures, inflow, size)

    assert size - max(lacks) == lowest


def test_a_window_holds_the_pictures_from_its_start_up_to_its_end() -> None:
    """Moments 0, 2, 5, 7, 10; a window of 5 fields from 2 on holds 20 + 30, from 5 on 30 + 25."""
    peak = PeakWindow(Fraction(5))
    for bits, fields in [(10, 2), (20, 3), (30, 2), (25, 3), (5, 2)]:
        peak.take(bits, fields)

    assert (55, 2) == (peak.bits, peak.first)


@given(PICTURES, st.fractions(Fraction(1, 2), 20, max_denominator=7))
def test_the_peak_is_that_of_the_fullest_window(
    pictures: list[tuple[int, int]], length: Fraction
) -> None:
    peak, moments, moment = PeakWindow(length), [], 0
    for bits, fields in pictures:
        peak.take(bits, fields)
        moments.append(moment)
        moment += fields

    held = [
        sum(
            bits
            for (bits, _), when in zip(pictures, moments, strict=True)
            if start <= when < start + length
        )
        for start in moments
    ]
    assert max(held) == peak.bits
    assert held[peak.first] == peak.bits or not peak.bits


@pytest.mark.parametrize("b_pictures", ["0", "2"])
def test_pictures_are_decoded_as_the_ones_before_them_are_shown(
    b_pictures: str, tmp_path: Path
) -> None:
    """Decoding runs one picture ahead of display: its distances are the display's, one later."""
    runs = [2, 3, 3, 2, 3, 2, 2, 3, 3, 2]
    options = {"b": "3000000", "maxrate": "5000000", "bufsize": "1835008", "bf": b_pictures}
    flagged(tmp_path / "a.m2v", runs, options=options)

    pictures = list(mpeg2_pictures([(tmp_path / "a.m2v").read_bytes()]))

    assert [runs[0], *runs[:-1]] == [fields for _, fields in decoded(pictures)]
