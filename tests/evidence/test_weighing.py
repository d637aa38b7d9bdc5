"""What is said of the evidence: verdicts, what they hang on, what is at odds, what would settle."""

from __future__ import annotations

from fractions import Fraction
from math import exp, log, sqrt
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st
from made import FRAMES, evidence, item, link, runtime, says, speed, stated
from msgspec.structs import replace

from retime.evidence.conflicts import Conflict, conflicts, suspect
from retime.evidence.curve import curve_of
from retime.evidence.model import Kind, Question, Sense
from retime.evidence.natural import natural_named
from retime.evidence.quantity import between, exactly, spread, within
from retime.evidence.settling import settling
from retime.evidence.support import question_support
from retime.evidence.verdict import Ranked, Standing, Verdict, strength, verdict_on
from retime.evidence.weighing import Answer, Weighing, weigh

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from retime.evidence.model import Evidence, Item, Link

SHOWING, TAKING, LOOKING = Question.SHOWING, Question.TAKING, Question.LOOKING
LINK = link(SHOWING, 1, 1.25, TAKING)
FILE = evidence(
    [
        stated("crank", 18, 0.04, question=TAKING, trust=0.9),
        stated("walker", 18.5, 0.1, question=TAKING, trust=0.8),
        runtime("programme", 4900, 150, trust=0.75, group="press"),
        runtime("review", 4900, 150, trust=0.5, group="press"),
        stated("letter", 24, 0.03, trust=0.4),
        item("title", says(within(Fraction(23), Fraction(2)), sense=Sense.AT_MOST), trust=0.9),
        stated("rumour", 16, 0.02, trust=0),
        stated("viewers", 21, 0.08, question=LOOKING),
    ],
    [16, 18, 20, 22, 24],
    [LINK],
)


def answers(weighing: Weighing) -> dict[Question, Answer]:
    return {answer.question: answer for answer in weighing.answers}


def without(file: Evidence, name: str) -> Evidence:
    return replace(file, items=tuple(one for one in file.items if one.id != name))


def test_leaving_an_item_out_is_weighing_again_without_it() -> None:
    whole = answers(weigh(FILE))
    left = {one.id: answers(weigh(without(FILE, one.id))) for one in FILE.items}

    assert set(Question) == set(whole)
    for question, answer in whole.items():
        assert set(answer.curve.items) == {told.item for told in answer.without}
        leaders = [one.speed for one in answer.ranked[:2]]
        for told in answer.without:
            again = left[told.item].get(question)
            before = log(answer.curve.factor(leaders[0], leaders[1]))
            if again is None:
                assert (None, None, True) == (told.best, told.verdict, told.turns)
                assert before == pytest.approx(told.shift)
                continue
            turned = (answer.verdict.standing, sorted(answer.verdict.presentable)) != (
                again.verdict.standing,
                sorted(again.verdict.presentable),
            )
            after = log(again.curve.factor(leaders[0], leaders[1]))
            assert (again.curve.best, again.verdict, turned) == (
                told.best,
                told.verdict,
                told.turns,
            )
            assert before - after == pytest.approx(told.shift, abs=1e-12)


def test_items_without_trust_and_of_unlinked_questions_do_not_speak() -> None:
    speaking = {q: [told.item for told in one.without] for q, one in answers(weigh(FILE)).items()}
    linked = ["crank", "walker", "programme", "review", "letter", "title"]

    assert {TAKING: linked, SHOWING: linked, LOOKING: ["viewers"]} == speaking


def test_candidates_are_ranked_and_all_pairs_of_them_compared() -> None:
    for answer in weigh(FILE).answers:
        logs = [one.log_support for one in answer.ranked]
        names = [one.speed for one in answer.ranked]
        assert set(FILE.candidates) == set(names)
        assert sorted(logs, reverse=True) == logs
        assert [(a, b) for i, a in enumerate(names) for b in names[i + 1 :]] == [
            (pair.first, pair.second) for pair in answer.pairs
        ]
        supports = dict(zip(names, logs, strict=True))
        for pair in answer.pairs:
            expected = exp(supports[pair.first] - supports[pair.second])
            assert expected == pytest.approx(pair.factor)
            assert pair.factor >= 1


def test_of_two_speeds_supported_alike_the_slower_goes_first() -> None:
    """A limit so sharp that what it allows is supported alike, to the last digit."""
    sharp = says(within(Fraction(24), Fraction(1, 100)), sense=Sense.AT_MOST)
    (answer,) = weigh(evidence([item("booth", sharp)], [17, 25, 16])).answers

    assert [speed(16), speed(17), speed(25)] == [one.speed for one in answer.ranked]


@pytest.mark.parametrize(
    ("row", "wording"),
    [
        # R. E. Kass, A. E. Raftery, Bayes Factors, Journal of the American Statistical Association
        # 90, 1995: 1 to 3, 3 to 20, 20 to 150, over 150; from memory.
        ((1, 1.5, 2.999, 3), "not worth more than a bare mention"),
        ((3.001, 12, 20), "positive"),
        ((20.001, 99, 150), "strong"),
        ((150.001, 1e9, float("inf")), "very strong"),
    ],
)
def test_factors_have_the_published_wording(row: Sequence[float], wording: str) -> None:
    assert [wording] * len(row) == [strength(factor) for factor in row]


def one_document(factor: float, at: float, other: float) -> Item:
    """Return a document that says ``at`` and supports it over ``other`` by a factor.

    The factor is exp(d^2 / 2), d being the difference of the logarithms over the uncertainty.
    """
    doubt = abs(log(other / at)) / sqrt(2 * log(factor))
    return item("letter", says(spread(Fraction(at), Fraction(at) * Fraction(doubt))))


def verdict(factor: float, at: float, candidates: Sequence[float], other: float) -> Verdict:
    curve = curve_of([one_document(factor, at, other)], [], SHOWING)
    assert curve is not None
    return verdict_on(curve, [speed(fps) for fps in candidates])


@pytest.mark.parametrize(
    ("factor", "standing", "presentable", "words"),
    [
        (1.2, Standing.UNDECIDED, [20, 22], "not worth more than a bare mention"),
        (2.99, Standing.UNDECIDED, [20, 22], "not worth more than a bare mention"),
        (3.01, Standing.LEADING, [20], "positive"),
        (19.9, Standing.LEADING, [20], "positive"),
        (20.1, Standing.LEADING, [20], "strong"),
        (149, Standing.LEADING, [20], "strong"),
        (151, Standing.LEADING, [20], "very strong"),
    ],
)
def test_a_candidate_leads_where_its_factor_is_worth_more_than_a_mention(
    factor: float, standing: Standing, presentable: Sequence[float], words: str
) -> None:
    told = verdict(factor, 20, [22, 20], 22)

    assert (standing, presentable, words) == (
        told.standing,
        [float(one.fps) for one in told.presentable],
        told.words,
    )
    assert told.factor == pytest.approx(factor)


@pytest.mark.parametrize(
    ("factor", "standing"), [(19.9, Standing.LEADING), (20.1, Standing.NONE), (1e6, Standing.NONE)]
)
def test_no_candidate_stands_where_another_speed_is_strongly_supported(
    factor: float, standing: Standing
) -> None:
    told = verdict(factor, 20, [24, 22], 22)

    assert standing is told.standing
    assert ((speed(22),) if standing is Standing.LEADING else ()) == told.presentable


def test_a_single_candidate_has_none_beside_it() -> None:
    (answer,) = weigh(evidence([stated("letter", 20, 0.05)], [20])).answers

    assert (None, "", (), ()) == (
        answer.verdict.factor,
        answer.verdict.words,
        answer.pairs,
        answer.settling,
    )
    assert Standing.LEADING is answer.verdict.standing


def test_every_speed_within_a_mention_of_the_leader_is_presented_the_most_supported_first() -> None:
    """22 is supported 2.2 times less, 18 then 2.6 times, 24 18 times: squares of the logarithms."""
    told = verdict(2.2, 20, [18, 19, 20, 20.5, 22, 24], 22)

    assert [20, 20.5, 19, 22, 18] == [float(one.fps) for one in told.presentable]


# What is at odds.


def near(name: str, low: float, high: float, question: Question = SHOWING) -> Item:
    return item(name, says(between(Fraction(low), Fraction(high))), question=question)


def limit(name: str, sense: Sense, low: float, high: float, question: Question = SHOWING) -> Item:
    return item(name, says(between(Fraction(low), Fraction(high)), sense=sense), question=question)


def odds(items: Sequence[Item], links: Sequence[Link] = ()) -> list[tuple[str, str, float, float]]:
    found = conflicts(items, links)
    return [(one.slower, one.faster, float(one.below), float(one.above)) for one in found]


def test_two_items_are_at_odds_where_their_bounds_have_nothing_in_common() -> None:
    slow, fast = near("slow", 16, 18), near("fast", 20, 22)

    assert [("slow", "fast", 18, 20)] == odds([slow, fast]) == odds([fast, slow])
    assert [] == odds([near("slow", 16, 20), fast])
    assert [] == odds([near("slow", 16, 24), fast])


def test_a_limit_is_at_odds_with_what_it_does_not_allow() -> None:
    least, most = limit("least", Sense.AT_LEAST, 19, 21), limit("most", Sense.AT_MOST, 15, 17)
    slow, fast = near("slow", 14, 16), near("fast", 22, 24)

    assert [("most", "least", 17, 19)] == odds([least, most])
    assert [("slow", "least", 16, 19)] == odds([slow, least])
    assert [("most", "fast", 17, 22)] == odds([fast, most])
    assert [] == odds([least, fast]) == odds([slow, most])
    assert [] == odds([least, limit("too", Sense.AT_LEAST, 28, 29)])
    assert [] == odds([most, limit("too", Sense.AT_MOST, 12, 13)])


def test_items_about_two_questions_are_at_odds_only_over_a_link() -> None:
    taken = near("crank", 15, 16, TAKING)

    assert [] == odds([taken, near("shown", 21, 22)])
    # Shown at 1 to 1.25 times the speed of taking: at 15 to 20; taken at 0.8 to 1 times.
    assert [("crank", "shown", 16, 16.8)] == odds([taken, near("shown", 21, 22)], [LINK])
    assert [("shown", "crank", 14, 15)] == odds([taken, near("shown", 13, 14)], [LINK])
    assert [] == odds([taken, near("shown", 20, 22)], [LINK])
    assert [] == odds([taken, near("shown", 14, 15)], [LINK])
    assert [("crank", "shown", 20, 21)] == odds([near("shown", 21, 22), taken], [LINK])
    assert [SHOWING, TAKING] == [
        one.question
        for first, second in ((near("shown", 21, 22), taken), (taken, near("shown", 21, 22)))
        for one in conflicts([first, second], [LINK])
    ]


def test_two_links_in_a_row_multiply() -> None:
    """Looked right at 0.9 to 1.1 times showing, shown at 1 to 1.25 times taking: 0.9 to 1.375."""
    links = [link(LOOKING, 0.9, 1.1, SHOWING), LINK]
    taken = near("crank", 16, 16, TAKING)

    assert [] == odds([near("viewers", 22, 23, LOOKING), taken], links)
    ((slower, faster, below, above),) = odds([near("viewers", 23, 24, LOOKING), taken], links)
    assert ("crank", "viewers") == (slower, faster)
    assert [22, 23] == pytest.approx([below, above])


def test_an_item_is_at_odds_with_itself_where_its_parts_are() -> None:
    sheet = item(
        "cue sheet",
        says(between(Fraction(17), Fraction(18))),
        says(between(Fraction(20), Fraction(22))),
    )
    (found,) = conflicts([sheet], [])

    assert found.within_one
    assert [18, 20] == [found.below, found.above]
    assert suspect([found], [sheet]) is None


def test_an_item_is_at_odds_with_another_only_if_all_its_parts_are() -> None:
    sheet = item(
        "cue sheet",
        says(between(Fraction(17), Fraction(19))),
        says(between(Fraction(18), Fraction(20))),
    )

    assert [] == odds([sheet, near("letter", 20, 21)])
    assert [("cue sheet", "letter", 20, 22)] == odds([sheet, near("letter", 22, 23)])
    assert [("letter", "cue sheet", 15, 17)] == odds([sheet, near("letter", 14, 15)])


def test_what_is_not_trusted_is_at_odds_with_nothing() -> None:
    assert [] == odds([near("slow", 16, 18), replace(near("fast", 20, 22), trust=Fraction(0))])


class Said(NamedTuple):
    """What an item says, in quarters of a frame per second."""

    sense: Sense
    low: int
    high: int

    def allows(self, quarters: int | Fraction) -> bool:
        """Say whether the item can hold at a speed."""
        above = self.sense is Sense.AT_MOST or quarters >= self.low
        return above and (self.sense is Sense.AT_LEAST or quarters <= self.high)

    def as_item(self, name: str, question: Question) -> Item:
        """Return the item."""
        return limit(name, self.sense, self.low / 4, self.high / 4, question)


SAID = st.builds(
    lambda sense, low, wide: Said(sense, low, low + wide),
    st.sampled_from(Sense),
    st.integers(48, 120),
    st.integers(0, 16),
)


@settings(deadline=None)
@given(SAID, SAID, st.integers(3, 6), st.integers(0, 2))
@example(Said(Sense.NEAR, 49, 49), Said(Sense.AT_LEAST, 48, 48), 3, 0)  # met at 65 1/3 alone
def test_two_items_are_at_odds_if_and_only_if_no_two_speeds_satisfy_both(
    shown: Said, taken: Said, low: int, wide: int
) -> None:
    """Every whole number of quarters is tried, and where a factor leads to from a bound."""
    tried = [fps for fps in range(0, 1200, 4) if shown.allows(fps)]
    tried += [fps for fps in (shown.low, shown.high) if shown.allows(fps)]
    slowest, fastest = min(tried), max(tried)
    led_to = [Fraction(4 * fps, by) for fps in (slowest, fastest) for by in (low, low + wide)]
    met = any(
        low * fps <= 4 * fastest and 4 * slowest <= (low + wide) * fps
        for fps in (*range(1200), *led_to)
        if taken.allows(fps)
    )
    joined = link(SHOWING, low / 4, (low + wide) / 4, TAKING)
    pair = [shown.as_item("shown", SHOWING), taken.as_item("taken", TAKING)]

    assert met == (not conflicts(pair, [joined]))


def named(items: Sequence[Item]) -> str | None:
    return suspect(conflicts(items, []), items)


def test_the_item_that_most_others_contradict_is_suspect() -> None:
    honest = [near("first", 18, 20), near("second", 19, 21), near("third", 18, 21)]

    assert "odd" == named([*honest, near("odd", 23, 24)])
    assert named(honest) is None
    assert named([honest[0], near("odd", 23, 24)]) is None


def test_copies_of_a_document_do_not_outvote_what_contradicts_them() -> None:
    copies = [replace(near(f"copy {i}", 23, 24), group="press") for i in range(3)]
    honest = [near("first", 18, 20), near("second", 19, 21)]

    assert named([honest[0], *copies]) is None
    assert "copy 0" == named([*honest, *copies])


# What a verdict hangs on.


def test_the_carrier_turns_the_verdict_or_else_shifts_it_most() -> None:
    for answer in weigh(FILE).answers:
        if len(answer.without) == 1:
            assert answer.carrier is None
            continue
        turning = [told for told in answer.without if told.turns] or answer.without
        assert max(abs(told.shift) for told in turning) == next(
            abs(told.shift) for told in answer.without if told.item == answer.carrier
        )
        assert answer.carrier in {told.item for told in turning}


def test_the_one_exact_document_among_vague_ones_carries_the_verdict() -> None:
    vague = [stated(f"vague {i}", 20 + i, 0.2, trust=0.9) for i in range(3)]
    (answer,) = weigh(evidence([*vague, stated("log", 18, 0.01, trust=0.9)], [18, 21])).answers

    assert "log" == answer.carrier
    told = {one.item: one for one in answer.without}
    assert told["log"].turns
    assert told["log"].shift > 0
    assert all(not one.turns and one.shift < 0 for name, one in told.items() if name != "log")


def test_exact_documents_that_contradict_one_another_can_be_left_out_in_turn() -> None:
    """Their factors are beyond what a number holds, but not the logarithms: d^2 / 2 each."""
    items = [stated("crank", 17, 0.005), stated("letter", 24, 0.005)]
    (answer,) = weigh(evidence(items, [17, 24])).answers
    shift = (log(24 / 17) / 0.005 * sqrt(3)) ** 2 / 2

    assert shift > 7000
    assert [shift, shift] == pytest.approx([abs(one.shift) for one in answer.without])
    assert [speed(24), speed(17)] == [
        one.verdict.presentable[0] for one in answer.without if one.verdict
    ]


# What would settle it.

ORDER = [Ranked(speed=speed(20), log_support=0), Ranked(speed=speed(22), log_support=-1)]
LENGTH = exactly(Fraction(FRAMES))
SETTLING = {(one.kind, one.measure): one for one in settling(LENGTH, ORDER)}


def bound(kind: Kind, measure: str) -> Fraction:
    told = SETTLING[kind, measure].within
    assert told is not None
    return told


def by_runtime(true: float, error: float) -> Item:
    return runtime("new", float(FRAMES / true + error * float(by)), float(by))


def by_instruction(true: float, error: float) -> Item:
    by = bound(Kind.INSTRUCTION, "fps")
    return item("new", says(within(Fraction(true + error * float(by)), by)))


def by_pendulum(true: float, error: float) -> Item:
    """A swing's time goes with the root of the length: the error of a speed is half as great."""
    by = bound(Kind.MOTION, "% of a pendulum's length") / 100
    length = within(1 + Fraction(error) * by, by)
    share = Fraction(length.relative) / 2
    stated_speed = Fraction(true) * Fraction(sqrt(length.value))
    return item("new", says(spread(stated_speed, stated_speed * share)))


by = bound(Kind.RUNTIME, "s")


@pytest.mark.parametrize("made", [by_runtime, by_instruction, by_pendulum])
def test_a_document_as_exact_as_asked_for_is_expected_to_turn_the_wording_to_strong(
    made: Callable[[float, float], Item],
) -> None:
    """The mean logarithm of the factor for what is true is ln 20, over both of the speeds."""
    dice = np.random.default_rng(1922)
    pair = np.array([20.0, 22.0])
    logs = []
    for error in dice.uniform(-1, 1, 1500):
        for true in (0, 1):
            document = made(float(pair[true]), float(error if true else -error))
            told = question_support([document], [], SHOWING)[0](pair)
            logs.append(float(told[true] - told[1 - true]))
    sampling = float(np.std(logs)) / sqrt(len(logs))

    assert log(20) == pytest.approx(float(np.mean(logs)), abs=4 * sampling)
    assert 0.2 > 4 * sampling


def test_as_many_walkers_as_asked_for_are_just_enough() -> None:
    """A walker that is right supports its speed by d^2 / 2, in the logarithm; walkers add."""
    count = SETTLING[Kind.MOTION, "walkers"].count
    walk = natural_named("walk").frequency.relative
    each = (log(22 / 20) / walk) ** 2 / 2

    assert count is not None
    assert (count - 1) * each < log(20) <= count * each


def test_nearer_speeds_ask_for_more_exact_documents() -> None:
    order = [Ranked(speed=speed(20), log_support=0), Ranked(speed=speed(21), log_support=0)]
    for finer, told in zip(settling(LENGTH, order), SETTLING.values(), strict=True):
        assert (finer.kind, finer.measure) == (told.kind, told.measure)
        if told.within is not None and finer.within is not None:
            # ln(21 / 20) over ln(22 / 20), and the speeds are a little slower.
            assert log(21 / 20) / log(22 / 20) == pytest.approx(
                float(finer.within / told.within), rel=0.03
            )
        else:
            assert told.count is not None
            assert finer.count is not None
            assert (log(22 / 20) / log(21 / 20)) ** 2 == pytest.approx(
                finer.count / told.count, rel=0.25
            )


def test_a_conflict_says_whether_it_is_within_one_item() -> None:
    apart = Conflict(slower="a", faster="b", below=Fraction(1), above=Fraction(2), question=SHOWING)

    assert not apart.within_one
    assert replace(apart, faster="a").within_one
