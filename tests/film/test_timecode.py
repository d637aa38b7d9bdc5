"""Timecode labels, against published values and the rule walked by hand.

Golden labels at 30000/1001 and 60000/1001 were made by the open library OpenTimelineIO 0.18.1
(`to_timecode`); those of frames 1799, 1800, 1801, 17982, 107892, 3599, 3600, 35964 and 215784
also stand in several public test suites and in the encyclopaedia article on SMPTE timecode.
"""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from retime.errors import NotationError
from retime.film.speed import Rate
from retime.film.timecode import drops, frame_of, label

if TYPE_CHECKING:
    from collections.abc import Iterator

NTSC = Rate(Fraction(30000, 1001))
NTSC_60 = Rate(Fraction(60000, 1001))
RATES = [Rate(Fraction(fps)) for fps in (16, 18, 24, 25, 30, 50, 60)]
RATES += [NTSC, NTSC_60, Rate(Fraction(24000, 1001))]
MODES = [(rate, drop) for rate in RATES for drop in (False, True) if drops(rate) or not drop]

DROP_FRAME = [
    (0, "00:00:00;00", "00:00:00:00"),
    (1799, "00:00:59;29", "00:00:59:29"),
    (1800, "00:01:00;02", "00:01:00:00"),
    (1801, "00:01:00;03", "00:01:00:01"),
    (3597, "00:01:59;29", "00:01:59:27"),
    (3598, "00:02:00;02", "00:01:59:28"),
    (17981, "00:09:59;29", "00:09:59:11"),
    (17982, "00:10:00;00", "00:09:59:12"),
    (17983, "00:10:00;01", "00:09:59:13"),
    (19781, "00:10:59;29", "00:10:59:11"),
    (19782, "00:11:00;02", "00:10:59:12"),
    (53946, "00:30:00;00", "00:29:58:06"),
    (107891, "00:59:59;29", "00:59:56:11"),
    (107892, "01:00:00;00", "00:59:56:12"),
    (2589407, "23:59:59;29", "23:58:33:17"),
]
DROP_FRAME_60 = [
    (3599, "00:00:59;59"),
    (3600, "00:01:00;04"),
    (3601, "00:01:00;05"),
    (35963, "00:09:59;59"),
    (35964, "00:10:00;00"),
    (215784, "01:00:00;00"),
]


@pytest.mark.parametrize(("frame", "dropping", "plain"), DROP_FRAME)
def test_labels_at_29_97_are_the_published_ones(frame: int, dropping: str, plain: str) -> None:
    assert dropping == label(frame, NTSC, drop=True)
    assert plain == label(frame, NTSC, drop=False)
    assert frame == frame_of(dropping, NTSC) == frame_of(plain, NTSC)


@pytest.mark.parametrize(("frame", "dropping"), DROP_FRAME_60)
def test_labels_at_59_94_are_the_published_ones(frame: int, dropping: str) -> None:
    assert dropping == label(frame, NTSC_60, drop=True)
    assert frame == frame_of(dropping, NTSC_60)


def counted(nominal: int, skipped: int, minutes: int) -> Iterator[str]:
    """Count labels as the rule is told, number by number, leaving out those it skips."""
    for minute in range(minutes):
        for second in range(60):
            skips = second == 0 and minute not in {0, 10, 20, 30, 40, 50}
            for number in range(skipped if skips else 0, nominal):
                yield f"00:{minute:02}:{second:02};{number:02}"


@pytest.mark.parametrize(("rate", "nominal", "skipped"), [(NTSC, 30, 2), (NTSC_60, 60, 4)])
def test_every_label_of_twelve_minutes_is_the_one_that_counting_gives(
    rate: Rate, nominal: int, skipped: int
) -> None:
    # The rule of SMPTE ST 12-1 as told in the encyclopaedia article on SMPTE timecode: numbers
    # 00 and 01 (at 60: 00 to 03) are skipped in each minute except 00, 10, 20, 30, 40 and 50.
    walked = list(counted(nominal, skipped, 12))

    assert walked == [label(frame, rate, drop=True) for frame in range(len(walked))]


def test_drop_frame_skips_18_numbers_in_ten_minutes_and_108_in_an_hour() -> None:
    # The encyclopaedia article on SMPTE timecode, in two copies.
    assert 18_000 - 18 == frame_of("00:10:00;00", NTSC)
    assert 108_000 - 108 == frame_of("01:00:00;00", NTSC)


def day(rate: Rate, *, drop: bool) -> int:
    """Return how many labels 24 hours have: 108 numbers an hour are skipped at 30, 216 at 60."""
    nominal = int(rate.nominal.fps)
    return 24 * (3600 * nominal - (nominal // 30 * 108 if drop else 0))


@settings(deadline=None)
@given(st.sampled_from(MODES), st.integers(0, 10**8))
def test_a_frame_s_label_names_that_frame_of_the_day(mode: tuple[Rate, bool], frame: int) -> None:
    rate, drop = mode

    assert frame % day(rate, drop=drop) == frame_of(label(frame, rate, drop=drop), rate)


@settings(deadline=None)
@given(
    st.sampled_from(MODES),
    st.integers(0, 23),
    st.integers(0, 59),
    st.sampled_from([0, 1, 30, 59]),
    st.data(),
)
def test_a_label_that_exists_is_the_label_of_its_frame(
    mode: tuple[Rate, bool], hour: int, minute: int, second: int, data: st.DataObject
) -> None:
    rate, drop = mode
    skipped = 4 if rate == NTSC_60 else 2
    first = skipped if drop and second == 0 and minute % 10 else 0
    number = data.draw(st.integers(first, int(rate.nominal.fps) - 1))
    text = f"{hour:02}:{minute:02}:{second:02}{';' if drop else ':'}{number:02}"

    assert text == label(frame_of(text, rate), rate, drop=drop)


@settings(deadline=None)
@given(st.sampled_from(MODES), st.integers(0, 10**7))
def test_labels_of_a_day_stand_in_the_order_of_their_frames(
    mode: tuple[Rate, bool], frame: int
) -> None:
    rate, drop = mode
    place = frame % (day(rate, drop=drop) - 1)

    assert label(place, rate, drop=drop) < label(place + 1, rate, drop=drop)


@pytest.mark.parametrize(("rate", "drop"), MODES, ids=str)
def test_labels_begin_anew_after_24_hours_of_labels(rate: Rate, *, drop: bool) -> None:
    last = day(rate, drop=drop) - 1

    assert label(last, rate, drop=drop).startswith("23:59:59")
    assert label(0, rate, drop=drop) == label(last + 1, rate, drop=drop)


def test_plain_labels_at_29_97_wrap_at_2592000_frames_and_not_after_24_hours_of_time() -> None:
    # Computed: 24 x 3600 x 30. OpenTimelineIO 0.18.1 wraps at 2589408 already, which is 24 hours
    # of drop-frame labels.
    assert "23:58:33:18" == label(2_589_408, NTSC, drop=False)
    assert "23:59:59:29" == label(2_591_999, NTSC, drop=False)
    assert "00:00:00:00" == label(2_592_000, NTSC, drop=False)
    assert "00:00:00;00" == label(2_589_408, NTSC, drop=True)


@pytest.mark.parametrize("minute", [minute for minute in range(60) if minute % 10])
def test_labels_that_drop_frame_skips_are_refused(minute: int) -> None:
    # One public parser takes 00:01:00;00 and 00:01:00;01 for frame 1800; a strict one does not.
    for text in (f"00:{minute:02}:00;00", f"00:{minute:02}:00;01"):
        with pytest.raises(NotationError, match="drop-frame skips it") as refused:
            frame_of(text, NTSC)
        assert f"00:{minute:02}:00;02" in refused.value.hint
    with pytest.raises(NotationError, match="drop-frame skips it"):
        frame_of(f"00:{minute:02}:00;03", NTSC_60)
    assert minute * 1800 == frame_of(f"00:{minute:02}:00:00", NTSC)


def test_only_29_97_and_59_94_have_drop_frame_labels() -> None:
    # From memory of SMPTE ST 12-1; several public test suites refuse it for 24000/1001 and 25.
    assert [NTSC, NTSC_60] == [rate for rate in RATES if drops(rate)]


@pytest.mark.parametrize(
    "fps", ["24000/1001", "24", "25", "30", "60", "48000/1001", "120000/1001", "18"]
)
def test_drop_frame_labels_are_refused_at_another_rate(fps: str) -> None:
    with pytest.raises(NotationError, match="no drop-frame labels") as refused:
        label(0, Rate(Fraction(fps)), drop=True)
    assert "30000/1001" in refused.value.hint
    with pytest.raises(NotationError, match="no drop-frame labels"):
        frame_of("00:00:00;00", Rate(Fraction(fps)))


@pytest.mark.parametrize("fps", ["200/11", "240/11", "18.5", "2997/125", "1/2"])
def test_a_rate_of_no_whole_number_of_frames_has_no_timecode(fps: str) -> None:
    with pytest.raises(NotationError, match="has no timecode") as refused:
        label(0, Rate(Fraction(fps)), drop=False)
    assert "whole frames" in refused.value.hint
    with pytest.raises(NotationError, match="has no timecode"):
        frame_of("00:00:00:00", Rate(Fraction(fps)))


def test_an_hour_of_plain_labels_at_29_97_runs_3_6_seconds_long() -> None:
    # Encyclopaedia article on SMPTE timecode: 3.6 s an hour (an older text has 3.59: after one
    # hour by the clock the label stands 3.596 s behind). A day of labels: 86.4 s, computed.
    hour = frame_of("01:00:00:00", NTSC)

    assert 108_000 == hour
    assert Fraction("3603.6") == hour / NTSC.fps
    assert Fraction("86.4") == 24 * (hour / NTSC.fps - 3600)
    assert "00:59:56:12" == label(int(3600 * NTSC.fps), NTSC, drop=False)


def test_a_day_of_drop_frame_labels_falls_86_4_milliseconds_short() -> None:
    # CRNT's drop-frame page and the encyclopaedia article on SMPTE timecode: 86.4 ms a day;
    # Broadcast Engineer's Reference Book p. 203, quoted on Video Production Stack Exchange
    # 17789: about 2.6 frames a day. (CRNT also has 2.88, having divided by 0.02997.)
    labels = frame_of("23:59:59;29", NTSC) + 1
    short = 86_400 - labels / NTSC.fps

    assert 2_589_408 == labels
    assert Fraction("0.0864") == short
    assert Fraction("2.589") == round(short * NTSC.fps, 3)


@pytest.mark.parametrize(
    ("text", "what", "hint"),
    [
        ("", "'' is no timecode", "write 01:00:00:00"),
        ("01:00:00", "'01:00:00' is no timecode", "write 01:00:00:00"),
        ("1:00:00:00", "'1:00:00:00' is no timecode", "write 01:00:00:00"),
        ("01:00:00.00", "'01:00:00.00' is no timecode", "write 01:00:00:00"),
        ("01;00;00;00", "'01;00;00;00' is no timecode", "write 01:00:00:00"),
        ("-1:00:00:00", "'-1:00:00:00' is no timecode", "write 01:00:00:00"),
        ("01:00:00:0", "'01:00:00:0' is no timecode", "write 01:00:00:00"),
        ("0\u0661:00:00:00", "is no timecode", "write 01:00:00:00"),
        ("01:00:00:000", "'01:00:00:000' is no timecode at 30000/1001", "in 2 digits"),
        ("24:00:00:00", "'24:00:00:00' does not exist at 30000/1001", "23:59:59:29"),
        ("01:60:00:00", "'01:60:00:00' does not exist at 30000/1001", "23:59:59:29"),
        ("01:00:60;00", "'01:00:60;00' does not exist at 30000/1001", "23:59:59;29"),
        ("01:00:00:30", "'01:00:00:30' does not exist at 30000/1001", "23:59:59:29"),
    ],
)
def test_a_bad_label_is_told_with_what_would_be_right(text: str, what: str, hint: str) -> None:
    with pytest.raises(NotationError) as refused:
        frame_of(text, NTSC)

    assert what in refused.value.text
    assert hint in refused.value.hint


def test_rates_above_100_count_frames_in_three_digits() -> None:
    # Rec. ITU-R BT.2020 lists 120 frames a second, from memory; the digits are our own habit.
    rate = Rate(Fraction(120))

    assert "00:00:00:119" == label(119, rate, drop=False)
    assert 120 == frame_of("00:00:01:000", rate)
    assert "00:00:00:99" == label(99, Rate(Fraction(100)), drop=False)
    with pytest.raises(NotationError, match="no timecode at 120"):
        frame_of("00:00:01:00", rate)
