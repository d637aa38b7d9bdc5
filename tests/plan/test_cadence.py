"""A cadence tells what a laid-out plan does, and how often the plan breaks it."""

from __future__ import annotations

from fractions import Fraction

import pytest
from filmstrips import shown, uniform
from hypothesis import given, settings
from hypothesis import strategies as st

from retime.plan.cadence import LONGEST_CYCLE, Cadence, cadence_at, same_cadence

NTSC_FILM = Fraction(24000, 1001)

# FFmpeg 5.1.9's fps filter on numbered frames, one second of input, with round=down and round=up
# (FFmpeg filters manual, "fps"): the same cadences at other phases.
OTHER_ROUNDINGS = [
    (16, 24, "12", "21"),
    (18, 24, "112", "211"),
    (20, 24, "11112", "21111"),
    (22, 24, "1" * 10 + "2", "2" + "1" * 10),
    (16, 25, "1212121221212122", "2212121221212121"),
    (18, 25, "112112121121211212", "212112121121211211"),
    (20, 25, "1112", "2111"),
    (24, 25, "1" * 23 + "2", "2" + "1" * 23),
    (16, 30, "12222222", "22222221"),
    (18, 30, "122", "221"),
    (20, 30, "12", "21"),
    (24, 30, "1112", "2111"),
]

# E(onsets, steps) as the Euclidean algorithm of Bjorklund makes it. The first is printed at
# iris.joshua-becker.com/lab/euclidean-rhythm, the second is the text-book cinquillo, the third
# (as gaps 3 2 2 3 2 2 2) at club.tidalcycles.org/t/blog-on-euclidean-rhythms; the fourth is
# Bjorklund's worked example, from memory; the others are the algorithm run.
BJORKLUND = [
    "x..x..x.",
    "x.xx.xx.",
    "x..x.x.x..x.x.x.",
    "x..x.x..x.x..",
    "x.xx.x.xx.x.",
    "x.x..",
    "x.x.x",
    "x.x.x.x.x.x.x.x",
    "x.xx.x.xx.xx.xx.x.xx.xx.x",
]

# k onsets in 8 steps, as printed by N. Gradwohl, "Calculating Euclidean rhythms using the
# Bresenham algorithm", local-guru.net 2017.
IN_EIGHT = [
    "10000000",
    "10001000",
    "10100100",
    "10101010",
    "11011010",
    "11101110",
    "11111110",
    "11111111",
]


def gaps(pattern: str) -> tuple[int, ...]:
    """Return the distances between onsets, round the end of the cycle too."""
    onsets = [place for place, mark in enumerate(pattern) if mark in "x1"]
    after = [*onsets[1:], onsets[0] + len(pattern)]
    return tuple(stop - start for start, stop in zip(onsets, after, strict=True))


def of(speed: Fraction | int, rate: Fraction | int) -> Cadence:
    """Return the cadence of a stretch that begins with the film: half an output frame in."""
    ratio = Fraction(speed) / Fraction(rate)
    told = cadence_at(ratio.numerator, ratio.denominator, ratio.numerator // 2)
    assert told is not None
    return told


@pytest.mark.parametrize(("speed", "rate", "down", "up"), OTHER_ROUNDINGS)
def test_other_roundings_of_the_fps_filter_give_the_same_cadence(
    speed: int, rate: int, down: str, up: str
) -> None:
    runs = of(speed, rate).runs

    assert same_cadence(tuple(map(int, down)), runs)
    assert same_cadence(tuple(map(int, up)), runs)


@pytest.mark.parametrize("pattern", BJORKLUND)
def test_film_frames_are_spaced_as_bjorklund_spaces_onsets(pattern: str) -> None:
    assert same_cadence(gaps(pattern), of(pattern.count("x"), len(pattern)).runs)


@pytest.mark.parametrize("pattern", IN_EIGHT)
def test_film_frames_are_spaced_as_bresenhams_onsets_in_eight_steps(pattern: str) -> None:
    expected = gaps(pattern)
    runs = of(pattern.count("1"), 8).runs
    times = len(expected) // len(runs)  # 2 in 8 is told as 1 in 4

    assert same_cadence(expected, runs * times)


def test_30_in_25_drops_one_frame_in_six() -> None:
    # FFmpeg 5.1.9's fps filter shows 0, 1, 2, 4, 5, 6 and drops frame 3 of each six; which of the
    # six goes is a matter of phase.
    frames = shown(uniform(60, 30, 25))
    marks = tuple(frames.count(frame) for frame in range(60))

    assert same_cadence((1, 1, 1, 0, 1, 1), marks[:6])
    assert marks[:6] * 10 == marks
    assert marks[:6] == of(30, 25).runs


@pytest.mark.parametrize("rate", [24, 25, 30, 48, 50, 60])
@pytest.mark.parametrize("speed", [12, 16, 18, 20, 22, 24, Fraction(200, 11), Fraction(64, 3), 40])
def test_the_runs_told_are_those_of_the_plan_from_its_first_frame(
    speed: Fraction | int, rate: int
) -> None:
    told = of(speed, rate)
    frames = shown(uniform(3 * told.film_frames, speed, rate))

    assert told.slips_every is None
    assert told.runs == tuple(frames.count(frame) for frame in range(told.film_frames))


def test_a_cycle_is_told_whole_up_to_64_film_frames_and_by_a_shorter_one_beyond() -> None:
    whole, beyond = of(64, 81), of(65, 81)

    assert (64, 81, None) == (whole.film_frames, whole.outputs, whole.slips_every)
    assert LONGEST_CYCLE >= beyond.film_frames
    assert beyond.slips_every is not None


@settings(max_examples=60, deadline=None)
@given(
    st.integers(12_000, 30_000).map(lambda mils: Fraction(mils, 1000)),
    st.sampled_from([Fraction(24), Fraction(25), Fraction(30), NTSC_FILM]),
)
def test_a_cadence_spends_as_many_output_frames_as_it_says(speed: Fraction, rate: Fraction) -> None:
    told = of(speed, rate)

    assert len(told.runs) == told.film_frames
    assert sum(told.runs) == told.outputs


@pytest.mark.parametrize(
    "speed", [Fraction(1500), Fraction(1, 100), Fraction(999_983, 1000), Fraction(1, 999_999_999)]
)
@pytest.mark.parametrize("rate", [Fraction(24), NTSC_FILM])
def test_extreme_speeds_have_a_plan_and_a_cadence(speed: Fraction, rate: Fraction) -> None:
    count = max(2, int(2 * speed))  # about two seconds, or two frames
    plan = uniform(count, speed, rate, at=rate)
    told = of(speed, rate)

    assert (count / speed * rate + Fraction(1, 2)) // 1 == plan.outputs
    assert told.outputs == sum(told.runs)


@pytest.mark.parametrize("speed", [Fraction(4000), Fraction(4001), Fraction(999_999_999)])
def test_more_than_64_film_frames_to_an_output_frame_have_no_cadence(speed: Fraction) -> None:
    # A cycle has at least one output frame, in which here more film frames pass than it may have.
    ratio = speed / 24

    assert 24 == uniform(int(speed), speed, 24).outputs
    assert cadence_at(ratio.numerator, ratio.denominator, ratio.numerator // 2) is None


def test_a_very_slow_speed_is_one_long_run() -> None:
    assert (2400,) == of(Fraction(1, 100), 24).runs


def test_a_cadence_is_written_as_the_trade_writes_it() -> None:
    # 20 in 24, first frame first: 0, 1, 2, 2, 3, 4.
    assert str(of(20, 24)) == "1:1:2:1:1"
