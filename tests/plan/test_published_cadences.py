"""Cadences equal published tables, up to rotation, and hand-derived phases exactly."""

from __future__ import annotations

from fractions import Fraction

import pytest
from filmstrips import planned as plan_of
from filmstrips import runs, shown, shown_units, strip, uniform

from retime.errors import NotationError
from retime.film.speed import Ramp, Rate, Speed
from retime.plan.cadence import cadence_at, same_cadence
from retime.plan.conform import Conform
from retime.speedmap.decisions import RampPart
from retime.speedmap.model import Phase

# Run lengths over one cycle, one digit a film frame, as FFmpeg 5.1.9's fps filter gives them
# with its default rounding (run on numbered frames; the FFmpeg filters manual describes it). The
# two rows of 22 fps were computed by the same rule.
FFMPEG_RUNS = {
    (16, 24): "21",
    (18, 24): "121",
    (20, 24): "11211",
    (22, 24): "11111211111",
    (16, 25): "2121212212121212",
    (18, 25): "121211212112112121",
    (20, 25): "1211",
    (22, 25): "1112111111211111112111",
    (24, 25): "1" * 11 + "2" + "1" * 12,
    (16, 30): "22221222",
    (18, 30): "212",
    (20, 30): "21",
    (22, 30): "12112121121",
    (24, 30): "1211",
}

# Onsets of k in n even steps, the Bresenham form: N. Gradwohl, "Calculating Euclidean rhythms
# using the Bresenham algorithm", local-guru.net 2017 (the 8-step rows are printed there; the
# others computed by the same algorithm). An onset is the first showing of a new film frame.
EVEN_SPACING = {
    (2, 3): "xx.",
    (3, 4): "xxx.",
    (3, 5): "xx.x.",
    (4, 5): "xxxx.",
    (5, 6): "xxxxx.",
    (11, 12): "x" * 11 + ".",
    (8, 15): "xx.x.x.x.x.x.x.",
    (16, 25): "xx.xx.xx.xx.x.xx.xx.xx.x.",
    (18, 25): "xxx.xxx.xx.xxx.xx.xxx.xx.",
    (24, 25): "x" * 24 + ".",
    (3, 8): "x.x..x..",
    (5, 8): "xx.xx.x.",
    (7, 8): "xxxxxxx.",
}


def digits(text: str) -> tuple[int, ...]:
    return tuple(map(int, text))


def gaps(pattern: str) -> tuple[int, ...]:
    """Return the distances between onsets, the last one to the next cycle's first."""
    onsets = [place for place, mark in enumerate(pattern) if mark == "x"]
    stops = [*onsets[1:], len(pattern) + onsets[0]]
    return tuple(stop - onset for onset, stop in zip(onsets, stops, strict=True))


@pytest.mark.parametrize(("speed", "rate"), FFMPEG_RUNS)
def test_runs_equal_the_fps_filters_up_to_rotation(speed: int, rate: int) -> None:
    expected = digits(FFMPEG_RUNS[speed, rate])
    plan = uniform(speed * 3, speed, rate)
    cycle = runs(plan)[len(expected) : 2 * len(expected)]

    assert same_cadence(expected, tuple(cycle))
    ratio = Fraction(speed, rate)
    told = cadence_at(ratio.numerator, ratio.denominator, 0)
    assert told is not None
    assert same_cadence(expected, told.runs)


@pytest.mark.parametrize(("film", "steps"), EVEN_SPACING)
def test_runs_are_spaced_as_evenly_as_euclids_rhythms(film: int, steps: int) -> None:
    expected = gaps(EVEN_SPACING[film, steps])

    told = cadence_at(film, steps, film // 2)
    assert told is not None
    assert same_cadence(expected, told.runs)


@pytest.mark.parametrize("rate", [24, 25, 30])
@pytest.mark.parametrize("speed", [16, 18, 20, 22, 24])
def test_counts_of_repeats_in_any_two_windows_differ_by_at_most_one(speed: int, rate: int) -> None:
    # Maximal evenness: club.tidalcycles.org/t/blog-on-euclidean-rhythms, stated there.
    firsts = [one.times for one in uniform(240, speed, rate).showings()][:-1]
    onsets = [1 if k == 0 else 0 for times in firsts for k in range(times)]
    for width in range(1, 60):
        counts = {sum(onsets[at : at + width]) for at in range(len(onsets) - width + 1)}
        assert max(counts) - min(counts) <= 1


# Phase by hand: output frame j shows the frame whose half-open interval holds (j + 1/2)/C, which
# is frame floor((2j + 1) speed/(2 C)).
BY_HAND = {
    # 16 in 24: floor((2j + 1)/3): 1/3, 1, 5/3 -> 0, 1, 1
    (16, 24): [0, 1, 1, 2, 3, 3],
    # 18 in 24: floor((2j + 1) 3/8): 3/8, 9/8, 15/8, 21/8 -> 0, 1, 1, 2; then 3, 4, 4, 5
    (18, 24): [0, 1, 1, 2, 3, 4, 4, 5],
    # 20 in 24: floor((2j + 1) 5/12): 5/12, 15/12, 25/12, 35/12, 45/12, 55/12
    (20, 24): [0, 1, 2, 2, 3, 4, 5, 6, 7, 7, 8, 9],
    # 20 in 25: floor((2j + 1) 2/5): 2/5, 6/5, 2, 14/5, 18/5
    (20, 25): [0, 1, 2, 2, 3, 4, 5, 6, 6, 7],
    # 20 in 30: floor((2j + 1)/3), as 16 in 24
    (20, 30): [0, 1, 1, 2, 3, 3],
    # 24 in 30: floor((2j + 1) 2/5), as 20 in 25
    (24, 30): [0, 1, 2, 2, 3, 4, 5, 6, 6, 7],
    # 24 in 25: floor((2j + 1) 12/25): the repeat comes where 24 (j + 1/2)/25 has lost a whole
    # half frame: j = 12 gives 12, j = 13 gives 324/25 = 12.96
    (24, 25): [*range(13), 12, *range(13, 24)],
    # 30 in 25: floor((2j + 1) 3/5): 3/5, 9/5, 3, 21/5, 27/5: frame 2 is dropped
    (30, 25): [0, 1, 3, 4, 5],
}


@pytest.mark.parametrize(("speed", "rate"), BY_HAND)
def test_the_phase_is_that_derived_by_hand(speed: int, rate: int) -> None:
    expected = BY_HAND[speed, rate]

    assert expected == shown(uniform(speed * 2, speed, rate))[: len(expected)]


def test_24_at_25_conformed_at_24_shows_every_frame_once_and_runs_faster() -> None:
    plan = uniform(2400, 24, 25, at=24)

    assert list(range(2400)) == shown(plan)
    assert plan.runtime == 96  # 100 s become 96 s: common practice
    assert plan.conform.run_change == Fraction(25, 24)
    assert plan.conform.cents == pytest.approx(70.672, abs=0.001)  # 12 log2(25/24) semitones


def test_20_in_24000_1001_is_laid_out_at_24_and_gains_3_6_s_an_hour() -> None:
    plan = uniform(20 * 3600, 20, Fraction(24000, 1001))

    assert set(runs(plan)) == {1, 2}
    assert runs(plan)[:5] == [1, 1, 2, 1, 1]
    assert plan.outputs == 24 * 3600
    assert plan.runtime - 3600 == Fraction(36, 10)


def test_conforming_at_the_rate_itself_keeps_true_speed_and_slips() -> None:
    rate = Fraction(24000, 1001)
    conform = Conform.of(Rate(rate), Rate(rate))

    assert conform.run_change == 1
    assert conform.effective(Speed(Fraction(18))) == Speed(Fraction(18))


def test_the_last_film_frame_takes_the_shots_latest_repeat() -> None:
    # Three frames then four, 20 in 24. The second shot lies at 3.6..8.4 output frames, so it has
    # frames 4..8, four of them, while its own rule on local time gives 0, 1, 2, 2: the last film
    # frame lasts 1.2 output frames and would go unshown. The repeat of 2 is given up for it.
    plan = plan_of(strip((3, 20), (4, 20)), 24, phase=Phase.PER_SHOT)

    assert shown(plan) == [0, 1, 2, 2, 3, 4, 5, 6]
    assert shown_units(plan) == [0, 0, 0, 0, 1, 1, 1, 1]


def test_cadence_restarts_at_a_cut_in_per_shot_phase_only() -> None:
    film = strip((7, 20), (10, 20))
    per_shot = plan_of(film, 24, phase=Phase.PER_SHOT)
    continuous = plan_of(film, 24)

    # The second shot begins at 8.4 output frames, so at 8, and there shows its 0, 1, 2, 2, as
    # 20 in 24 does. Run through, output frames 8 to 11 are floor((2j + 1) 5/12): 85/12, 95/12,
    # 105/12, 115/12.
    assert shown(per_shot)[8:12] == [7, 8, 9, 9]
    assert shown(continuous)[8:12] == [7, 7, 8, 9]


def test_a_shot_too_short_for_an_output_frame_takes_the_one_of_its_mid_time() -> None:
    # One frame of 1/100 s between two of 1/10 s, at 10: the first centre is at 0.5, the next at
    # 1.5, and the short shot lies at 1.0..1.1 output frames, its middle in output frame 1.
    plan = plan_of(strip((2, 20), (1, 100), (4, 20)), 10)

    assert shown(plan) == [1, 2, 5]
    assert shown_units(plan) == [0, 1, 2]


def test_two_shots_that_need_one_output_frame_are_named() -> None:
    with pytest.raises(NotationError, match=r"shot 1/2 and shot 1/1 both need output frame 1"):
        plan_of(strip((2, 20), (1, 100), (1, 100), (4, 20)), 10)


def test_a_title_is_held_on_its_middle_frame() -> None:
    # Five frames at 20 last 0.25 s; at least 1 s leaves 0.75 s more for frame 2, which stands at
    # 0.1..0.9 s: at 10 that is centres 0.15 to 0.85, after 0.05 (frame 1) and before 0.95.
    film = strip((5, 20), limits={0: {"at_least": Fraction(1)}})
    plan = plan_of(film, 10)

    assert shown(plan) == [1, 2, 2, 2, 2, 2, 2, 2, 2, 4]
    counts = plan.counts()
    assert (counts.held, counts.repeated, counts.dropped) == (7, 0, 2)


def test_a_ramp_changes_the_duration_evenly() -> None:
    # 10 -> 5 fps over three frames: 0.1, 0.15 and 0.2 s, starts 0, 0.1, 0.25, end 0.45; at 20 the
    # centres are 0.025, 0.075 | 0.125, 0.175, 0.225 | 0.275, 0.325, 0.375, 0.425.
    ramp = Ramp(Speed(Fraction(10)), Speed(Fraction(5)))
    plan = plan_of(strip((3, RampPart(ramp=ramp, index=0, count=3))), 20)

    assert runs(plan) == [2, 3, 4]


def test_a_cadence_is_the_same_only_if_it_is_a_rotation() -> None:
    assert same_cadence((1, 1, 2), (2, 1, 1))
    assert not same_cadence((1, 1, 2), (1, 2, 2))
    assert not same_cadence((1, 1, 2, 1, 1, 2), (1, 1, 2))
