"""A weighing in sentences: each says which question it answers, in words that are published.

The words for factors are those of R. E. Kass and A. E. Raftery, "Bayes Factors", J. Am. Stat.
Assoc. 90 (1995): up to 3 not worth more than a bare mention, up to 20 positive, up to 150 strong,
above that very strong (from memory).
"""

from __future__ import annotations

from fractions import Fraction
from math import exp, log, sqrt
from typing import TYPE_CHECKING

import pytest
from weighings import (
    LINK,
    answer_to,
    camera,
    cue_sheet,
    everything,
    evidence,
    flicker,
    instruction,
    legibility,
    runtime,
    speed_item,
    viewing,
    walk,
    weighed,
)

from retime.evidence.model import Kind, Question
from retime.evidence.quantity import around, within
from retime.evidence.weighing import weigh
from retime.report.weighing_doubts import (
    carrier_said,
    conflict_said,
    settling_said,
    settling_title,
    spoken_for_said,
    suspect_said,
)
from retime.report.weighing_words import (
    best_said,
    groups_said,
    left_out_said,
    link_said,
    notes_on,
    overall_said,
    presented_said,
    strengths_of,
    verdict_said,
)

if TYPE_CHECKING:
    from collections.abc import Sequence

    from retime.evidence.model import Item, Link
    from retime.evidence.weighing import Answer


def answered(
    *items: Item,
    candidates: Sequence[int] = (20, 22),
    question: Question = Question.SHOWING,
    links: Sequence[Link] = (),
) -> Answer:
    return answer_to(question, weigh(evidence(*items, candidates=candidates, links=links)))


def stated(fps: float, doubt: float, name: str = "letter") -> Item:
    """Return an instruction of a speed with a standard uncertainty, in frames per second."""
    return speed_item(name, around(Fraction(fps), Fraction(doubt)))


def factor_between(fps: float, doubt: float, first: float, second: float) -> float:
    """Return the ratio of two normal densities of the logarithm, written out."""
    u = doubt / fps
    return exp((log(second / fps) ** 2 - log(first / fps) ** 2) / (2 * u**2))


def test_candidates_within_a_factor_of_three_are_told_as_undecided() -> None:
    expected = factor_between(20.8, 1.4, 20, 22)

    assert 1.05 < expected < 3
    assert (
        "The speed at which it was shown: undecided. 20 and 22 fps cannot be told apart (factor "
        f"{expected:.1f}, not worth more than a bare mention); both are worth presenting."
    ) == verdict_said(answered(stated(20.8, 1.4)))


def test_three_that_cannot_be_told_apart_are_told_with_the_factor_between_first_and_last() -> None:
    said = verdict_said(answered(stated(20.9, 2), candidates=(20, 21, 22)))

    assert "20, 21 and 22 fps cannot be told apart (the first and the last by a factor of " in said
    assert said.endswith("all of them are worth presenting.")


def test_a_leader_is_told_with_its_factor_over_the_next_and_the_published_words() -> None:
    expected = factor_between(20, 0.75, 20, 22)

    assert 20 < expected < 150
    assert (
        "The speed at which it was taken: 20 fps leads. It is supported "
        f"{float(f'{expected:.1e}'):.0f} times as much as 22 fps, the next (strong)."
    ) == verdict_said(
        answered(
            speed_item("note", around(Fraction(20), Fraction(3, 4)), Kind.CAMERA),
            question=Question.TAKING,
        )
    )


def test_where_another_speed_is_far_better_supported_none_of_the_candidates_is_told() -> None:
    said = verdict_said(answered(stated(16, 0.5)))

    assert said.startswith("The speed at which it was shown: none of the candidates. 16.0 fps is ")
    assert "20 fps, the best of them (very strong)" in said


def test_a_speed_that_is_no_candidate_is_told_where_it_is_worth_more_than_a_mention() -> None:
    factor = factor_between(21.2, 0.4, 21.2, 22)

    assert 3 < factor < 20
    assert verdict_said(answered(stated(21.2, 0.4), candidates=(19, 22))).endswith(
        " But 21.2 fps, which is no candidate, is supported "
        f"{factor:.1f} times as much as 22 fps (positive)."
    )
    assert factor_between(21.2, 0.6, 21.2, 22) < 3
    assert "But" not in verdict_said(answered(stated(21.2, 0.6), candidates=(19, 22)))


def test_a_single_candidate_stands_or_does_not() -> None:
    assert (
        "The speed at which it looks right: 20 fps, the only candidate, stands."
    ) == verdict_said(answered(viewing(), candidates=(20,), question=Question.LOOKING))
    assert "none of the candidates" in verdict_said(
        answered(viewing(), candidates=(30,), question=Question.LOOKING)
    )


def test_pairs_are_put_under_the_published_words_the_weakest_first() -> None:
    told = dict(strengths_of(answered(stated(20, 1), candidates=(18, 20, 22, 24))))
    order = [
        "not worth more than a bare mention",
        "positive",
        "strong",
        "very strong",
    ]

    assert list(told) == [words for words in order if words in told]
    for words, pairs in told.items():
        for pair in pairs.split("), "):
            first, _, second, found = pair.replace("(", "").replace(")", "").split(" ", 3)
            factor = factor_between(20, 1, float(first), float(second))
            bounds = {"positive": (3, 20), "strong": (20, 150), "very strong": (150, 1e9)}
            low, high = bounds.get(words, (1, 3))
            assert low <= factor <= high, pair
            assert found == (f"{factor:.1f}" if factor < 10 else f"{float(f'{factor:.1e}'):,.0f}")


TOGETHER = {
    "two": ([camera(), stated(22, 0.3)], "Taken at about 18, shown at about 22: two answers."),
    "one": ([camera(), stated(18, 0.3)], "Taken at about 18, shown at about 18: one answer."),
    "shared": (
        [camera(), stated(19, 0.8)],
        "Taken at about 18, shown at 18 or 20: 18 fps would answer both.",
    ),
    "apart": (
        [camera(), stated(21, 0.8)],
        "Taken at about 18, shown at 20 or 22: no one speed answers both.",
    ),
    "none": ([camera(), stated(27, 0.2)], "Taken at about 18, shown at none of the candidates."),
    "three": (
        [camera(), stated(22, 0.3), viewing()],
        "Taken at about 18, shown at about 22, looks right at about 20: three answers.",
    ),
    "single": ([camera()], ""),
}


@pytest.mark.parametrize("case", TOGETHER)
def test_questions_together_are_told_in_one_sentence(case: str) -> None:
    items, expected = TOGETHER[case]

    assert expected == overall_said(weigh(evidence(*items, candidates=(18, 20, 22))))


def test_what_comes_over_a_link_alone_is_told_so() -> None:
    items = (camera(), walk())
    linked = answered(*items, links=[LINK])

    assert ("Nothing speaks of it directly: all comes over a link, from taking.",) == notes_on(
        linked, items
    )
    assert () == notes_on(answered(*items, question=Question.TAKING, links=[LINK]), items)
    assert ("Taken as given: the speed of showing is 1 to 1.25 times that of taking.") == link_said(
        LINK
    )


def test_a_limit_alone_has_a_most_supported_speed_that_may_lie_beyond_the_span() -> None:
    assert "30.0 fps, where the span that is weighed ends: it may lie above" == best_said(
        answered(flicker())
    )
    assert best_said(answered(legibility())).endswith(
        "12.0 fps, where the span that is weighed ends: it may lie below"
    )
    assert "20.0 fps" == best_said(answered(stated(20, 1)))


def test_the_item_that_turns_the_verdict_is_named_with_what_would_be_left() -> None:
    said = carrier_said(answered(stated(20, 0.3, "letter"), stated(22, 0.6, "card")))

    assert "The verdict hangs on letter: without it, 22 fps would lead." == said


def test_where_no_single_item_turns_the_verdict_the_one_that_carries_most_is_named() -> None:
    said = carrier_said(answered(stated(20, 0.3, "letter"), stated(20, 0.5, "card")))

    assert "No single item turns the verdict; letter carries most of it." == said
    assert "A single item speaks to it, and all hangs on that." == carrier_said(
        answered(stated(20, 0.3))
    )


def test_an_item_is_told_with_the_leader_it_speaks_for_or_against() -> None:
    answer = answered(stated(20, 0.3, "letter"), stated(22, 0.8, "card"))
    letter, card = answer.without
    against = factor_between(22, 0.8, 22, 20)

    assert spoken_for_said(answer, letter).startswith("20 over 22, ")
    assert f"22 over 20, {float(f'{against:.1e}'):.0f} times" == spoken_for_said(answer, card)
    assert "22" == presented_said(letter.verdict)


def test_a_conflict_is_told_with_both_items_their_speeds_and_the_gap() -> None:
    items = (runtime("notice", 79, 4), runtime("memoir", 58, 2))
    found = weigh(evidence(*items)).conflicts

    # 96,000 frames in at least 75 min are at most 21.33 fps, in at most 60 min at least 26.67.
    assert [
        (
            "notice and memoir cannot both hold: notice allows no speed of showing above 21.3 fps, "
            "memoir none below 26.7, 5.3 fps apart."
        )
    ] == [conflict_said(one, items) for one in found]


def test_an_item_at_odds_with_itself_is_told_with_the_parts_that_are() -> None:
    items = (cue_sheet(),)
    (found,) = weigh(evidence(*items)).conflicts

    assert (
        "cue-sheet is at odds with itself: what it says of timings allows no speed of showing "
        "above 21.1 fps, what it says of printed speed none below 23.0, 1.9 fps apart."
    ) == conflict_said(found, items)


def test_the_item_in_most_conflicts_is_named() -> None:
    assert "memoir stands in more conflicts than any other: look at it first." == suspect_said(
        weighed(everything())
    )
    assert "" == suspect_said(weigh(evidence(viewing())))


def test_a_document_as_exact_as_is_told_would_turn_the_factor_strong() -> None:
    answer = answered(stated(20.8, 1.4))
    (time, time_told), (speed, speed_told) = settling_said(answer)

    assert "What would settle it" == settling_title(answer)
    # 96,000 frames at the middle of 20 and 22 fps last 4,577 s, of which 6.7 % are 5 min 9 s.
    assert "a running time, within 6.7 % (5 min 9 s of this print's)" == time_told
    assert "an instruction of a speed, within 1.4 fps" == speed_told
    assert time.within is not None
    assert speed.within is not None
    # One that says one of the two, within that: the difference is 2.45 standard uncertainties.
    new = speed_item("new", within(Fraction(20), speed.within * 20 / Fraction(sqrt(20 * 22))))
    factor = answered(new).pairs[0].factor
    assert 20 == pytest.approx(factor, rel=1e-3)


@pytest.mark.parametrize(
    ("items", "question", "words"),
    [
        ([camera()], Question.TAKING, ("counter", "people who do not walk in step", "pendulum")),
        ([viewing()], Question.LOOKING, ("viewers",)),
        ([instruction()], Question.SHOWING, ("running time", "instruction")),
    ],
    ids=str,
)
def test_what_would_settle_a_question_speaks_to_that_question(
    items: list[Item], question: Question, words: tuple[str, ...]
) -> None:
    told = [said for _, said in settling_said(answered(*items, question=question))]

    assert len(words) == len(told)
    assert all(word in said for word, said in zip(words, told, strict=True))


def test_what_is_strong_already_would_be_put_to_the_test() -> None:
    assert "What would put it to the test" == settling_title(answered(stated(20, 0.3)))
    assert "" == settling_title(answered(stated(14, 0.3)))
    assert "" == settling_title(answered(stated(20, 0.3), candidates=(20,)))


def test_copies_and_items_without_trust_are_told() -> None:
    items = everything().items

    assert (
        "press: notice and advertisement go back to one another, and count once.",
    ) == groups_said(items)
    assert ("rumour: trust 0, weighs nothing.",) == left_out_said(items)
