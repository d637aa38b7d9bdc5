"""Film frames shown for two and three fields, as MPEG-2's repeat flags say it.

Field order with repeat_first_field (the media framework reference of a system's maker, sample
attribute for repeating the first field): top first U L U, bottom first L U L, without it U L or
L U; ISO/IEC 13818-2, section 6.3.10, by FFmpeg's MPEG-2 decoder.
"""

from __future__ import annotations

from fractions import Fraction
from itertools import accumulate, pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from retime.plan.cadence import cadence_at
from retime.plan.repeat_flags import RepeatFlags, groups, repeat_flags, spread, why_not

TOP, BOTTOM = "T", "B"
RUNS = st.lists(st.sampled_from((2, 3)), min_size=1, max_size=80)


def pairs(runs: list[int], *, top_first: bool) -> list[tuple[int, int]]:
    """Return top_field_first and repeat_first_field of every picture."""
    return [
        (int(one.top_first), int(one.repeat_first))
        for one in repeat_flags(runs, top_first=top_first)
    ]


def fields_of(flags: RepeatFlags) -> str:
    """Return the fields that a decoder shows for a picture: T B T where the first comes back."""
    order = TOP + BOTTOM if flags.top_first else BOTTOM + TOP
    return order + order[0] if flags.repeat_first else order


def test_two_three_cycles_over_four_pictures() -> None:
    """The cycle TB, TBT, BT, BTB: common practice of film carried by flags in 60 fields."""
    cycle = [(1, 0), (1, 1), (0, 0), (0, 1)]

    assert cycle + cycle == pairs([2, 3] * 4, top_first=True)


def test_twenty_in_sixty_repeats_a_field_of_every_picture_and_turns_the_order_each_time() -> None:
    assert [(1, 1), (0, 1)] * 3 == pairs([3] * 6, top_first=True)


def test_a_bottom_first_film_begins_with_the_bottom_field() -> None:
    assert [(0, 1), (1, 0), (1, 1), (0, 0)] == pairs([3, 2, 3, 2], top_first=False)


@given(RUNS, st.booleans())
def test_top_and_bottom_fields_alternate_whatever_the_runs(runs: list[int], top: bool) -> None:  # noqa: FBT001
    shown = "".join(map(fields_of, repeat_flags(runs, top_first=top)))

    assert sum(runs) == len(shown)
    assert shown[0] == (TOP if top else BOTTOM)
    assert all(one != other for one, other in pairwise(shown))


@pytest.mark.parametrize(
    ("step", "beat"),
    [(20, 60), (64, 180), (22, 60), (24, 60), (80, 180), (18, 50), (20, 50), (22, 50), (24, 50)],
)
def test_speeds_from_twenty_in_sixty_and_from_fifty_thirds_in_fifty_can_be_carried(
    step: int, beat: int
) -> None:
    share = Fraction(step, beat)
    cadence = cadence_at(share.numerator, share.denominator, 0)

    assert cadence is not None
    assert why_not(cadence.runs * 2) is None


@pytest.mark.parametrize(
    ("runs", "fields"),
    [
        ((3, 3, 4), 4),  # 18 in 60: FFmpeg's filters manual, telecine 334
        ((3, 4, 4, 4), 3 + 1),  # 16 in 60: telecine 3444
        ((3, 3, 3, 3, 3, 3, 3, 4), 4),  # 16 in 50: telecine 33333334
        ((2, 2, 1), 1),  # faster than 30 in 60
    ],
)
def test_a_run_of_four_or_one_cannot_be_carried_and_the_reason_says_so(
    runs: tuple[int, ...], fields: int
) -> None:
    assert f"a film frame takes {fields} fields, and repeat flags carry 2 or 3" == why_not(runs)


def test_an_odd_number_of_fields_is_no_whole_number_of_frames() -> None:
    assert "the last film frame ends half-way through an output frame" == why_not([2, 3])


@pytest.mark.parametrize(
    ("fields", "runs"),
    [(2, (2,)), (3, (3,)), (4, (2, 2)), (5, (2, 3)), (8, (2, 2, 2, 2)), (9, (2, 2, 2, 3))],
)
def test_a_hold_is_coded_again_after_every_two_fields(fields: int, runs: tuple[int, ...]) -> None:
    assert runs == spread(fields)


def test_groups_are_as_long_as_the_disc_lets_them_be() -> None:
    """36 fields of 525 lines are 18 frames, 30 of 625 lines 15: a disc-authoring manual."""
    assert [0, 18, 36] == groups([2] * 40, 36)
    assert [0, 15, 30] == groups([2] * 40, 30)


def test_groups_of_two_three_end_where_the_order_of_fields_is_as_at_first() -> None:
    """32 fields and then 30: 35 would fit, and the next group begin with a bottom field."""
    firsts = groups([2, 3] * 20, 36)

    assert [0, 13, 25, 37] == firsts
    assert [0, 32, 62, 92] == [[0, *accumulate([2, 3] * 20)][first] for first in firsts]


def test_a_group_begins_with_every_chapter_whatever_the_order_of_fields() -> None:
    assert [0, 3, 4] == groups([3] * 12, 36, starts={3, 4})


@given(RUNS, st.integers(3, 36), st.data())
def test_groups_keep_to_the_limit_and_hold_the_chapters(
    runs: list[int], most: int, data: st.DataObject
) -> None:
    starts = data.draw(st.sets(st.integers(0, len(runs) - 1), max_size=4))

    firsts = groups(bytes(runs), most, starts)

    ends = [0, *accumulate(runs)]
    assert firsts[0] == 0
    assert starts <= set(firsts)
    for first, after in pairwise([*firsts, len(runs)]):
        assert 0 < ends[after] - ends[first] <= most


@given(RUNS, st.integers(6, 36))
def test_a_group_begins_with_the_other_field_only_where_no_start_in_reach_does_not(
    runs: list[int], most: int
) -> None:
    firsts, ends = groups(runs, most), [0, *accumulate(runs)]
    for first, after in pairwise(firsts):
        reach = [one for one in ends[first + 1 :] if one <= ends[first] + most]
        if ends[after] % 2:
            assert all(one % 2 for one in reach)
