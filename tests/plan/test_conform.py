"""Laying out at one rate and running at another changes speed, pitch and runtime as published."""

from __future__ import annotations

from fractions import Fraction

import pytest
from filmstrips import planned, strip, uniform
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from retime.errors import NotationError
from retime.film.speed import Rate, Speed
from retime.plan.conform import Conform
from retime.speedmap.model import Phase

NTSC_FILM = Fraction(24000, 1001)

# Laid out at, run at, cents: 1200 log2 of the ratio. 23.976 to 24 is "just 1.7 cents" in a note
# on the ffmpeg-user list of 7 February 2022; the rest is arithmetic, common practice.
CENTS = [
    (24, 25, 70.672),
    (25, 24, -70.672),
    (NTSC_FILM, 24, 1.7304),
    (24, NTSC_FILM, -1.7304),
    (NTSC_FILM, 25, 72.403),
    (20, 24, 315.641),
    (18, 24, 498.045),
    (16, 24, 701.955),
    (22, 24, 150.637),
]


def conform(rate: Fraction | int, at: Fraction | int | None = None) -> Conform:
    return Conform.of(Rate(Fraction(rate)), None if at is None else Rate(Fraction(at)))


@pytest.mark.parametrize(("at", "rate", "cents"), CENTS)
def test_a_run_shifts_pitch_by_twelve_semitones_an_octave(
    at: Fraction | int, rate: Fraction | int, cents: float
) -> None:
    assert cents == pytest.approx(conform(rate, at).cents, abs=0.0006)


def test_24_run_at_25_is_not_the_figure_of_the_rounded_four_per_cent() -> None:
    # Web pages that give 0.679 semitones took 12 log2(1.04); the run change is 4.1667 %.
    change = conform(25, 24)

    assert Fraction(25, 24) == change.run_change
    assert pytest.approx(4.1667, abs=0.00005) == float(100 * (change.run_change - 1))
    assert change.cents > 70


def test_a_hundred_minutes_at_24_become_96_at_25() -> None:
    # A viewers' note on running times of films sold at 25: 100 min become 96.
    assert 96 * 60 == uniform(100 * 60 * 24, 24, 25, at=24).runtime


@pytest.mark.parametrize(
    ("rate", "nominal"),
    [
        (NTSC_FILM, 24),
        (Fraction(30000, 1001), 30),
        (Fraction(48000, 1001), 48),
        (Fraction(60000, 1001), 60),
        (24, 24),
        (25, 25),
        (Fraction(200, 11), Fraction(200, 11)),
        (Fraction(240, 11), Fraction(240, 11)),
        (Fraction(23_976, 1000), Fraction(23_976, 1000)),
    ],
)
def test_only_rates_of_the_1001_family_are_laid_out_at_their_nominal(
    rate: Fraction | int, nominal: Fraction | int
) -> None:
    # The family: Rec. ITU-R BT.709's rates divided by 1.001. 200/11 and 240/11 are archive rates
    # of SMPTE ST 428-21:2011 and stand as they are.
    assert Rate(Fraction(nominal)) == conform(rate).at


@pytest.mark.parametrize("rate", [NTSC_FILM, Fraction(30000, 1001), Fraction(60000, 1001)], ids=str)
def test_the_1001_family_runs_3_6_s_longer_an_hour(rate: Fraction) -> None:
    # 7.2 s in two hours, says divxland.org's definition of pulldown.
    plan = uniform(3600 * 18, 18, rate)

    assert Fraction(1000, 1001) == plan.conform.run_change
    assert Fraction("3.6") == plan.runtime - 3600


@pytest.mark.parametrize(
    ("speed", "seen"), [(24, "23.976"), (20, "19.980"), (18, "17.982"), (16, "15.984")]
)
def test_film_in_24000_1001_is_seen_a_thousandth_slower(speed: int, seen: str) -> None:
    effective = conform(NTSC_FILM).effective(Speed(Fraction(speed)))

    assert Speed(Fraction(speed * 1000, 1001)) == effective
    assert seen == f"{float(effective.fps):.3f}"


rates = st.sampled_from(
    [Fraction(fps) for fps in (18, 24, 25, 30, 48, 60)]
    + [Fraction(200, 11), NTSC_FILM, Fraction(60000, 1001)]
)
shots = st.lists(
    st.tuples(
        st.integers(1, 400),
        st.integers(8_000, 32_000).map(lambda mils: Fraction(mils, 1000)),
    ),
    min_size=1,
    max_size=6,
)


@settings(max_examples=300, deadline=None)
@given(shots, rates, st.none() | rates, st.sampled_from(Phase))
def test_output_frames_are_the_true_runtime_times_the_conform_rate_rounded(
    film: list[tuple[int, Fraction]], rate: Fraction, at: Fraction | None, phase: Phase
) -> None:
    true = sum((count / speed for count, speed in film), Fraction(0))
    laid_out = conform(rate, at).at.fps
    try:
        plan = planned(strip(*film), rate, at=at, phase=phase)
    except NotationError:
        assume(False)
    expected = (true * laid_out + Fraction(1, 2)) // 1

    assert expected == plan.outputs
    assert expected / rate == plan.runtime
    assert expected == sum(one.times for one in plan.showings())


def test_half_an_output_frame_over_is_rounded_up() -> None:
    # 5 frames at 20 last 0.25 s: 2.5 output frames at 10 are 3; at 24, exactly 6.
    assert 3 == uniform(5, 20, 10).outputs
    assert 6 == uniform(5, 20, 24).outputs
