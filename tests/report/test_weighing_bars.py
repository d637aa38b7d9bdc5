"""What is drawn of items: their own bounds, and over a link as wide as the link makes them."""

from __future__ import annotations

from fractions import Fraction

import pytest
from weighings import LINK, answer_to, camera, everything, evidence, flicker, instruction, weighed

from retime.evidence.model import Link, Question, Sense
from retime.evidence.weighing import weigh
from retime.report.weighing_bars import bars_of, reach, span_of


def test_an_item_of_the_question_itself_is_drawn_with_its_bounds_and_its_trust() -> None:
    told = evidence(instruction(trust=Fraction(4, 5)))
    (bar,) = bars_of(told, answer_to(Question.SHOWING, weigh(told)))

    # 80 ft/min within 4 at 16 frames to the foot.
    assert (76 * 16 / 60, 80 * 16 / 60, 84 * 16 / 60) == pytest.approx(
        (bar.low, bar.centre, bar.high)
    )
    assert (None, 0.8, "letter") == (bar.over, bar.trust, bar.label)


def test_an_item_over_a_link_is_as_wide_as_the_link_makes_it_in_either_direction() -> None:
    told = evidence(camera(), instruction(), links=[LINK])  # showing is 1 to 1.25 of taking
    weighing = weigh(told)
    _, crank = bars_of(told, answer_to(Question.SHOWING, weighing))
    _, letter = bars_of(told, answer_to(Question.TAKING, weighing))

    assert (17.1, 18.9 * 1.25) == pytest.approx((crank.low, crank.high))
    assert (76 * 16 / 60 / 1.25, 84 * 16 / 60) == pytest.approx((letter.low, letter.high))
    assert (Question.TAKING, None) == (crank.over, crank.centre)
    assert Question.SHOWING is letter.over


def test_links_reach_as_far_as_they_join() -> None:
    onward = Link(
        question=Question.LOOKING, low=Fraction(9, 10), high=Fraction(11, 10), of=Question.SHOWING
    )

    assert {
        Question.LOOKING: (Fraction(1), Fraction(1)),
        Question.SHOWING: (Fraction(9, 10), Fraction(11, 10)),
        Question.TAKING: (Fraction(9, 10), Fraction(11, 8)),
    } == reach([LINK, onward], Question.LOOKING)
    assert {
        Question.TAKING: (Fraction(1), Fraction(1)),
        Question.SHOWING: (Fraction(4, 5), Fraction(1)),
        Question.LOOKING: (Fraction(8, 11), Fraction(10, 9)),
    } == reach([onward, LINK], Question.TAKING)
    assert {Question.TAKING: (Fraction(1), Fraction(1))} == reach([onward], Question.TAKING)


def test_a_limit_is_drawn_as_one() -> None:
    told = evidence(flicker())
    (bar,) = bars_of(told, answer_to(Question.SHOWING, weigh(told)))

    assert (Sense.AT_LEAST, 15, 16, 17) == (bar.sense, bar.low, bar.centre, bar.high)


def test_the_span_holds_every_candidate_and_what_every_item_says() -> None:
    told = everything()
    slow, fast = span_of(told, weighed(told))

    assert 12 <= slow < min(float(one.fps) for one in told.candidates)
    assert fast <= 30
    for answer in weighed(told).answers:
        for bar in bars_of(told, answer):
            assert bar.centre is None or slow < bar.centre < fast


def test_the_span_is_never_so_short_that_nothing_can_be_compared() -> None:
    told = evidence(instruction(), candidates=(21,))
    slow, fast = span_of(told, weigh(told))

    assert fast - slow >= 8
    assert {slow, fast} == {int(slow), int(fast)}
