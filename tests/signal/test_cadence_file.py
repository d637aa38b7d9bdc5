"""A cadence file says exactly what was found, and what is wrong in one is told at its place."""

from __future__ import annotations

from itertools import pairwise
from typing import TYPE_CHECKING

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from retime.errors import DocumentError
from retime.signal.cadence_file import CadenceFile, cadence_text, read_cadence, runs_said
from retime.signal.mixtures import Rule
from retime.signal.shown import (
    Kind,
    Mixing,
    Odd,
    Space,
    Stretch,
    film_frames,
    films_shown,
)
from retime.speedmap.baked import parse_baked, sifting_of_pattern

if TYPE_CHECKING:
    from pathlib import Path

DIGEST = "0123456789abcdef" * 4
STRETCHES = (
    Stretch(first=5, last=16, kind=Kind.REPEATS, film=0, runs=(2, 1, 1), phase=1, confidence=0.5,
            odd=(Odd(picture=9, is_new=False), Odd(picture=12, is_new=True))),
    Stretch(first=17, last=20, kind=Kind.STILL, film=9),
    Stretch(first=21, last=30, kind=Kind.FIELDS, film=10, runs=(2, 3), top_first=False),
    Stretch(first=31, last=40, kind=Kind.MIXED, film=18, mixing=Mixing(
        film_frames=3, outputs=4, start=2, rule=Rule.NEARLY, space=Space.LIGHT)),
    Stretch(first=41, last=60, kind=Kind.IRREGULAR, film=26, runs=(1,) * 8 + (3, 9)),
    Stretch(first=61, last=62, kind=Kind.NEW, film=36),
)  # fmt: skip


def written(stretches: tuple[Stretch, ...] = STRETCHES) -> str:
    first, last = stretches[0].first, stretches[-1].last
    told = CadenceFile(
        scan='a "b" \\ é\n.mkv', first=first, frames=last - first + 1, digest=DIGEST,
        stretches=stretches,
    )  # fmt: skip
    return cadence_text(told, film_frames=38, rate="24000/1001", notes=["found"])


def test_what_is_written_is_read_again(tmp_path: Path) -> None:
    path = tmp_path / "cadence.yaml"
    path.write_text(written(), encoding="utf-8")

    told = read_cadence(path)

    assert STRETCHES == told.stretches
    assert ('a "b" \\ é\n.mkv', 5, 58, DIGEST) == (told.scan, told.first, told.frames, told.digest)


@pytest.mark.parametrize(
    ("was", "becomes", "place", "words"),
    [
        ("first: 17,", "first: 18,", "11:5", "pictures 18 to 20 do not follow on picture 16"),
        ("film: 10,", "film: 12,", "12:5", "film frame 12 does not follow on film frame 9"),
        ("frames: 58", "frames: 57", "5:9", "stretches end with picture 62"),
        (", order: bottom-first", "", "12:5", "fields need an order"),
        (", film-frames: 3,", ",", "13:5", "needs a rule, film-frames and outputs"),
        ("outputs: 4", "outputs: 3", "13:5", "outputs is the greater number"),
        ("1x8:3:9", "1x8:3:8", "14:5", "irregular runs are told in full"),
        ('"2:1:1"', '"2:0:1"', "10:57", "are no runs"),
        ("phase: 1", "phase: 2", "10:5", "the phase is within the first run"),
        ("shows: still", "shows: stil", "11:43", "stil"),
        (DIGEST, "abc", "6:9", "is no SHA-256"),
        ("retime-cadence/1", "retime-cadence/2", "2:9", "retime-cadence/1"),
    ],
)
def test_what_is_wrong_is_told_at_its_place(
    was: str, becomes: str, place: str, words: str, tmp_path: Path
) -> None:
    path = tmp_path / "cadence.yaml"
    assert was in written()
    path.write_text(written().replace(was, becomes, 1), encoding="utf-8")

    with pytest.raises(DocumentError) as caught:
        read_cadence(path)

    assert f"{path}:{place}: " in str(caught.value)
    assert words in str(caught.value)


def test_runs_are_shortened_where_many_are_alike() -> None:
    assert "1:1:2" == runs_said((1, 1, 2))
    assert "2:1x23" == runs_said((2, *(1,) * 23))


@settings(max_examples=60)
@given(
    runs=st.lists(st.integers(1, 4), min_size=1, max_size=8),
    count=st.integers(1, 60),
)
def test_whole_runs_hold_the_film_frames_that_a_map_s_pattern_has(
    runs: list[int], count: int
) -> None:
    """Held against the map's own way of writing a cadence: runs from the first picture on."""
    stretch = Stretch(first=0, last=count - 1, kind=Kind.REPEATS, film=0, runs=tuple(runs))
    pattern = sifting_of_pattern(parse_baked(f"{':'.join(map(str, runs))} from 0"), 0, count - 1)

    frames = list(film_frames([stretch]))

    assert pattern.names == tuple(one.first for one in frames)
    assert all(one.upper == one.lower == one.first for one in frames)


@settings(max_examples=60)
@given(
    runs=st.lists(st.integers(2, 5), min_size=1, max_size=8),
    top_first=st.booleans(),
    count=st.integers(2, 40),
)
def test_fields_hold_the_film_frames_that_a_map_s_pattern_has(
    runs: list[int],
    top_first: bool,  # noqa: FBT001 - hypothesis gives it by name
    count: int,
) -> None:
    order = "top" if top_first else "bottom"
    stretch = Stretch(
        first=0, last=count - 1, kind=Kind.FIELDS, film=0, runs=tuple(runs), top_first=top_first
    )
    text = f"{':'.join(map(str, runs))} fields {order}-first from 0"
    pattern = sifting_of_pattern(parse_baked(text), 0, count - 1)

    frames = [
        one for one in film_frames([stretch]) if one.upper is not None and one.lower is not None
    ]

    assert pattern.names == tuple(one.first for one in frames)
    whole = [pattern.whole(number) for number in range(len(pattern.names))]
    assert whole == [(one.upper, one.lower) for one in frames]


def test_a_phase_says_how_much_of_the_first_run_has_gone_by() -> None:
    """Worked by hand: 3:1 with two of the three gone: a, b, c c c, d, e e e."""
    stretch = Stretch(first=0, last=8, kind=Kind.REPEATS, film=4, runs=(3, 1), phase=2)

    upper, lower = films_shown([stretch])

    assert [4, 5, 6, 6, 6, 7, 8, 8, 8] == upper.tolist() == lower.tolist()


def test_a_mixed_picture_shows_what_weighs_most_and_no_film_frame_whole() -> None:
    """18 in 24 mixed evenly stands at 0, 3/4, 1 1/2, 2 1/4 and 3: only 0 and 3 are whole."""
    mixing = Mixing(film_frames=3, outputs=4, start=0, rule=Rule.BETWEEN, space=Space.CODES)
    stretch = Stretch(first=7, last=11, kind=Kind.MIXED, film=0, mixing=mixing)

    upper, _ = films_shown([stretch])
    whole = {one.number: one.upper for one in film_frames([stretch])}

    assert [0, 1, 1, 2, 3] == upper.tolist()
    assert {0: 7, 1: None, 2: None, 3: 11} == whole
    assert all(before < after for before, after in pairwise(whole))
