"""The support of every speed: closed forms, the rule once more in plain numbers, what must hold."""

from __future__ import annotations

from fractions import Fraction
from itertools import pairwise
from math import erfc, exp, log, pi, sqrt
from statistics import NormalDist
from typing import TYPE_CHECKING

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from made import item, link, says, speed, stated
from msgspec.structs import replace
from plainly import integral, log_support

from retime.evidence.curve import GRID, Curve, curve_of
from retime.evidence.model import Question, Sense
from retime.evidence.quantity import within
from retime.evidence.support import question_support

if TYPE_CHECKING:
    from collections.abc import Sequence

    from retime.evidence.model import Item, Link

SHOWING, TAKING, LOOKING = Question.SHOWING, Question.TAKING, Question.LOOKING
STEP = 0.002
"""From one speed of a curve to the next, in frames per second."""


def showing(*items: Item, links: Sequence[Link] = (), question: Question = SHOWING) -> Curve:
    curve = curve_of(items, links, question)
    assert curve is not None
    return curve


def moments(curve: Curve) -> tuple[float, float]:
    """Return mean and standard deviation of the logarithm of the speed."""
    weights = curve.density / curve.density.sum()
    mean = float(weights @ np.log(GRID))
    return mean, sqrt(float(weights @ (np.log(GRID) - mean) ** 2))


# Of one item, trust 1 and a flat prior: p(v) goes as exp(-(ln v - ln c)^2 / 2u^2). With y = ln v,
# dv = e^y dy, p(y) goes as exp(-(y - ln c)^2 / 2u^2 + y) = exp(-(y - ln c - u^2)^2 / 2u^2) times a
# constant: ln v is normal with the mean ln c + u^2 and the deviation u. So the median of v is
# c exp(u^2), its mean c exp(3/2 u^2), while its density is highest at c and falls alike in ln v to
# either side: the shortest range is c exp(-k) to c exp(k).
@pytest.mark.parametrize("share", [0.01, 0.03, 0.1])
def test_one_item_alone_makes_the_logarithm_of_the_speed_normal(share: float) -> None:
    curve, u = showing(stated("letter", 20, share)), share / sqrt(3)
    mean, deviation = moments(curve)
    weights = curve.density / curve.density.sum()

    assert log(20) + u**2 == pytest.approx(mean, abs=1e-6)
    assert u == pytest.approx(deviation, rel=1e-4)
    assert 20 == pytest.approx(curve.best, abs=STEP)
    assert 20 * exp(1.5 * u**2) == pytest.approx(float(weights @ GRID), abs=1e-4)
    assert 20 * exp(u**2) == pytest.approx(
        float(np.interp(0.5, np.cumsum(weights), GRID)), abs=STEP
    )


@pytest.mark.parametrize("share", [0.02, 0.1])
@pytest.mark.parametrize("held", [0.5, 0.9, 0.99])
def test_the_range_of_one_item_is_that_of_a_normal_distribution(share: float, held: float) -> None:
    u = share / sqrt(3)
    normal = NormalDist(u**2, u)
    near, far = 0.0, 10 * u
    for _ in range(60):
        k = (near + far) / 2
        near, far = (k, far) if normal.cdf(k) - normal.cdf(-k) < held else (near, k)
    ((low, high),) = showing(stated("letter", 20, share)).range(held)

    assert (20 * exp(-near), 20 * exp(near)) == pytest.approx((low, high), abs=2 * STEP)


def test_two_items_meet_at_their_mean_weighed_by_precision() -> None:
    """Logarithms of precisions p and q add to the mean (p a + q b) / (p + q), precision p + q."""
    first, second = 3 / 0.04**2, 3 / 0.02**2
    middle = (first * log(20) + second * log(21)) / (first + second)
    curve = showing(stated("letter", 20, 0.04), stated("notice", 21, 0.02))

    assert exp(middle) == pytest.approx(curve.best, abs=STEP)
    assert (middle + 1 / (first + second), 1 / sqrt(first + second)) == pytest.approx(
        moments(curve), abs=1e-5
    )


def test_without_trust_in_part_the_rest_is_spread_over_all_speeds() -> None:
    """The peak's integral is t W c exp(u^2 / 2), that of the rest (1 - t) (30 - 12)."""
    trust, u = 0.7, 0.03 / sqrt(3)
    peak = trust * log(30 / 12) * 20 * exp(u**2 / 2)
    rest = (1 - trust) * (30 - 12)
    density = showing(stated("letter", 20, 0.03, trust=trust)).density

    assert (1 - trust) / (peak + rest) == pytest.approx(float(density[0]), rel=1e-4)
    assert (1 - trust) / (peak + rest) == pytest.approx(float(density[-1]), rel=1e-4)
    assert 1 + trust * log(30 / 12) / (u * sqrt(2 * pi)) / (1 - trust) == pytest.approx(
        float(density[GRID.searchsorted(20)] / density[0]), rel=1e-4
    )
    held = float(density[(GRID > 17) & (GRID < 23)].sum() * STEP)
    assert (peak + (1 - trust) * 6) / (peak + rest) == pytest.approx(held, rel=1e-3)


@pytest.mark.parametrize("sense", [Sense.AT_LEAST, Sense.AT_MOST])
def test_a_limit_supports_its_own_speed_by_half_and_what_it_allows_wholly(sense: Sense) -> None:
    limit = says(within(Fraction(20), Fraction(1)), sense=sense)
    curve = showing(item("title", limit, trust=0.8))
    inside, outside = (14, 29) if sense is Sense.AT_MOST else (29, 14)

    supports = [exp(curve.log_at(speed(fps))) for fps in (inside, 20, outside)]
    assert [1, 0.8 * 0.5 + 0.2, 0.2] == pytest.approx(supports)
    assert NormalDist().cdf(-1) == pytest.approx(
        (exp(curve.log_at(speed(20 * exp(_off(sense))))) - 0.2) / 0.8
    )


def _off(sense: Sense) -> float:
    """Return how far one standard uncertainty past a limit of 20 within 1 is, in the logarithm."""
    u = 1 / 20 / sqrt(3)
    return u if sense is Sense.AT_MOST else -u


def test_of_speeds_supported_alike_the_best_is_the_end_they_reach_or_their_middle() -> None:
    """Far from a limit all is alike: of sharp ones at 18 and 24, what lies between them is."""
    least = item("booth", says(within(Fraction(18), Fraction(1, 9)), sense=Sense.AT_LEAST))
    most = item("title", says(within(Fraction(24), Fraction(1, 9)), sense=Sense.AT_MOST), trust=0.9)
    other_least = replace(least, trust=Fraction(1, 2))

    assert [30, 30, 12] == [showing(one).best for one in (least, other_least, most)]
    assert 21 == pytest.approx(showing(least, most).best, abs=0.1)
    # Two documents of one weight: one of the two speeds, not the middle of them.
    apart = [stated("letter", 16, 0.02, trust=0.5), stated("notice", 25, 0.02, trust=0.5)]
    assert 16 == pytest.approx(showing(*apart).best, abs=STEP)


def test_limits_that_contradict_one_another_wholly_meet_halfway() -> None:
    """Two limits of one uncertainty, all trust: what supports both is alike at their middle."""
    low = item("booth", says(within(Fraction(24), Fraction(24, 100)), sense=Sense.AT_LEAST))
    high = item("title", says(within(Fraction(15), Fraction(15, 100)), sense=Sense.AT_MOST))

    assert sqrt(24 * 15) == pytest.approx(showing(low, high).best, abs=STEP)


# Items of all senses, as the rule's own words take them.

SHARES = st.sampled_from([0.03, 0.05, 0.1, 0.2])
LIMITS = st.sampled_from([0.12, 0.2, 0.3])
SPEEDS = st.integers(130, 280).map(lambda tenths: Fraction(tenths, 10))
TRUSTS = st.sampled_from([0, 0.1, 0.5, 0.75, 0.95, 1])
GROUPS = st.sampled_from([None, None, None, "press", "archive"])


@st.composite
def items(draw: st.DrawFn, questions: Sequence[Question] = (SHOWING,), most: int = 6) -> list[Item]:
    made = []
    for number in range(draw(st.integers(1, most))):
        implied = []
        for _ in range(draw(st.sampled_from([1, 1, 1, 2, 3]))):
            sense, fps = draw(st.sampled_from(Sense)), draw(SPEEDS)
            share = draw(SHARES if sense is Sense.NEAR else LIMITS)
            implied.append(says(within(fps, fps * Fraction(share)), sense=sense))
        question = draw(st.sampled_from(questions))
        one = item(f"item {number}", *implied, trust=draw(TRUSTS), question=question)
        made.append(replace(one, group=draw(GROUPS)))
    return made


def of_all(told: Sequence[Item], links: Sequence[Link], question: Question) -> list[float]:
    """Return the logarithms of the support of nine speeds."""
    support, _ = question_support(told, links, question)
    return [float(at) for at in support(np.array(NINE))]


NINE = [12.0, 13.7, 16.0, 18.0, 19.3, 20.0, 22.0, 26.5, 30.0]


@settings(deadline=None)
@given(items())
def test_every_speed_is_supported_as_the_words_of_the_rule_say(told: list[Item]) -> None:
    plain = [log_support(told, [], SHOWING, fps) for fps in NINE]

    assert plain == pytest.approx(of_all(told, [], SHOWING), rel=1e-9, abs=1e-9)


@settings(deadline=None, max_examples=20)
@given(items(most=4))
def test_density_and_ranges_are_those_of_another_integration(told: list[Item]) -> None:
    curve = curve_of(told, [], SHOWING)
    if curve is None:
        assert not any(one.trust for one in told)
        return
    top = float(curve.logs.max())

    def height(fps: float) -> float:
        return exp(log_support(told, [], SHOWING, fps) - top)

    def mass(low: float, high: float) -> float:
        marks = {low, high}
        for implied in (implied for one in told for implied in one.implied):
            for k in range(-6, 7):
                marks.add(float(implied.speed.value) * exp(k * implied.speed.relative))
        return integral(height, sorted(m for m in marks if low <= m <= high), 1e-7)

    whole = mass(12, 30)
    for fps in (12, 15, 18, 22, 30):
        told_density = float(curve.density[round((fps - 12) / STEP)])
        assert height(fps) / whole == pytest.approx(told_density, rel=1e-4, abs=1e-9)
    ranges = curve.range(0.9)
    inside = sum(mass(low, high) for low, high in ranges)
    # One step of the grid to either side of every piece may be counted or not.
    ends = [end for piece in ranges for end in piece]
    loose = 2 * STEP * sum(height(end) for end in ends)
    assert 0.9 * whole == pytest.approx(inside, abs=loose + 1e-4 * whole)
    lowest = min(height((low + high) / 2) for low, high in ranges)
    edges = [12.0, *ends, 30.0]
    gaps = [(a + b) / 2 for a, b in pairwise(edges) if (a, b) not in ranges and b - a > 2 * STEP]
    assert all(height(gap) <= max(lowest, *map(height, ends)) * 1.01 for gap in gaps)


LINKS = [
    link(SHOWING, 1, 1.25, TAKING),
    link(TAKING, 0.75, 1.05, SHOWING),
    link(SHOWING, 0.96, 1.02, TAKING),
]


@settings(deadline=None, max_examples=15)
@given(items((SHOWING, TAKING), most=4), st.sampled_from(LINKS), st.sampled_from([SHOWING, TAKING]))
def test_a_link_lets_the_mean_over_its_factors_through(
    told: list[Item], joined: Link, asked: Question
) -> None:
    plain = [log_support(told, [joined], asked, fps) for fps in NINE]

    assert plain == pytest.approx(of_all(told, [joined], asked), rel=1e-3, abs=1e-3)


def test_two_links_in_a_row_let_the_mean_over_both_their_factors_through() -> None:
    told = [
        stated("crank", 18, 0.05, trust=0.9, question=TAKING),
        stated("notice", 21, 0.04, trust=0.8),
        stated("viewers", 22, 0.1, question=LOOKING),
    ]
    joined = [link(SHOWING, 1, 1.25, TAKING), link(SHOWING, 0.9, 1.1, LOOKING)]
    for asked in Question:
        plain = [log_support(told, joined, asked, fps, 60) for fps in NINE]
        assert plain == pytest.approx(of_all(told, joined, asked), rel=1e-3, abs=2e-3)


def test_exact_items_that_contradict_one_another_over_a_link_meet_between() -> None:
    """Far below the highest support there is still an order: the formula in plain numbers."""
    told = [stated("crank", 14, 0.01, question=TAKING), stated("notice", 22, 0.02)]
    joined = [link(SHOWING, 1, 1.1, TAKING)]
    finely = [15 + i / 50 for i in range(351)]
    plain = [log_support(told, joined, SHOWING, fps, 400) for fps in finely]
    curve = showing(*told, links=joined)

    assert finely[plain.index(max(plain))] == pytest.approx(curve.best, abs=0.03)
    assert max(plain) == pytest.approx(float(curve.logs.max()), rel=1e-3)
    assert 15.4 < curve.best < 22


@settings(deadline=None)
@given(items((TAKING,)), st.sampled_from([Fraction(3, 4), Fraction(1), Fraction(9, 8)]))
def test_a_link_of_one_factor_shifts_what_is_supported(told: list[Item], factor: Fraction) -> None:
    joined = [link(SHOWING, float(factor), float(factor), TAKING)]
    other_way = [link(TAKING, float(1 / factor), float(1 / factor), SHOWING)]
    plain = [log_support(told, [], TAKING, fps / float(factor)) for fps in NINE]

    assert plain == pytest.approx(of_all(told, joined, SHOWING), rel=1e-9, abs=1e-9)
    assert plain == pytest.approx(of_all(told, other_way, SHOWING), rel=1e-9, abs=1e-9)


def test_a_link_that_hardly_has_a_width_shifts_as_one_of_its_middle_does() -> None:
    told = [stated("crank", 18, 0.03, question=TAKING)]
    narrow, bare = link(SHOWING, 1.1, 1.10001, TAKING), link(SHOWING, 1.1, 1.1, TAKING)

    assert of_all(told, [bare], SHOWING) == pytest.approx(
        of_all(told, [narrow], SHOWING), rel=1e-3, abs=1e-3
    )


def test_nothing_goes_over_a_link_from_where_nothing_is_said() -> None:
    joined = [link(SHOWING, 1, 1.25, TAKING)]
    alone = stated("notice", 21, 0.04)

    assert of_all([alone], [], SHOWING) == of_all([alone], joined, SHOWING)
    assert frozenset({"notice"}) == showing(alone, links=joined, question=TAKING).items
    assert curve_of([alone], joined, LOOKING) is None


@settings(deadline=None)
@given(items((SHOWING, TAKING)), st.randoms(use_true_random=False))
def test_the_order_of_items_changes_nothing(told: list[Item], dice: object) -> None:
    assert hasattr(dice, "sample")
    mixed = dice.sample(told, len(told))

    assert of_all(told, LINKS[:1], SHOWING) == pytest.approx(
        of_all(mixed, LINKS[:1], SHOWING), rel=1e-9, abs=1e-9
    )


@settings(deadline=None)
@given(items(most=3), items(most=1), st.integers(1, 5))
def test_any_number_of_copies_weighs_as_one(
    others: list[Item], single: list[Item], count: int
) -> None:
    (original,) = single
    copies = [replace(original, id=f"copy {i}", group="copies") for i in range(count)]

    assert of_all([*others, replace(original, group=None)], [], SHOWING) == pytest.approx(
        of_all([*others, *copies], [], SHOWING), rel=1e-9, abs=1e-9
    )


@settings(deadline=None)
@given(items((SHOWING, TAKING), most=4), items((SHOWING, TAKING), most=2))
def test_what_is_not_trusted_at_all_is_as_absent(told: list[Item], doubted: list[Item]) -> None:
    """In a group too: members without trust do not thin what the others say."""
    untrusted = [replace(one, id=f"{one.id}, doubted", trust=Fraction(0)) for one in doubted]
    for asked in (SHOWING, TAKING):
        assert of_all(told, LINKS[:1], asked) == of_all([*told, *untrusted], LINKS[:1], asked)
        with_them = question_support([*told, *untrusted], LINKS[:1], asked)[1]
        assert question_support(told, LINKS[:1], asked)[1] == with_them


def test_copies_that_differ_meet_at_their_mean_weighed_by_trust() -> None:
    """Geometric means of normal supports of one width: at the mean, but as wide as one."""
    first = stated("evening", 19, 0.03, trust=1, group="press")
    second = stated("morning", 21, 0.03, trust=1, group="press")
    thrice = replace(second, trust=Fraction(1), id="weekly")
    curve = showing(first, second, thrice)
    _, deviation = moments(curve)

    assert exp((log(19) + 2 * log(21)) / 3) == pytest.approx(curve.best, abs=STEP)
    assert 0.03 / sqrt(3) == pytest.approx(deviation, rel=1e-3)


def test_far_below_a_limit_the_share_of_the_normal_distribution_is_still_told() -> None:
    """Mills' ratio for the far tail: Q(x) = phi(x) / x (1 - 1/x^2 + 3/x^4 - ...)."""
    limit = item("booth", says(within(Fraction(28), Fraction(28, 100)), sense=Sense.AT_LEAST))
    u = 0.01 / sqrt(3)
    for fps in (12, 20, 24, 26):
        x = log(28 / fps) / u
        tail = -x * x / 2 - log(x * sqrt(2 * pi)) + log(1 - 1 / x**2 + 3 / x**4 - 15 / x**6)
        assert tail == pytest.approx(showing(limit).log_at(speed(fps)), rel=1e-6, abs=1e-3)
    close = log(erfc(2 / sqrt(2)) / 2)
    assert close == pytest.approx(showing(limit).log_at(speed(28 * exp(-2 * u))), abs=1e-9)
