"""Cues are counted, ordered and read at a speed, as they are said to be."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path

import pytest
from subtitling import identity, steady

from retime.findings import TextPlace
from retime.follow.cues import Cue, order_findings, shifted
from retime.follow.reading_speed import PUBLISHED, letters, reading_speeds, too_fast
from retime.follow.retiming import RetimeLimits, retimed


def cue(begin: int, end: int, words: str, index: int = 0, *, hidden: bool = False) -> Cue:
    place = TextPlace(path=Path("lamp.srt"), line=index + 1, column=1)
    return Cue(
        begin=Fraction(begin),
        end=Fraction(end),
        text=words,
        index=index,
        place=place,
        hidden=hidden,
    )


@pytest.mark.parametrize(
    ("words", "count"),
    [
        ("", 0),
        ("The lamp", 8),
        ("The lamp\nis lit.", 16),  # a line break is a space
        ("  The   lamp \n ", 8),
        ("Flut über", 9),
        ("Flut u\u0308ber", 9),  # an accent written apart
    ],
)
def test_letters_are_counted_with_spaces_and_signs(words: str, count: int) -> None:
    assert count == letters(words)


def test_a_title_that_is_read_in_3_s_at_20_fps_must_be_read_in_2_and_a_half_at_24() -> None:
    """45 characters: 15 a second, the BBC guidelines' 180 words a minute, become 18."""
    before = [cue(0, 3, "x" * 45), cue(4, 7, "short", 1), cue(8, 9, "y" * 30, 2)]
    after, _ = retimed(before, steady(Fraction(6, 5), Fraction(9)), RetimeLimits())
    speeds = reading_speeds(before, after)

    assert [15, Fraction(5, 3), 30] == [one.before for one in speeds]
    assert [18, 2, 36] == [one.after for one in speeds]
    found = too_fast(speeds, Fraction(17))
    assert [
        (1, "18.0 characters a second, 15.0 before"),
        (3, "36.0 characters a second, 30.0 before"),
    ] == [(one.place.order[1], one.text.partition("must be read at ")[2]) for one in found]
    assert {"at most 17.0"} == {one.hint for one in found}
    assert 1 == len(too_fast(speeds, Fraction(18)))


def test_what_was_as_fast_before_is_not_told() -> None:
    before = [cue(0, 1, "y" * 30)]
    after, _ = retimed(before, identity(Fraction(1)), RetimeLimits())

    assert () == too_fast(reading_speeds(before, after), Fraction(17))


def test_film_cues_have_no_speed_before_and_comments_none_at_all() -> None:
    (found,) = reading_speeds([], [cue(0, 1, "y" * 30), cue(0, 1, "z", 1, hidden=True)])

    assert found.before is None
    assert 30 == found.after
    assert [f'"{"y" * 30}" must be read at 30.0 characters a second'] == [
        one.text for one in too_fast([found], Fraction(17))
    ]


def test_a_cue_that_lasts_no_time_is_too_fast() -> None:
    (found,) = reading_speeds([cue(0, 2, "ebb")], [cue(1, 1, "ebb")])

    assert Fraction(3, 2) == found.before
    assert found.after is None
    assert ['"ebb" must be read in no time, 1.5 before'] == [
        one.text for one in too_fast([found], Fraction(17))
    ]


def test_published_limits_name_their_sources_and_agree_with_their_words() -> None:
    """180 words a minute of five letters are 15 characters a second; 74 in six seconds are 12."""
    by_speed = {one.per_second: one for one in PUBLISHED}

    assert [12, 15, 16, 17, 20] == sorted(by_speed)
    assert all(one.what and one.source for one in PUBLISHED)
    assert 15 == 180 * 5 // 60
    assert 12 == 2 * 37 // 6
    assert "BBC Subtitle Guidelines" in by_speed[15].source
    assert "from memory" in by_speed[12].source


def test_cues_in_order_without_overlap_have_no_findings() -> None:
    cues = [cue(0, 3, "a"), cue(3, 4, "b", 1), cue(0, 9, "note", 2, hidden=True)]

    assert () == order_findings(cues)
    later = shifted(cues, Fraction(5))
    assert [5, 8, 5] == [one.begin for one in later]
    assert [8, 9, 14] == [one.end for one in later]
