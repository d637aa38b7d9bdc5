"""Cadences in fields: as published, by hand, and as the ffmpeg program's telecine filter does.

Patterns: FFmpeg filters manual, telecine (24 in 60 is 23 or 2332, 20 is 33, 18 is 334, 16 is 3444;
24 in 50 is 222222222223, 16 is 33333334), the digits being fields a film frame.
"""

from __future__ import annotations

import subprocess
from fractions import Fraction
from functools import lru_cache
from itertools import chain, groupby, pairwise

import imageio_ffmpeg
import pytest
from filmstrips import planned, shown_fields, strip, uniform

from retime.plan.cadence import same_cadence
from retime.plan.carry import FIELDS, FRAMES, THREE_TWO, TWO_THREE
from retime.plan.drift import drift_of
from retime.speedmap.model import Phase

FRAMES_DRAWN = 240
PATTERNS = {
    # speed, whole frames a second: fields a film frame
    (Fraction(24), 30): "23",
    (Fraction(20), 30): "33",
    (Fraction(18), 30): "334",
    (Fraction(16), 30): "3444",
    (Fraction(24), 25): "222222222223",
    (Fraction(16), 25): "33333334",
    (Fraction(50, 3), 25): "33",
    (Fraction(20), 25): "23",
}
SIDE = 16


@lru_cache
def program() -> str:
    return str(imageio_ffmpeg.get_ffmpeg_exe())


@lru_cache
def telecined(pattern: str) -> list[tuple[int, int]]:
    """Return which picture each frame's top and bottom field shows, by the program's filter."""
    drawn = b"".join(bytes([number]) * SIDE * SIDE for number in range(FRAMES_DRAWN))
    raw = ["-f", "rawvideo", "-pix_fmt", "gray", "-s", f"{SIDE}x{SIDE}", "-r", "24", "-i", "-"]
    command = [program(), "-v", "error", *raw, "-vf", f"telecine=pattern={pattern}:first_field=top"]
    command += ["-fps_mode", "passthrough", "-f", "rawvideo", "-"]
    made = subprocess.run(command, input=drawn, check=True, capture_output=True).stdout
    return [(made[at], made[at + SIDE]) for at in range(0, len(made), SIDE * SIDE)]


def field_runs(frames: list[tuple[int, int]]) -> list[int]:
    """Return how many fields in a row show each film frame."""
    return [len(list(same)) for _, same in groupby(chain.from_iterable(frames))]


@pytest.mark.parametrize(("speed", "rate"), PATTERNS, ids=str)
def test_fields_are_those_of_the_telecine_filter_up_to_rotation(speed: Fraction, rate: int) -> None:
    pattern = PATTERNS[speed, rate]
    size = len(pattern)
    theirs = field_runs(telecined(pattern))[2 * size : 3 * size]
    plan = uniform(FRAMES_DRAWN, speed, rate, carry=FIELDS)
    ours = field_runs(shown_fields(plan))  # type: ignore[arg-type]

    assert same_cadence(tuple(map(int, pattern)), tuple(theirs))
    assert same_cadence(tuple(theirs), tuple(ours[2 * size : 3 * size]))
    # A rotation holds for the whole film, and not for one cycle of it.
    for at in range(0, len(ours) - 2 * size, size):
        assert same_cadence(tuple(theirs), tuple(ours[at : at + size])) or at == 0


@pytest.mark.parametrize(("carry", "pattern"), [(TWO_THREE, "23"), (THREE_TWO, "32")])
def test_pulldown_carries_24_as_the_telecine_filter_does(carry: object, pattern: str) -> None:
    plan = uniform(FRAMES_DRAWN, 24, Fraction(30000, 1001), carry=carry)

    assert telecined(pattern)[:-1] == shown_fields(plan)[: len(telecined(pattern)) - 1]
    assert FRAMES_DRAWN * 5 // 4 == plan.outputs


# Field k shows film frame floor((2k + 1) speed/(2 fields)); worked out on paper.
BY_HAND = {
    # 24 in 60: floor((2k + 1)/5): 1/5, 3/5, 1, 7/5, 9/5, 11/5, 13/5, 3, 17/5, 19/5
    (24, 30): [(0, 0), (1, 1), (1, 2), (2, 3), (3, 3)],
    # 20 in 60: floor((2k + 1)/6): 1/6, 1/2, 5/6, 7/6, 3/2, 11/6
    (20, 30): [(0, 0), (0, 1), (1, 1)],
    # 18 in 60: floor((2k + 1) 3/20): .15 .45 .75 1.05 1.35 1.65 1.95 2.25 2.55 2.85
    (18, 30): [(0, 0), (0, 1), (1, 1), (1, 2), (2, 2)],
    # 20 in 50: floor((2k + 1)/5), as 24 in 60
    (20, 25): [(0, 0), (1, 1), (1, 2), (2, 3), (3, 3)],
    # 16 in 60: floor((4k + 2)/15): 2 6 10 14, 18 22 26, 30 34 38 42, 46 50 54 fifteenths
    (16, 30): [(0, 0), (0, 0), (1, 1), (1, 2), (2, 2), (2, 3), (3, 3)],
}


@pytest.mark.parametrize(("speed", "rate"), BY_HAND, ids=str)
def test_the_phase_of_fields_equals_lists_by_hand(speed: int, rate: int) -> None:
    expected = BY_HAND[speed, rate]

    assert expected == shown_fields(uniform(60, speed, rate, carry=FIELDS))[: len(expected)]


def test_24_in_50_shows_two_fields_of_each_film_frame_and_a_third_once_in_twelve() -> None:
    # Frame n starts at n/24 s, and its first field k is the least with (k + 1/2)/50 at or past it:
    # ceil((25 n - 6)/12).
    firsts = [-((6 - 25 * frame) // 12) for frame in range(13)]
    expected = [after - before for before, after in pairwise(firsts)]
    ours = field_runs(shown_fields(uniform(48, 24, 25, carry=FIELDS)))  # type: ignore[arg-type]

    assert expected == ours[:12]
    assert [2] * 11 + [3] == sorted(expected)


def test_frames_carried_in_fields_never_mix_two_film_frames() -> None:
    plan = uniform(60, 20, 30, carry=FRAMES)

    assert all(first == second for first, second in shown_fields(plan))


def test_an_odd_number_of_carried_fields_is_filled_up_with_the_last_picture() -> None:
    # One picture at 24 has 2 fields by 2:3, two have 5 and three have 7.
    assert [(0, 0)] == shown_fields(uniform(1, 24, 30, carry=TWO_THREE))
    assert [(0, 0), (1, 1), (1, 1)] == shown_fields(uniform(2, 24, 30, carry=TWO_THREE))
    assert [(0, 0), (0, 1), (1, 1)] == shown_fields(uniform(2, 24, 30, carry=THREE_TWO))[:3]


def test_a_shot_begins_with_a_frame_in_per_shot_phase_though_its_cadence_is_in_fields() -> None:
    # 25 frames a second, 5 film frames at 20 last 0.25 s, 6.25 output frames: the cut is at 6.
    film = strip((5, 20), (5, 20))
    fields = shown_fields(planned(film, 25, phase=Phase.PER_SHOT, carry=FIELDS))

    assert all(frame is not None and frame < 5 for pair in fields[:6] for frame in pair)
    assert all(frame is not None and frame >= 5 for pair in fields[6:] for frame in pair)


def test_drift_in_fields_is_at_most_half_a_field() -> None:
    drift = drift_of(uniform(480, 18, 30, carry=FIELDS))

    assert drift is not None
    # Frame n starts at field 10 n/3 and is first shown by field ceil(10 n/3 - 1/2): 0, -1/3, 1/3.
    assert Fraction(1, 6) == drift.largest
