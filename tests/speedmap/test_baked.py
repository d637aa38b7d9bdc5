"""Cadences baked into a transfer, as a map writes them, and the film frames that they hold."""

from __future__ import annotations

from itertools import groupby

import pytest
from hypothesis import given
from hypothesis import strategies as st

from retime.errors import NotationError
from retime.speedmap.baked import (
    parse_baked,
    sifting_of_fields,
    sifting_of_pattern,
)
from retime.speedmap.sifting import Sifting


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", "no cadence"),
        ("1:0:2", "no cadence"),
        ("2:3 fields", "no cadence"),
        ("1:2 fields top-first", "at least two fields"),
        ("1:1:2 from x", "no cadence"),
        ("2:3 fields sideways-first", "no cadence"),
        (":".join(["1"] * 65), "no cadence"),
    ],
)
def test_what_is_no_cadence_is_refused(text: str, words: str) -> None:
    with pytest.raises(NotationError, match=words):
        parse_baked(text)


def test_runs_before_the_stated_frame_are_those_of_the_same_cycle() -> None:
    """Worked by hand: runs of 1, 1, 2 with one of the first at 5: 1, 2, 3-4, 5, 6, 7-8, 9."""
    sifting = sifting_of_pattern(parse_baked("1:1:2 from 5"), 0, 9)

    assert (0, 1, 2, 3, 5, 6, 7, 9) == sifting.names


def test_two_three_puts_four_film_frames_into_five() -> None:
    """AABBBCCDDD, as the trade tells it: FFmpeg's telecine documentation, pattern 23.

    In five frames: AA, BB, BC, CD, DD; C has its lower field in the third and its upper in the
    fourth.
    """
    sifting = sifting_of_pattern(parse_baked("2:3 fields top-first from 0"), 0, 4)

    assert (0, 1, 2, 3) == sifting.names
    assert [(0, 0), (1, 1), (3, 2), (4, 4)] == [sifting.whole(frame) for frame in range(4)]


@given(
    runs=st.lists(st.integers(2, 5), min_size=1, max_size=40),
    top_first=st.booleans(),
    start=st.integers(0, 9),
)
def test_both_fields_of_a_film_frame_lie_in_its_own_run(
    runs: list[int],
    top_first: bool,  # noqa: FBT001 - hypothesis gives it by name
    start: int,
) -> None:
    bounds = [start]
    for run in runs:
        bounds.append(bounds[-1] + run)
    sifting = sifting_of_fields(bounds, top_first=top_first)

    assert len(runs) == len(sifting.names)
    for frame in range(len(runs)):
        own = range(bounds[frame], bounds[frame + 1])
        upper, lower = sifting.whole(frame)
        assert 2 * upper + (not top_first) in own
        assert 2 * lower + top_first in own


@given(
    runs=st.lists(st.integers(1, 4), min_size=1, max_size=8),
    start=st.integers(0, 60),
    last=st.integers(0, 60),
)
def test_whole_frames_between_two_names_show_one_film_frame(
    runs: list[int], start: int, last: int
) -> None:
    """Laid out naively from far before, the runs give the same names."""
    text = f"{':'.join(map(str, runs))} from {start}"
    sifting = sifting_of_pattern(parse_baked(text), 0, last)
    whole = sum(runs)
    shown = [run for run, times in enumerate(runs) for _ in range(times)]
    laid = [((frame - start) // whole, shown[(frame - start) % whole]) for frame in range(last + 1)]
    names, at = [], 0
    for _, alike in groupby(laid):
        names.append(at)
        at += sum(1 for _ in alike)

    assert tuple(names) == sifting.names


def test_a_scan_frame_belongs_to_the_film_frame_that_began_last() -> None:
    sifting = Sifting(names=(2, 4, 5), woven={})

    assert [-1, -1, 0, 0, 1, 2, 2] == [sifting.until(frame) for frame in range(7)]
    assert [0, 0, 0, 1, 1, 2, 3] == [sifting.since(frame) for frame in range(7)]


def test_film_frames_begin_one_after_the_other() -> None:
    with pytest.raises(ValueError, match="begins where another does"):
        Sifting(names=(3, 3), woven={})
