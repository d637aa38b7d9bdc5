from __future__ import annotations

import pickle
from contextlib import suppress
from fractions import Fraction
from typing import TYPE_CHECKING

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from retime.errors import Exit, NotationError
from retime.film.clock import clock
from retime.film.notation import (
    SpeedUnit,
    SpokenRamp,
    SpokenSpeed,
    parse_pace,
    parse_rate,
    parse_speed,
    parse_time,
    shown,
)
from retime.film.speed import Ramp, Rate, Speed

if TYPE_CHECKING:
    from collections.abc import Callable

FOOT, METRE = Fraction(16), Fraction(1000, 19)
TOO_EXACT = "write at most 6 decimals, or a fraction of numbers of at most 9 digits"


@pytest.mark.parametrize(
    ("text", "amount", "unit"),
    [
        ("20", 20, SpeedUnit.FPS),
        ("20 fps", 20, SpeedUnit.FPS),
        (" 20fps ", 20, SpeedUnit.FPS),
        ("240/11", Fraction(240, 11), SpeedUnit.FPS),
        ("240/11 fps", Fraction(240, 11), SpeedUnit.FPS),
        ("16.666667", Fraction(16_666_667, 1_000_000), SpeedUnit.FPS),
        ("75 ft/min", 75, SpeedUnit.FEET_PER_MINUTE),
        ("67.5ft/min", Fraction(135, 2), SpeedUnit.FEET_PER_MINUTE),
        ("22.86 m/min", Fraction(1143, 50), SpeedUnit.METRES_PER_MINUTE),
        ("13:20 /1000ft", 800, SpeedUnit.TIME_PER_1000_FEET),
        ("1:02:00.5/1000ft", Fraction(7441, 2), SpeedUnit.TIME_PER_1000_FEET),
    ],
)
def test_a_speed_is_read_as_it_is_written(
    text: str, amount: Fraction | int, unit: SpeedUnit
) -> None:
    expected = SpokenSpeed(amount=Fraction(amount), unit=unit, text=text.strip())

    assert expected == parse_speed(text)


def test_a_speed_is_exactly_what_is_written_and_no_rate() -> None:
    assert Fraction(2997, 125) == parse_speed("23.976").amount
    assert Fraction(24000, 1001) == parse_rate("23.976").fps


@pytest.mark.parametrize(
    ("text", "fps"),
    [
        ("20 fps", "20"),
        ("75 ft/min", "20"),
        ("13:20 /1000ft", "20"),
        ("27.36 m/min", "24"),
    ],
)
def test_feet_and_metres_become_frames_by_what_they_hold(text: str, fps: str) -> None:
    assert Speed(Fraction(fps)) == parse_speed(text).on(FOOT, METRE)


@pytest.mark.parametrize(
    ("text", "needed", "measure"),
    [
        ("75 ft/min", (None, METRE), "foot"),
        ("13:20 /1000ft", (None, METRE), "foot"),
        ("22.86 m/min", (FOOT, None), "metre"),
    ],
)
def test_a_speed_told_by_length_does_not_guess_what_a_foot_or_metre_holds(
    text: str, needed: tuple[Fraction | None, Fraction | None], measure: str
) -> None:
    spoken = parse_speed(text)

    assert spoken.needs_length
    with pytest.raises(NotationError, match=f"how many frames a {measure} holds") as caught:
        spoken.on(*needed)
    assert "footage" in caught.value.hint


def test_a_speed_in_frames_needs_no_length() -> None:
    assert not parse_speed("18").needs_length
    assert Speed(Fraction(18)) == parse_speed("18").on(None, None)


def test_a_pace_is_one_speed_or_a_ramp_of_two_of_any_units() -> None:
    ramp = parse_pace("60 ft/min->20 fps")

    assert parse_speed("18 fps") == parse_pace("18 fps")
    assert isinstance(ramp, SpokenRamp)
    assert Ramp(Speed(Fraction(16)), Speed(Fraction(20))) == ramp.on(FOOT, None)
    assert "60 ft/min -> 20 fps" == str(ramp)


@pytest.mark.parametrize(
    ("text", "fps"),
    [
        ("24", "24"),
        ("25 fps", "25"),
        ("24000/1001", "24000/1001"),
        (" 29.97 ", "30000/1001"),
        ("18", "18"),
        ("200/11", "200/11"),
        ("12.5", "25/2"),
        ("23.9761", "239761/10000"),
    ],
)
def test_a_rate_is_a_standard_one_or_what_is_written(text: str, fps: str) -> None:
    assert Rate(Fraction(fps)) == parse_rate(text)


@pytest.mark.parametrize(
    ("text", "seconds"),
    [
        ("1:37:12.5", Fraction(11665, 2)),
        ("1:37:12", 5832),
        ("12:40", 760),
        ("0:04", 4),
        ("97:12", 5832),
        ("0:00:00.000001", Fraction(1, 1_000_000)),
        ("4 s", 4),
        ("4s", 4),
        ("0.5 s", Fraction(1, 2)),
        ("1/3 s", Fraction(1, 3)),
        ("90 min", 5400),
        ("12.5min", 750),
    ],
)
def test_a_time_is_hours_minutes_seconds_and_two_fields_are_minutes_and_seconds(
    text: str, seconds: Fraction | int
) -> None:
    assert seconds == parse_time(text)


@pytest.mark.parametrize(
    ("text", "what", "hint"),
    [
        ("", "'' is no speed", "write 18 fps"),
        ("quick", "'quick' is no speed", "write 18 fps"),
        ("24 fpm", "'24 fpm' is no speed", "write 18 fps"),
        ("18,5", "'18,5' is no speed", "write 18 fps"),
        ("1e2", "'1e2' is no speed", "write 18 fps"),
        ("+18", "'+18' is no speed", "write 18 fps"),
        ("18.", "'18.' is no speed", "write 18 fps"),
        (".5", "'.5' is no speed", "write 18 fps"),
        ("nan", "'nan' is no speed", "write 18 fps"),
        ("1_8", "'1_8' is no speed", "write 18 fps"),
        ("\u0661\u0668", "is no speed", "write 18 fps"),
        ("0x18", "'0x18' is no speed", "write 18 fps"),
        ("18 fps fps", "'18 fps fps' is no speed", "write 18 fps"),
        ("18 -> 22", "'18 -> 22' is no speed", "write 18 fps"),
        ("75 ft", "'75 ft' is no speed", "write 18 fps"),
        ("24.0000001", "'24.0000001' is no speed", TOO_EXACT),
        ("1000000000/11", "'1000000000/11' is no speed", TOO_EXACT),
        ("-24", "a speed is above 0, not '-24'", "write 18 fps"),
        ("-75 ft/min", "a speed is above 0, not '-75 ft/min'", "write 18 fps"),
        ("0", "'0' is not above 0", "write 18 fps"),
        ("0.000 m/min", "'0.000 m/min' is not above 0", "write 18 fps"),
        ("0/5", "'0/5' is not above 0", "write 18 fps"),
        ("24/0", "'24/0' divides by 0", "write 18 fps"),
        ("24/000", "'24/000' divides by 0", "write 18 fps"),
        ("16 /1000ft", "'16' is no time", "write h:mm:ss"),
        ("0:00 /1000ft", "'0:00' is not above 0", "write h:mm:ss"),
    ],
)
def test_a_bad_speed_is_told_with_what_would_be_right(text: str, what: str, hint: str) -> None:
    refuses(parse_speed, text, what, hint)


@pytest.mark.parametrize(
    ("text", "what", "hint"),
    [
        ("16 -> 18 -> 20", "'16 -> 18 -> 20' has more than two speeds", "18 fps -> 22 fps"),
        ("16 fps ->", "'' is no speed", "write 18 fps"),
        ("-> 18 fps", "'' is no speed", "write 18 fps"),
        ("16 fps -> fast", "' fast' is no speed", "write 18 fps"),
        ("16 fps -> 0", "' 0' is not above 0", "write 18 fps"),
        ("16 fps > 18 fps", "'16 fps > 18 fps' is no speed", "write 18 fps"),
    ],
)
def test_a_bad_pace_is_told_with_what_would_be_right(text: str, what: str, hint: str) -> None:
    refuses(parse_pace, text, what, hint)


@pytest.mark.parametrize(
    ("text", "what", "hint"),
    [
        ("", "'' is no rate", "write 24, 25"),
        ("PAL", "'PAL' is no rate", "write 24, 25"),
        ("-25", "'-25' is no rate", "write 24, 25"),
        ("25i", "'25i' is no rate", "write 24, 25"),
        ("24 -> 25", "'24 -> 25' is no rate", "write 24, 25"),
        ("75 ft/min", "'75 ft/min' is no rate", "write 24, 25"),
        ("0", "'0' is not above 0", "write 24, 25"),
        ("24000/0", "'24000/0' divides by 0", "write 24, 25"),
        ("23.976023976", "'23.976023976' is no rate", TOO_EXACT),
    ],
)
def test_a_bad_rate_is_told_with_what_would_be_right(text: str, what: str, hint: str) -> None:
    refuses(parse_rate, text, what, hint)


@pytest.mark.parametrize(
    ("text", "what", "hint"),
    [
        ("", "'' is no time", "write h:mm:ss"),
        ("97", "'97' is no time", "write h:mm:ss"),
        ("4 fps", "'4 fps' is no time", "write h:mm:ss"),
        ("1:5:00", "'1:5:00' is no time", "write h:mm:ss"),
        ("1:5", "'1:5' is no time", "write h:mm:ss"),
        ("1:00:00:00", "'1:00:00:00' is no time", "write h:mm:ss"),
        ("-1:00", "'-1:00' is no time", "write h:mm:ss"),
        ("1:00,5", "'1:00,5' is no time", "write h:mm:ss"),
        ("two min", "'two min' is no time", "write h:mm:ss"),
        ("1:60", "'1:60' has a field of 60 or more", "write h:mm:ss"),
        ("1:60:00", "'1:60:00' has a field of 60 or more", "write h:mm:ss"),
        ("0:00", "'0:00' is not above 0", "write h:mm:ss"),
        ("0:00:00.0", "'0:00:00.0' is not above 0", "write h:mm:ss"),
        ("0 s", "'0 s' is not above 0", "write h:mm:ss"),
        ("1/0 s", "'1/0 s' divides by 0", "write h:mm:ss"),
        ("0.1234567 s", "'0.1234567 s' is no time", TOO_EXACT),
    ],
)
def test_a_bad_time_is_told_with_what_would_be_right(text: str, what: str, hint: str) -> None:
    refuses(parse_time, text, what, hint)


def refuses(reader: Callable[[str], object], text: str, what: str, hint: str) -> None:
    with pytest.raises(NotationError) as caught:
        reader(text)

    assert what in caught.value.text
    assert hint in caught.value.hint
    assert Exit.INPUT == caught.value.exit_code
    assert str(caught.value) == str(pickle.loads(pickle.dumps(caught.value)))  # noqa: S301


@pytest.mark.parametrize("reader", [parse_speed, parse_pace, parse_rate, parse_time])
@pytest.mark.parametrize("text", ["7" * 1_000_000, "x" * 1_000_000, "\n" * 9 + "1\n2", "\x1b[31m"])
def test_an_odd_text_makes_a_short_message_of_one_line(
    reader: Callable[[str], object], text: str
) -> None:
    with pytest.raises(NotationError) as caught:
        reader(text)

    assert len(str(caught.value)) < 200
    assert str(caught.value).isprintable()


def test_a_text_is_shown_whole_up_to_60_characters() -> None:
    assert repr("x" * 60) == shown("x" * 60)
    assert repr("x" * 60 + "...") == shown("x" * 61)


amounts = st.one_of(
    st.integers(1, 999_999_999).map(Fraction),
    st.integers(1, 10**9).map(lambda n: Fraction(n, 10**6)),
    st.builds(Fraction, st.integers(1, 10**9 - 1), st.integers(1, 10**9 - 1)),
)


@settings(deadline=None)
@given(amounts, st.sampled_from(["", " fps", " ft/min", " m/min"]))
def test_a_written_fraction_reads_as_itself_in_every_unit(amount: Fraction, unit: str) -> None:
    assert amount == parse_speed(f"{amount}{unit}").amount


@settings(deadline=None)
@given(amounts)
def test_a_written_rate_reads_as_itself(amount: Fraction) -> None:
    assert Rate(amount) == parse_rate(str(Rate(amount)))


@settings(deadline=None)
@given(st.integers(1, 10**10))
def test_a_clock_reads_as_the_time_that_it_tells(milliseconds: int) -> None:
    seconds = Fraction(milliseconds, 1000)

    assert seconds == parse_time(clock(seconds))


@settings(deadline=None)
@given(st.text(max_size=20))
def test_any_text_is_read_or_refused_but_never_breaks(text: str) -> None:
    for reader in (parse_pace, parse_rate, parse_time):
        with suppress(NotationError):
            reader(text)
