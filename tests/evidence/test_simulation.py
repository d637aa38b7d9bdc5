"""Films whose speed is known, and documents about them drawn as they state: what is said is true.

Every figure here is a share of many drawn films; the dice are seeded, so that it is always the
same. The bounds leave room for what other dice would show.
"""

from __future__ import annotations

from math import exp, log, sqrt
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
import pytest
from made import FRAMES, evidence, link, runtime, speed, stated

from retime.evidence.conflicts import conflicts, suspect
from retime.evidence.curve import Curve, curve_of
from retime.evidence.model import Question
from retime.evidence.verdict import Standing, verdict_on
from retime.evidence.weighing import weigh

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from retime.evidence.model import Item, Link

RUNS, FEWER = 2000, 500
SPAN = log(12), log(30)
SHOWING, TAKING = Question.SHOWING, Question.TAKING
LINKS = [[], [link(SHOWING, 1, 1.25, TAKING)]]


def curve(items: Sequence[Item], links: Sequence[Link] = (), about: Question = SHOWING) -> Curve:
    told = curve_of(items, links, about)
    assert told is not None
    return told


def held(told: Curve, fps: float) -> bool:
    """Say whether the 90 % range holds a speed."""
    return any(low <= fps <= high for low, high in told.range(0.9))


def document(name: str, fps: float, share: float, error: float, trust: float = 1) -> Item:
    """Return a document that states a bound and errs by so much of it: a speed, or minutes."""
    if name.endswith(("0", "3", "6")):
        seconds = FRAMES / fps
        by = round(seconds * share, 3)
        return runtime(name, round(seconds + error * by, 3), by, trust=trust)
    return stated(name, round(fps * (1 + share * error), 4), round(share, 4), trust=trust)


class Draws(NamedTuple):
    """How documents err, and the share of those to be trusted."""

    error: Callable[[np.random.Generator], float]
    trust: float = 1


UNIFORM = Draws(lambda dice: float(dice.uniform(-1, 1)))
NORMAL = Draws(lambda dice: float(dice.normal(0, 0.5)))


def coverage(draws: Draws) -> float:
    """Return the share of films whose speed lies in the 90 % range."""
    dice = np.random.default_rng(1895)
    found = 0
    for _ in range(RUNS):
        fps = dice.uniform(14, 28)
        told = []
        for number in range(dice.integers(3, 9)):
            share = dice.uniform(0.01, 0.08)
            if dice.random() < draws.trust:
                told.append(document(f"{number}", fps, share, draws.error(dice), draws.trust))
            else:
                told.append(document(f"{number}", dice.uniform(12, 30), share, 0, draws.trust))
        found += held(curve(told), fps)
    return found / RUNS


def test_the_range_of_nine_tenths_holds_the_truth_nine_times_in_ten() -> None:
    assert 0.85 <= coverage(UNIFORM) <= 0.95


def test_bounds_of_two_deviations_are_covered_a_little_more() -> None:
    """A normal error of half the bound is smaller than the rectangle's, bound over root 3.

    So 1.645 deviations of the rectangle are 1.899 of the error: 94.2 % of a normal distribution.
    """
    covered = coverage(NORMAL)

    assert 0.942 == pytest.approx(covered, abs=0.015)
    assert 0.85 <= covered <= 0.95


def test_documents_that_err_as_the_rule_supposes_are_covered_just_as_it_says() -> None:
    """Normal errors in the logarithm, any speed alike where it may be and where none is meant."""
    dice = np.random.default_rng(1896)
    found = 0
    for _ in range(RUNS):
        fps = dice.uniform(12, 30)
        told = []
        for number in range(dice.integers(1, 6)):
            u = dice.uniform(0.01, 0.05)
            right = dice.random() < 0.75
            says_fps = fps * exp(u * dice.normal()) if right else exp(dice.uniform(*SPAN))
            told.append(stated(f"{number}", says_fps, u * sqrt(3), trust=0.75))
        found += held(curve(told), fps)

    assert 0.9 == pytest.approx(found / RUNS, abs=0.02)  # three deviations of a share of 2,000


def test_documents_that_say_anything_do_not_mislead_where_trust_says_how_many() -> None:
    assert 0.85 <= coverage(UNIFORM._replace(trust=0.75)) <= 0.95


def standings(true: Sequence[float], share: tuple[float, float]) -> list[tuple[Standing, bool]]:
    """Return how two candidates stand, the first of them true, and whether it leads."""
    dice = np.random.default_rng(1900)
    told = []
    for _ in range(FEWER):
        items = [
            document(f"{number}", true[0], dice.uniform(*share), dice.uniform(-1, 1))
            for number in range(dice.integers(3, 9))
        ]
        verdict = verdict_on(curve(items), [speed(fps) for fps in true])
        told.append((verdict.standing, verdict.presentable[:1] == (speed(true[0]),)))
    return told


def test_candidates_much_nearer_than_the_documents_are_exact_cannot_be_told_apart() -> None:
    told = standings((20, 20.1), (0.05, 0.08))

    assert sum(standing is Standing.UNDECIDED for standing, _ in told) >= 0.95 * FEWER


def test_candidates_far_apart_are_told_apart_and_the_true_one_leads() -> None:
    told = standings((18, 22), (0.02, 0.06))

    assert sum(one == (Standing.LEADING, True) for one in told) >= 0.95 * FEWER


def taken_and_shown(dice: np.random.Generator, share: float) -> list[Item]:
    """Return three documents each that a film was taken at 18 and shown at 22."""
    return [
        stated(
            f"{about} {number}",
            fps * (1 + share * float(dice.uniform(-1, 1))),
            share,
            question=about,
            trust=0.95,
        )
        for about, fps in ((TAKING, 18), (SHOWING, 22))
        for number in range(3)
    ]


@pytest.mark.parametrize("links", LINKS, ids=["unlinked", "linked"])
def test_taking_at_18_and_showing_at_22_are_two_answers_and_not_20(links: Sequence[Link]) -> None:
    items = taken_and_shown(np.random.default_rng(1911), 0.05)
    answers = {a.question: a for a in weigh(evidence(items, [16, 18, 20, 22, 24], links)).answers}

    assert {TAKING, SHOWING} == set(answers)
    for question, fps in ((TAKING, 18), (SHOWING, 22)):
        answer = answers[question]
        assert fps == pytest.approx(answer.curve.best, rel=0.05)
        assert speed(fps) == answer.verdict.presentable[0]
        assert held(answer.curve, fps)
        assert not held(answer.curve, 20)


@pytest.mark.parametrize("links", LINKS, ids=["unlinked", "linked"])
def test_two_speeds_are_told_apart_whatever_the_documents_errors(links: Sequence[Link]) -> None:
    dice = np.random.default_rng(1912)
    within = apart = 0
    for _ in range(200):
        items = taken_and_shown(dice, 0.05)
        taken, shown = curve(items, links, TAKING), curve(items, links, SHOWING)
        within += 17.1 <= taken.best <= 18.9 and 20.9 <= shown.best <= 23.1
        apart += not held(taken, 20) and not held(shown, 20)

    assert within == 200
    assert apart >= 196


def with_one_wrong(dice: np.random.Generator) -> list[Item]:
    """Return four to seven honest documents, and one that is off by six to ten times its 2 %."""
    fps = float(dice.uniform(16, 24))
    items = [
        document(f"{number}", fps, dice.uniform(0.01, 0.08), dice.uniform(-1, 1), 0.9)
        for number in range(dice.integers(4, 8))
    ]
    off = float(dice.uniform(0.12, 0.20) * dice.choice([-1, 1]))
    wrong = stated("wrong", round(fps * (1 + off), 4), 0.02, trust=0.9)
    items.insert(int(dice.integers(len(items) + 1)), wrong)
    return items


def test_a_document_with_a_mis_stated_tolerance_is_named() -> None:
    """Of the documents that contradict one another, and as the one that most others contradict."""
    dice = np.random.default_rng(1920)
    contradicted = suspected = accused = 0
    for _ in range(RUNS):
        items = with_one_wrong(dice)
        found = conflicts(items, [])
        contradicted += any("wrong" in {one.slower, one.faster} for one in found)
        suspected += suspect(found, items) == "wrong"
        accused += suspect(found, items) not in {"wrong", None}

    assert contradicted >= 0.98 * RUNS
    assert suspected >= 0.9 * RUNS
    assert accused == 0


def test_a_document_with_a_mis_stated_tolerance_does_not_turn_the_verdict() -> None:
    """Trusted by nine tenths, what stands far off the others is outvoted by them."""
    dice = np.random.default_rng(1921)
    alike = 0
    for _ in range(FEWER):
        items = with_one_wrong(dice)
        honest = [one for one in items if one.id != "wrong"]
        candidates = [speed(fps) for fps in (16, 18, 20, 22, 24)]
        verdicts = [verdict_on(curve(told), candidates) for told in (items, honest)]
        alike += verdicts[0].presentable == verdicts[1].presentable

    assert alike >= 0.95 * FEWER
