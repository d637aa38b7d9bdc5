"""Whatever is written, every reader reads it or says in one short line what would be right."""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from retime.errors import NotationError
from retime.film.gauge import gauge_named
from retime.film.length import parse_length
from retime.film.notation import parse_pace, parse_rate, parse_speed, parse_time
from retime.film.speed import Rate
from retime.film.timecode import frame_of

if TYPE_CHECKING:
    from collections.abc import Callable

    Reader = Callable[[str], object]


def label_read(text: str) -> object:
    return frame_of(text, Rate(Fraction(30000, 1001)))


def refusal(reader: Reader, text: str) -> NotationError | None:
    """Return the error that a text is refused with, None where it is read."""
    try:
        reader(text)
    except NotationError as error:
        return error
    return None


READERS: list[Reader] = [
    parse_speed,
    parse_pace,
    parse_rate,
    parse_time,
    parse_length,
    gauge_named,
    label_read,
]
PIECES = ["18", "22.5", "0", "1/0", "7/3", "00", "59", "60", "9999999999", "0.1234567", "٣", "¹"]
PIECES += ["fps", "ft", "m", "/min", "min", "s", "/1000ft", "frames", "fr", "mm", "35", "8"]
PIECES += ["->", ":", ";", "+", "-", "/", ".", ",", " ", "\n", "\0", "\u00a0", "e", "\x1b[0m"]
# Texts made of the pieces of the notations come closer to them than any letters do.
WRITTEN = st.one_of(st.lists(st.sampled_from(PIECES), max_size=8).map("".join), st.text())


@pytest.mark.parametrize("reader", READERS)
@settings(deadline=None, max_examples=150)
@given(text=WRITTEN)
def test_any_text_is_read_or_refused_in_one_line_with_a_hint(reader: Reader, text: str) -> None:
    refused = refusal(reader, text)

    assert refused is None or (refused.text.isprintable() and refused.hint.isprintable())
    assert refused is None or refused.hint


@pytest.mark.parametrize("reader", READERS)
@pytest.mark.parametrize(
    "text",
    [
        "",
        " ",
        "-1",
        "1/0",
        "fps",
        "->",
        "1:60:00",
        "1:2:3:4:5",
        "18 -> 20 -> 22",
        "0.1234567 s",
        "1234567890 fps",
        "१८ fps",
        "20 fpm",
    ],
)
def test_what_no_notation_has_is_refused_by_every_reader(reader: Reader, text: str) -> None:
    with pytest.raises(NotationError) as refused:
        reader(text)

    assert refused.value.hint


@pytest.mark.parametrize("reader", READERS)
@pytest.mark.parametrize("piece", ["9", "x", "9:", "9+", "9/", "->", " ", "1 ", "٣"], ids=ascii)
def test_a_megabyte_is_refused_in_a_short_line(reader: Reader, piece: str) -> None:
    for text in (piece * (1_000_000 // len(piece)), "1" + piece * 500_000 + "x"):
        with pytest.raises(NotationError) as refused:
            reader(text)

        assert len(str(refused.value)) < 500
