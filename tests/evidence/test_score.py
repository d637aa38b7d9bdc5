"""How a score's sections fit together: by hand, by least squares, and where the truth is known."""

from __future__ import annotations

from fractions import Fraction
from itertools import pairwise
from math import log, pi, sqrt
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from made import section
from msgspec.structs import replace

from retime.evidence.runs import Point, mean_of, runs_of, scatter_of
from retime.evidence.score import Section, Standing, fit_score

if TYPE_CHECKING:
    from collections.abc import Sequence

    from retime.evidence.quantity import Quantity
    from retime.evidence.score import ScoreFit

RUNS = 2000
ROOT = sqrt(3)


def test_two_sections_by_hand() -> None:
    """20 fps within 2 % and 1000/48 within 4 %: relative uncertainties 2 % and 4 % over root 3.

    Weights 3 / 0.02^2 = 7500 and 1875; ln(1000/48 / 20) = 0.0408220, a fifth of which is 0.0081644:
    20 exp(0.0081644) = 20.16396. Uncertainty 1 / sqrt(9375) = 1.03280 %. Residuals squared and
    weighed: 7500 x 0.0081644^2 + 1875 x 0.0326576^2 = 0.49993 + 1.99972 = 2.49965, over 1 degree
    of freedom; its root is 1.58103. (Birge 1932; from memory.)
    """
    fit = fit_score([section("one", 1000, 50, 0.02), section("two", 1000, 48, 0.04)])

    assert fit.one_speed
    assert 20.16396 == pytest.approx(float(fit.speed.value), abs=1e-5)
    assert 1.58103 == pytest.approx(fit.scatter, abs=1e-5)
    assert 0.0103280 * 1.58103 == pytest.approx(fit.speed.relative, rel=1e-5)


def test_a_section_alone_says_its_own_speed() -> None:
    fit = fit_score([section("all", 1800, 90, 0.03)])

    assert (20, 0.03 / ROOT, 1) == pytest.approx(
        (float(fit.speed.value), fit.speed.relative, fit.scatter)
    )
    assert [(0, fit.speed)] == list(fit.runs)
    assert [Standing.FITS] == [one.standing for one in fit.sections]


def test_what_was_cut_is_the_music_less_the_film_at_the_others_speed() -> None:
    """Four sections at 20 fps; the fifth's music asks for 2000 frames, of which it has 1500."""
    whole = [section(f"{number}", 1000, 50, 0.02) for number in range(4)]
    cut, added = section("cut", 1500, 100, 0.02), section("added", 2300, 100, 0.02)
    last = fit_score([*whole, cut]).sections[-1]
    longer = fit_score([*whole, added]).sections[-1]

    assert (Standing.MISSING, Standing.ADDED) == (last.standing, longer.standing)
    assert last.frames is not None
    assert longer.frames is not None
    assert 500 == pytest.approx(float(last.frames.value))
    assert 300 == pytest.approx(float(longer.frames.value))
    # 20 fps is known to 2 % over root 3 and over the root of 4, the 100 seconds to 2 % over root 3.
    expected = 2000 * sqrt((0.02 / ROOT / 2) ** 2 + (0.02 / ROOT) ** 2)
    assert expected == pytest.approx(last.frames.uncertainty)
    assert expected == pytest.approx(longer.frames.uncertainty)


@pytest.mark.parametrize("seed", range(8))
def test_the_common_speed_is_that_of_weighed_least_squares(seed: int) -> None:
    dice = np.random.default_rng(seed)
    logs, doubts = log(20) + 0.02 * dice.normal(size=9), dice.uniform(0.01, 0.03, 9)
    points = [Point(float(at), float(doubt)) for at, doubt in zip(logs, doubts, strict=True)]
    places = np.arange(9)
    (told,), stated = np.polyfit(places, logs, 0, w=1 / doubts, cov="unscaled")
    _, scaled = np.polyfit(places, logs, 0, w=1 / doubts, cov=True)

    assert (told, sqrt(stated[0, 0])) == pytest.approx(mean_of(points))
    assert max(1.0, sqrt(scaled[0, 0] / stated[0, 0])) == pytest.approx(scatter_of([points]))


# The division into runs, by integration over what is not known.


def evidence_for(runs: Sequence[Sequence[float]], doubt: float, scatter: float) -> float:
    """Return the logarithm of the mean likelihood over all levels from 12 to 30, alike in ln."""
    total = 0.0
    width = doubt * scatter
    for run in runs:
        steps = np.linspace(log(12), log(30), 8_001)
        residuals = (np.array(run)[:, None] - steps) / width
        likelihood = np.exp(-(residuals**2).sum(axis=0) / 2) / (width * sqrt(2 * pi)) ** len(run)
        total += log(float(np.trapezoid(likelihood, steps)) / log(30 / 12))
    return total


@pytest.mark.parametrize("doubt", [0.005, 0.02])
def test_two_runs_are_told_once_they_are_more_probable_than_one(doubt: float) -> None:
    """Pairs of sections some way apart, the scatter the likeliest that is not below 1.

    Two runs are half as probable as one before, and four sections divide in one way only.
    """

    def odds(apart: float) -> float:
        low, high = log(20) - apart / 2, log(20) + apart / 2
        one = max(evidence_for([[low, low, high, high]], doubt, 1 + x / 40) for x in range(200))
        two = max(evidence_for([[low, low], [high, high]], doubt, 1 + x / 40) for x in range(3))
        return two - log(2) - one

    def several(apart: float) -> bool:
        at = [log(20) + sign * apart / 2 for sign in (-1, -1, 1, 1)]
        return len(runs_of([Point(one, doubt) for one in at])) > 1

    near, far = 0.0, 30 * doubt
    assert not several(near)
    assert several(far)
    for _ in range(20):
        middle = (near + far) / 2
        near, far = (near, middle) if several(middle) else (middle, far)

    assert odds(near * 0.99) < 0 < odds(near * 1.01)


# Scores whose truth is known.


class Score(NamedTuple):
    """A drawn score: its sections, where the second half begins, and what was cut from where."""

    sections: list[Section]
    half: int
    cut: int
    length: int


class Kind(NamedTuple):
    """What scores are like: two speeds or one, how times err, and whether something is cut."""

    speeds: tuple[float, float] | None = None
    sloppy: float = 1
    cut: bool = False
    normal: bool = False


def drawn(dice: np.random.Generator, kind: Kind) -> Score:
    """Draw a score of 6 to 12 sections whose times are stated within 1 to 4 %."""
    count = int(dice.integers(6, 13))
    half, cut, length = count // 2, int(dice.integers(count)), 0
    slow, fast = kind.speeds or [float(dice.uniform(16, 24))] * 2
    sections = []
    for number in range(count):
        frames, share = int(dice.integers(1500, 9000)), round(float(dice.uniform(0.01, 0.04)), 4)
        error = float(dice.normal() / ROOT if kind.normal else dice.uniform(-1, 1))
        seconds = frames / (slow if number < half else fast) * (1 + kind.sloppy * share * error)
        if kind.cut and number == cut:
            # More than three uncertainties of the section, and three of what hides it.
            hidden = 6 * kind.sloppy * share / ROOT
            length = int(frames * dice.uniform(hidden + 0.03, hidden + 0.3))
            frames -= length
        sections.append(section(f"{number}", frames, round(seconds, 2), share))
    return Score(sections, half, cut, length)


class Told(NamedTuple):
    """A drawn score, and what was said of it."""

    score: Score
    fit: ScoreFit

    @property
    def apart(self) -> list[int]:
        """The sections that stick out."""
        return [i for i, one in enumerate(self.fit.sections) if one.standing is not Standing.FITS]

    @property
    def found(self) -> Quantity:
        """What is missing of the section that was cut."""
        frames = self.fit.sections[self.score.cut].frames
        assert frames is not None
        return frames


def many(kind: Kind, runs: int = RUNS) -> list[Told]:
    dice = np.random.default_rng(1915)
    scores = [drawn(dice, kind) for _ in range(runs)]
    return [Told(score, fit_score(score.sections)) for score in scores]


def share(counted: Sequence[bool]) -> float:
    return sum(counted) / len(counted)


def test_the_section_that_was_cut_is_named_with_what_it_lost() -> None:
    told = many(Kind(cut=True))
    named = [one for one in told if one.score.cut in one.apart]

    assert len(named) >= 0.99 * RUNS
    assert share([one.apart == [one.score.cut] for one in told]) >= 0.98
    assert all(one.fit.sections[one.score.cut].standing is Standing.MISSING for one in named)
    assert share([one.fit.one_speed for one in told]) >= 0.99
    off = [abs(float(one.found.value) - one.score.length) / one.found.uncertainty for one in named]
    assert share([by <= 2 for by in off]) >= 0.9
    inside = [one.found.low <= one.score.length <= one.found.high for one in named]
    assert share(inside) >= 0.95


def test_nothing_is_named_and_no_change_of_speed_told_where_there_is_none() -> None:
    told = many(Kind())

    assert share([not one.apart for one in told]) >= 0.95
    assert share([one.fit.one_speed for one in told]) >= 0.95
    assert share([one.fit.scatter < 1.5 for one in told]) >= 0.95


def test_two_speeds_are_told_as_two_runs_that_part_at_the_right_section() -> None:
    told = many(Kind(speeds=(18, 22)))
    right = [one for one in told if [first for first, _ in one.fit.runs] == [0, one.score.half]]

    assert len(right) >= 0.9 * RUNS
    # No section sticks out for being of the other speed, and the sections scatter as they state.
    assert share([not one.apart for one in told]) >= 0.95
    assert share([one.fit.scatter < 2 for one in told]) >= 0.95
    for run, fps in ((0, 18), (1, 22)):
        speeds = [one.fit.runs[run][1] for one in right]
        off = [abs(float(one.value) - fps) / one.uncertainty for one in speeds]
        assert share([by <= 2 for by in off]) >= 0.9


def test_a_sloppy_composer_is_told_by_the_scatter_and_nothing_is_named() -> None:
    told = many(Kind(sloppy=3))

    assert 3 == pytest.approx(float(np.median([one.fit.scatter for one in told])), rel=0.15)
    assert share([not one.apart for one in told]) >= 0.8
    assert share([one.fit.one_speed for one in told]) >= 0.95


def test_what_was_cut_under_a_sloppy_composer_is_as_uncertain_as_the_others_scatter() -> None:
    scores = many(Kind(sloppy=3, cut=True, normal=True), 500)
    told = [one for one in scores if one.score.cut in one.apart]

    assert len(told) >= 0.95 * 500
    off = [abs(float(one.found.value) - one.score.length) / one.found.uncertainty for one in told]
    assert share([by <= 2 for by in off]) >= 0.85


# What must hold of any score.

SECTIONS = st.lists(
    st.builds(
        lambda frames, tenths, percent: section("any", frames, frames * 10 / tenths, percent / 100),
        st.integers(1, 40_000),
        st.integers(50, 600),
        st.integers(1, 50),
    ),
    min_size=1,
    max_size=9,
)


@settings(deadline=None)
@given(SECTIONS)
def test_any_score_is_told_whole(sections: list[Section]) -> None:
    fit = fit_score(sections)
    speeds = [float(one.speed.value) for one in sections]
    starts = [first for first, _ in fit.runs]

    assert sections == [one.section for one in fit.sections]
    assert 0 == starts[0]
    assert sorted(set(starts)) == starts
    assert all(last - first >= 2 for first, last in pairwise(starts))
    assert 0 < fit.speed.low
    for _, told in fit.runs:
        assert fit.speed.low <= told.low <= told.high <= fit.speed.high
        assert min(speeds) - 1e-9 <= float(told.value) <= max(speeds) + 1e-9
    for one in fit.sections:
        assert (one.frames is None) == (one.standing is Standing.FITS)
        assert one.frames is None or one.frames.value >= 0
    assert fit.scatter >= 1
    # Most sections stand together in any run.
    assert sum(one.standing is Standing.FITS for one in fit.sections) * 2 >= len(sections)


@settings(deadline=None)
@given(SECTIONS, st.sampled_from([Fraction(1, 2), Fraction(3, 4), Fraction(2)]))
def test_music_played_slower_makes_all_speeds_slower_alike(
    sections: list[Section], factor: Fraction
) -> None:
    slower = [replace(one, seconds=one.seconds.times(factor)) for one in sections]
    before, after = fit_score(sections), fit_score(slower)

    assert [one.standing for one in before.sections] == [one.standing for one in after.sections]
    assert float(before.speed.value) == pytest.approx(float(after.speed.value * factor))
    assert before.scatter == pytest.approx(after.scatter)


def test_of_two_speeds_no_mean_is_told_but_anything_from_one_to_the_other() -> None:
    """As uncertain as a rectangle from 18 to 22 at the least, however many sections there are."""
    told = [section(f"{i}", 1800, 100 if i < 20 else 1800 / 22, 0.01) for i in range(40)]
    fit = fit_score(told)

    assert [0, 20] == [first for first, _ in fit.runs]
    assert fit.speed.low <= 18
    assert 22 <= fit.speed.high
    assert 4 / 2 / ROOT == pytest.approx(fit.speed.uncertainty, rel=0.1)


def test_what_was_cut_is_told_by_the_speed_of_its_own_run() -> None:
    """100 s of music at 22 fps ask for 2200 frames, of which 1700 are there: 500 are missing."""
    slow = [section(f"{i}", 1800, 100, 0.02) for i in range(4)]
    fast = [section(f"{i}", 1700 if i == 6 else 2200, 100, 0.02) for i in range(4, 9)]
    fit = fit_score([*slow, *fast])

    assert [0, 4] == [first for first, _ in fit.runs]
    assert [6] == [i for i, one in enumerate(fit.sections) if one.standing is not Standing.FITS]
    assert fit.sections[6].frames is not None
    assert 500 == pytest.approx(float(fit.sections[6].frames.value))


def test_a_lone_section_that_sticks_out_is_no_change_of_speed() -> None:
    at = [log(20)] * 4 + [log(26)] + [log(20)] * 4
    (run,) = runs_of([Point(one, 0.02) for one in at])

    assert frozenset(range(9)) - {4} == run.kept
