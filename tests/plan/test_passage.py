"""A passage lasts what its items last, and can be read backwards: from a time to a speed."""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from randomfilms import films, insets

from retime.errors import NotationError
from retime.plan.assembly import assemble
from retime.plan.passage import Limited, Passage, passage_of

if TYPE_CHECKING:
    from retime.speedmap.arrangement import Item

durations = st.integers(6, 360).map(lambda count: Fraction(count, 360))
ninths = st.integers(0, 45).map(lambda count: Fraction(count, 9))
limiteds = st.builds(
    lambda frames, least, more: Limited(
        frames=frames, at_least=least, at_most=None if more is None else least + more
    ),
    st.integers(1, 60),
    ninths,
    st.none() | ninths,
)
passages = st.builds(
    lambda free, fixed, limited: Passage(free=free, fixed=fixed, limited=tuple(limited)),
    st.integers(0, 300),
    ninths,
    st.lists(limiteds, max_size=3),
)


@settings(max_examples=100, deadline=None)
@given(films(free=True, reels=1), st.lists(insets("0"), max_size=2), durations)
def test_a_passage_lasts_as_long_as_its_items_assembled(
    film: list[Item], more: list[Item], frame: Fraction
) -> None:
    items = [*film, *more]

    assert assemble(items, {}, frame).duration == passage_of(items).lasts(frame)


@given(passages, passages, durations)
def test_two_passages_together_last_as_long_as_both(
    one: Passage, other: Passage, frame: Fraction
) -> None:
    assert one.lasts(frame) + other.lasts(frame) == (one + other).lasts(frame)


@given(passages, durations, st.tuples(durations, durations))
def test_what_a_passage_lasts_leads_back_to_the_durations_that_give_it(
    passage: Passage, frame: Fraction, others: tuple[Fraction, Fraction]
) -> None:
    low, high = min(frame, *others), max(frame, *others)
    seconds = passage.lasts(frame)
    least, most = passage.least(seconds, low, high), passage.most(seconds, low, high)

    assert low <= least <= frame <= most <= high
    assert seconds == passage.lasts(least) == passage.lasts(most)
    if passage.free:
        assert least == frame == most
    for beyond in (least - (least - low) / 7, most + (high - most) / 7):
        assert beyond in {least, most} or seconds != passage.lasts(beyond)


def test_a_time_out_of_reach_leads_to_the_nearest_end() -> None:
    passage = Passage(free=24, fixed=Fraction(1))
    low, high = Fraction(1, 24), Fraction(1, 12)

    for time, nearest in [(0, low), (1, low), (4, high), (99, high)]:
        assert nearest == passage.least(Fraction(time), low, high)
        assert nearest == passage.most(Fraction(time), low, high)


def test_a_title_gives_only_between_its_limits() -> None:
    # 40 frames last 2 s at 20 fps and 2.5 s at 16 fps; arithmetic.
    title = Limited(frames=40, at_least=Fraction(2), at_most=Fraction(5, 2))
    passage = Passage(limited=(title,))

    run_at = [Fraction(1, 24), Fraction(9, 160), Fraction(1, 12)]
    assert [2, Fraction(9, 4), Fraction(5, 2)] == [passage.lasts(frame) for frame in run_at]
    low, high = Fraction(1, 30), Fraction(1, 10)
    assert low == passage.least(Fraction(2), low, high)
    assert Fraction(1, 20) == passage.most(Fraction(2), low, high)
    assert Fraction(1, 16) == passage.least(Fraction(5, 2), low, high)
    assert high == passage.most(Fraction(5, 2), low, high)


def test_limits_that_no_time_keeps_are_refused() -> None:
    with pytest.raises(NotationError, match="at least 3 s cannot last at most 2 s"):
        Limited(frames=9, at_least=Fraction(3), at_most=Fraction(2))


def test_only_frames_of_the_free_speed_give() -> None:
    assert not Passage(fixed=Fraction(9)).gives
    assert Passage(free=1).gives
    assert Passage(limited=(Limited(frames=1),)).gives
