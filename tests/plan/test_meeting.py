"""A film meets its score's cues exactly, as far as limits of speed allow, and tells the rest."""

from __future__ import annotations

from fractions import Fraction
from itertools import accumulate, pairwise
from typing import NamedTuple

import pytest
from hypothesis import assume, event, given, settings
from hypothesis import strategies as st
from msgspec.structs import replace
from randomfilms import films

from retime.errors import NotationError
from retime.film.notation import parse_time
from retime.film.speed import Speed
from retime.plan.assembly import assemble, solved_duration
from retime.plan.meeting import Between, Bound, Cue, Meeting, meet
from retime.plan.passage import Limited, Passage, passage_of
from retime.speedmap.decisions import Free, Segment

START = Fraction(0)


def between(slowest: Fraction | int, fastest: Fraction | int) -> Between:
    return Between(slowest=Speed(Fraction(slowest)), fastest=Speed(Fraction(fastest)))


def cues(*times: Fraction | int, tolerance: Fraction | int = 0) -> list[Cue]:
    return [Cue(time=Fraction(time), tolerance=Fraction(tolerance)) for time in times]


def frames(*counts: int) -> list[Passage]:
    return [Passage(free=count) for count in counts]


def speeds(met: tuple[Meeting, ...]) -> list[Fraction]:
    return [one.speed.fps for one in met]


def lates(met: tuple[Meeting, ...]) -> list[Fraction]:
    return [one.late for one in met]


def bounds(met: tuple[Meeting, ...]) -> list[Bound | None]:
    return [one.bound for one in met]


def changes(values: list[Fraction]) -> Fraction:
    """Return the sum of all changes from one to the next."""
    return sum((abs(b - a) for a, b in pairwise(values)), Fraction(0))


def frames_of(met: tuple[Meeting, ...]) -> list[Fraction]:
    return [one.frame for one in met]


# Constant speeds between cues.


def test_a_thousand_feet_between_two_cues_run_at_the_speed_of_the_published_table() -> None:
    # 1000 ft of 35 mm, 16 frames to the foot: 16 fps 16 min 40 s, 24 fps 11 min 6 2/3 s (James
    # Card, "Silent Film Speed", 1955).
    met = meet(
        START, frames(16000, 16000), cues(1000, Fraction(5000, 3)), between(16, 24), smooth=False
    )

    assert [16, 24] == speeds(met)
    assert [0, 0] == lates(met)


def test_fixed_time_between_cues_is_taken_off_before_the_speed_is_found() -> None:
    passage = Passage(free=1800, fixed=Fraction(10))

    (met,) = meet(START, [passage], cues(100), between(16, 26), smooth=False)

    assert [20, 0, 100] == [met.speed.fps, met.begins, met.ends]


def test_a_title_that_is_kept_longer_leaves_the_rest_less_time() -> None:
    # At 20 fps the title of 40 frames would last 2 s; it takes 4, and 1920 frames the other 96.
    title = Limited(frames=40, at_least=Fraction(4))
    passage = Passage(free=1920, limited=(title,))

    (met,) = meet(START, [passage], cues(100), between(16, 26), smooth=False)

    assert 20 == met.speed.fps


def test_a_limit_that_prevents_a_cue_is_told_and_the_next_cue_is_met_on_time() -> None:
    # 1000 frames in 30 s would need 33 1/3 fps. At 25 they take 40, and 600 frames have 30 left.
    met = meet(START, frames(1000, 600), cues(30, 70), between(16, 25), smooth=False)

    assert [25, 20] == speeds(met)
    assert [10, 0] == lates(met)
    assert [Bound.FASTEST, None] == bounds(met)
    assert [0, 40] == [one.begins for one in met]
    assert [40, 70] == [one.ends for one in met]


def test_a_passage_too_short_for_its_time_runs_at_the_slowest_and_comes_early() -> None:
    met = meet(START, frames(320, 400), cues(30, 50), between(16, 25), smooth=False)

    assert [16, 16] == speeds(met)
    assert [-10, -5] == lates(met)
    assert [Bound.SLOWEST, Bound.SLOWEST] == bounds(met)


def test_misses_do_not_add_up_where_later_passages_can_catch_up() -> None:
    # Each passage but the second could be met; without catching up all would come 10 s late.
    met = meet(
        START, frames(400, 1000, 400, 400), cues(20, 50, 70, 90), between(16, 25), smooth=False
    )

    assert [0, 10, 6, 2] == lates(met)


def test_an_earlier_cue_is_not_given_up_for_a_later_one() -> None:
    # Slower than 20 fps before the first cue would bring the second nearer, which comes early.
    met = meet(START, frames(400, 160), cues(20, 40), between(16, 25), smooth=False)

    assert [0, -10] == lates(met)


def test_two_cues_at_one_moment_of_the_film_but_at_two_times_are_told() -> None:
    met = meet(START, frames(400, 0, 400), cues(20, 23, 43), between(16, 25), smooth=False)

    assert [0, -3, 0] == lates(met)
    assert [None, Bound.AT_ONCE, None] == bounds(met)


def test_a_cue_at_the_films_first_frame_that_is_not_its_beginning_is_told() -> None:
    met = meet(START, frames(0, 400), cues(3, 23), between(16, 25), smooth=False)

    assert [Bound.AT_ONCE, None] == bounds(met)
    assert [-3, 0] == lates(met)


def test_nothing_free_between_two_cues_is_told_with_what_is_too_long_or_too_short() -> None:
    fixed = [Passage(fixed=Fraction(8)), Passage(fixed=Fraction(2))]

    met = meet(START, fixed, cues(5, 13), between(16, 25), smooth=False)

    assert [3, -3] == lates(met)
    assert [Bound.FIXED, Bound.FIXED] == bounds(met)


@pytest.mark.parametrize("second", [20, 15])
def test_times_that_do_not_rise_are_told(second: int) -> None:
    met = meet(START, frames(400, 250, 600), cues(20, second, 54), between(16, 25), smooth=False)

    assert [0, 30 - second, 0] == lates(met)
    assert [None, Bound.NOT_RISING, None] == bounds(met)
    assert [20, 25, 25] == speeds(met)


def test_a_cue_that_waits_for_one_at_the_same_moment_is_met_twice() -> None:
    met = meet(START, frames(400, 0), cues(20, 20), between(16, 25), smooth=False)

    assert [None, None] == bounds(met)


def test_fixed_passages_take_the_speed_beside_them() -> None:
    # A title with a time of its own still shows its frames at some speed before it is held.
    fixed = Passage(fixed=Fraction(5))
    met = meet(START, [fixed, *frames(400), fixed], cues(5, 25, 30), between(16, 25), smooth=False)

    assert [20, 20, 20] == speeds(met)


def test_no_cues_meet_nothing() -> None:
    assert () == meet(START, [], [], between(16, 26), smooth=True)


def test_limits_that_no_speed_keeps_and_tolerances_below_nothing_are_refused() -> None:
    with pytest.raises(NotationError, match="no speed is between 26 and 16 fps"):
        between(26, 16)
    with pytest.raises(NotationError, match="not below 0 s"):
        Cue(time=START, tolerance=Fraction(-1))


def test_every_passage_has_its_cue() -> None:
    with pytest.raises(ValueError, match="zip"):
        meet(START, frames(400, 400), cues(20), between(16, 25), smooth=False)


# Smoothly.


def test_smoothly_one_speed_serves_all_cues_whose_tolerances_let_it() -> None:
    # 19 and 21 fps meet the cues; at 20 the first would come 1 s early.
    film, score = frames(380, 420), cues(20, 40, tolerance=1)

    assert [19, 21] == speeds(meet(START, film, score, between(16, 26), smooth=False))
    met = meet(START, film, score, between(16, 26), smooth=True)
    assert [20, 20] == speeds(met)
    assert [-1, 0] == lates(met)
    assert [None, None] == bounds(met)


def test_smoothly_the_speed_bends_only_where_a_tolerance_ends() -> None:
    # By hand: slopes in seconds per 100 frames. Wanted 5, 5, 8, 8 with 1 s at each cue but the
    # last: straight to the latest 11 after two passages would be 5.5, and from there 7.5 to 26.
    film = frames(100, 100, 100, 100)
    score = [*cues(5, 10, 18, tolerance=1), *cues(26)]

    met = meet(START, film, score, between(10, 30), smooth=True)

    assert [Fraction(11, 200)] * 2 + [Fraction(15, 200)] * 2 == frames_of(met)
    assert [Fraction(1, 2), 1, Fraction(1, 2), 0] == lates(met)


def test_smoothly_a_cue_out_of_reach_uses_up_the_tolerance_of_the_one_before() -> None:
    # 480 frames at 24 fps take 20 s; they begin 1 s before the first cue and still end 4 s late.
    met = meet(START, frames(400, 480), cues(20, 34, tolerance=1), between(16, 24), smooth=True)

    assert [-1, 5] == lates(met)
    assert [None, Bound.FASTEST] == bounds(met)


def test_tolerances_mean_nothing_where_it_is_not_smooth() -> None:
    film, score = frames(380, 420), cues(20, 40, tolerance=1)

    strict = meet(START, film, cues(20, 40), between(16, 26), smooth=False)

    assert strict == meet(START, film, score, between(16, 26), smooth=False)
    assert strict == meet(START, film, cues(20, 40), between(16, 26), smooth=True)


# For any film and score.

WIDE = between(8, 40)


def quarters(most: int) -> st.SearchStrategy[Fraction]:
    """Draw quarter seconds from 0 to ``most`` of them: far quicker than drawing fractions."""
    return st.integers(0, most).map(lambda count: Fraction(count, 4))


frame_durations = st.integers(50, 250).map(lambda count: Fraction(count, 2000))
limiteds = st.builds(
    lambda count, least, more: Limited(
        frames=count, at_least=least, at_most=None if more is None else least + more
    ),
    st.integers(1, 60),
    quarters(20),
    st.none() | quarters(20),
)
passages = st.builds(
    lambda free, fixed, limited: Passage(free=free, fixed=fixed, limited=limited),
    st.integers(-40, 400).map(lambda count: max(count, 0)),
    st.integers(-20, 36).map(lambda count: Fraction(max(count, 0), 4)),
    st.sampled_from([0, 0, 1, 2]).flatmap(lambda count: st.tuples(*[limiteds] * count)),
)
films_of_passages = st.lists(passages, min_size=1, max_size=6)
scores = st.lists(
    st.builds(lambda time, slack: Cue(time=time, tolerance=slack), quarters(360), quarters(12)),
    min_size=6,
    max_size=6,
)


class Scored(NamedTuple):
    """A film, a score, and the frame durations of one way to meet it within its tolerances."""

    film: list[Passage]
    score: list[Cue]
    path: list[Fraction]


def scored(lot: list[tuple[Passage, Fraction, Fraction, int]]) -> Scored:
    """Return passages with cues whose tolerances are used up by so many twelfths of both sides."""
    film, path, score, end = [], [], [], START
    for passage, frame, tolerance, twelfths in lot:
        film.append(passage)
        path.append(frame)
        end += passage.lasts(frame)
        score.append(Cue(time=end + tolerance * Fraction(twelfths, 12), tolerance=tolerance))
    return Scored(film, score, path)


lots = st.tuples(passages, frame_durations, quarters(24), st.integers(-12, 12))
scoreds = st.lists(lots, min_size=1, max_size=6).map(scored)


@settings(max_examples=200, deadline=None)
@given(films_of_passages, scores, st.booleans(), st.booleans())
def test_every_passage_lasts_exactly_from_cue_to_cue_and_keeps_the_limits(
    film: list[Passage],
    score: list[Cue],
    smooth: bool,  # noqa: FBT001
    ordered: bool,  # noqa: FBT001
) -> None:
    score = score[: len(film)]
    if ordered:
        score.sort(key=lambda cue: cue.time)
    limits = between(16, 26)
    met = meet(START, film, score, limits, smooth=smooth)
    now = START
    for passage, cue, one in zip(film, score, met, strict=True):
        slack = cue.tolerance if smooth else 0
        event(f"bound: {one.bound}")
        assert Fraction(1, 26) <= one.frame <= Fraction(1, 16)
        assert now == one.begins
        assert one.begins + passage.lasts(one.frame) == one.ends == cue.time + one.late
        assert (one.bound is None) == (abs(one.late) <= slack)
        if one.bound in {Bound.FASTEST, Bound.NOT_RISING}:
            assert one.late > 0
            assert passage.lasts(Fraction(1, 26)) == one.ends - one.begins
        if one.bound is Bound.SLOWEST:
            assert one.late < 0
            assert passage.lasts(Fraction(1, 16)) == one.ends - one.begins
        now = one.ends


@settings(max_examples=200, deadline=None)
@given(scoreds)
def test_a_score_that_some_speeds_meet_is_met_exactly(case: Scored) -> None:
    ends = accumulate(one.lasts(frame) for one, frame in zip(case.film, case.path, strict=True))
    score = cues(*ends)
    met = meet(START, case.film, score, WIDE, smooth=False)

    assert [0] * len(score) == lates(met)
    for passage, one, frame in zip(case.film, met, case.path, strict=True):
        assert one.frame == frame or not passage.free


@settings(max_examples=200, deadline=None)
@given(scoreds)
def test_smoothly_no_way_that_keeps_the_tolerances_changes_speed_less(case: Scored) -> None:
    met = meet(START, case.film, case.score, WIDE, smooth=True)
    own = frames_of(met)

    assert [None] * len(met) == bounds(met)
    assert changes(own) <= changes(case.path)
    assert changes(speeds(met)) <= changes([1 / frame for frame in case.path])
    if changes(own):  # one speed throughout may be any that the gates let pass
        assert min(case.path) <= min(own)
        assert max(own) <= max(case.path)


@settings(max_examples=200, deadline=None)
@given(scoreds)
def test_smoothly_speed_never_changes_more_than_from_cue_to_cue(case: Scored) -> None:
    strict = meet(START, case.film, case.score, WIDE, smooth=False)
    assume(all(abs(one.late) <= cue.tolerance for one, cue in zip(strict, case.score, strict=True)))

    met = meet(START, case.film, case.score, WIDE, smooth=True)

    assert changes(frames_of(met)) <= changes(frames_of(strict))


@settings(max_examples=100, deadline=None)
@given(
    films_of_passages,
    frame_durations,
    quarters(20),
)
def test_cues_at_the_times_of_one_speed_are_answered_by_that_speed_in_both_ways(
    film: list[Passage], frame: Fraction, tolerance: Fraction
) -> None:
    assume(film[0].free)  # else a title that does not give at that speed leaves it open
    ends = accumulate(passage.lasts(frame) for passage in film)
    score = cues(*ends, tolerance=tolerance)
    for smooth in (False, True):
        met = meet(START, film, score, WIDE, smooth=smooth)
        assert [frame] * len(film) == frames_of(met)
        assert [0] * len(film) == lates(met)


@settings(max_examples=100, deadline=None)
@given(
    films_of_passages,
    scores,
    st.integers(1, 81).map(lambda ninths: Fraction(ninths, 9)),
    st.integers(-81, 81).map(lambda ninths: Fraction(ninths, 9)),
    st.booleans(),
)
def test_all_times_scaled_and_shifted_are_met_by_durations_scaled_alike(
    film: list[Passage],
    score: list[Cue],
    scale: Fraction,
    shift: Fraction,
    smooth: bool,  # noqa: FBT001
) -> None:
    score = score[: len(film)]
    met = meet(START, film, score, between(16, 26), smooth=smooth)
    scaled = meet(
        shift,
        [in_other_seconds(passage, scale) for passage in film],
        [Cue(time=shift + scale * cue.time, tolerance=scale * cue.tolerance) for cue in score],
        between(16 / scale, 26 / scale),
        smooth=smooth,
    )

    assert [scale * one.frame for one in met] == [one.frame for one in scaled]
    assert [scale * one.late for one in met] == lates(scaled)


def in_other_seconds(passage: Passage, scale: Fraction) -> Passage:
    """Return a passage with every time multiplied."""
    limited = tuple(
        replace(
            shot,
            at_least=scale * shot.at_least,
            at_most=None if shot.at_most is None else scale * shot.at_most,
        )
        for shot in passage.limited
    )
    return replace(passage, fixed=scale * passage.fixed, limited=limited)


@settings(max_examples=200, deadline=None)
@given(films(free=True, reels=1, shots=4), quarters(240))
def test_one_cue_at_the_end_is_a_runtime_to_be_met(film: list[Segment], runtime: Fraction) -> None:
    assume(any(isinstance(one.pace, Free) and one.exactly is None for one in film))
    solved = solved_duration(film, runtime)
    assume(solved is not None)
    assert solved is not None
    limits = between(Fraction(1, 100), max(1 / solved, Fraction(1)))
    (met,) = meet(START, [passage_of(film)], cues(runtime), limits, smooth=False)

    assert runtime == met.ends == assemble(film, {}, met.frame).duration


def test_times_are_read_as_the_map_writes_them() -> None:
    # 12:40 into the score, 15 200 frames: 20 fps.
    (met,) = meet(START, frames(15200), cues(parse_time("12:40")), between(16, 26), smooth=False)

    assert 20 == met.speed.fps
