"""What counts as a flash, and how many are too many, held against the published limits.

Sources, named again beside each check:

- **WCAG**: W3C, Web Content Accessibility Guidelines 2.2 (2023), "general flash and red flash
  thresholds" and "relative luminance".
- **BT.1702**: Rec. ITU-R BT.1702-3 (2023), guideline on flashes; its figures as quoted by others.
- **Ofcom**: the British guidance on flashing images (after ITC 2001), as circulated on a list of
  the W3C's in 2009: leading edges nine frames apart at 25 are always acceptable.
"""

from __future__ import annotations

import tracemalloc
import warnings
from fractions import Fraction
from itertools import cycle, islice, pairwise
from typing import TYPE_CHECKING

import numpy as np
import pytest
from flickering import BLACK, WHITE, answer, coloured, dark_frames, grey, metered, pulses

from retime.check.flash_limits import QUESTIONS, Kind, Standard, edges_apart
from retime.check.flash_swings import Swings
from retime.check.flashes import changes_meter
from retime.film.speed import Rate

if TYPE_CHECKING:
    from collections.abc import Sequence

    from retime.check.flash_blocks import Codes
    from retime.check.flash_limits import Question

GENERAL = [question for question in QUESTIONS if question.kind is Kind.GENERAL]
RED = [question for question in QUESTIONS if question.kind is Kind.RED]
WCAG_RED = next(question for question in RED if question.standard is Standard.WCAG)
BROADCAST_RED = next(question for question in RED if question.standard is Standard.BROADCAST)
NAMES = [str(standard) for standard in Standard]


def fails(film: Sequence[Codes], rate: Fraction | int, kind: Kind = Kind.GENERAL) -> list[bool]:
    """Return whether a film fails by WCAG, and whether it does by BT.1702."""
    report = metered(film, rate)
    return [not answer(report, kind, standard).passes for standard in Standard]


def most(film: Sequence[Codes], rate: Fraction | int) -> list[Fraction]:
    """Return the most general flashes in a second by both standards."""
    report = metered(film, rate)
    runs = [answer(report, Kind.GENERAL, standard).worst for standard in Standard]
    return [Fraction(0) if run is None else run.flashes for run in runs]


def changed(question: Question, *states: tuple[float, float, float]) -> list[int]:
    """Return which transitions a field of these colours, in linear light, makes one by one."""
    meter = changes_meter(question)
    told = []
    for state in states:
        light = np.broadcast_to(np.array(state, np.float32), (72, 96, 3))
        told.append(int(meter(light)[0, 0]))
    return told


def is_flash(question: Question, *states: tuple[float, float, float]) -> bool:
    """Tell whether two colours that alternate are pairs of opposing transitions."""
    first, second = states
    told = changed(question, first, second, first, second)
    return all(told[1:])


# How many flashes


def test_black_and_white_on_alternate_frames_at_24_are_12_flashes_a_second() -> None:
    # WCAG, BT.1702: a flash is two opposing transitions; 24 transitions a second (arithmetic).
    film = dark_frames(2, 72)

    assert [12, 12] == most(film, 24)
    assert [True, True] == fails(film, 24)


def test_one_dark_frame_in_eight_at_24_is_three_flashes_a_second_and_passes() -> None:
    # WCAG: no more than three within any one second.
    film = dark_frames(8, 96)

    assert [3, 3] == most(film, 24)
    assert [False, False] == fails(film, 24)


def test_one_dark_frame_in_seven_at_24_fails_for_a_second_can_hold_four() -> None:
    # Frames 0, 7, 14 and 21 of 24 (arithmetic).
    film = dark_frames(7, 96)

    assert [4, 4] == most(film, 24)
    assert [True, True] == fails(film, 24)


@pytest.mark.parametrize(("flashes", "too_many"), [(3, False), (4, True)])
def test_three_flashes_by_themselves_are_allowed_and_four_are_not(
    flashes: int, *, too_many: bool
) -> None:
    # WCAG: three within any one second; BT.1702: three flashes, which are six transitions.
    film = pulses(range(10, 10 + 4 * flashes, 4), [2] * flashes, 48)

    assert [too_many] * 2 == fails(film, 24)


def test_four_flashes_pass_where_no_second_holds_all_of_them() -> None:
    film = pulses([0, 10, 20, 30], [1] * 4, 48)

    assert [False, False] == fails(film, 24)


def test_a_second_is_half_open_so_that_what_comes_a_second_later_is_not_in_it() -> None:
    # Four flashes by their second transitions at 1, 9, 17 and 25: the last is 24 frames later.
    late, early = (pulses([0, 8, 16, last], [1] * 4, 72) for last in (24, 23))

    assert [False, False] == fails(late, 24)
    assert [True, True] == fails(early, 24)


def test_a_flicker_faster_than_three_a_second_fails_whatever_its_share_of_light() -> None:
    # BT.1702: six transitions. At 24/7 a second no second holds four whole flashes, but seven
    # transitions, where light and dark last about as long.
    for light in range(1, 7):
        film = pulses(range(0, 84, 7), [light] * 12, 84)

        assert [True, True] == fails(film, 24), light


# What a transition is


@pytest.mark.parametrize("question", GENERAL, ids=NAMES)
@pytest.mark.parametrize(
    ("dark", "light", "counts"),
    [
        (0.0, 0.1, True),  # WCAG: 10 % or more of the maximum
        (0.0, 0.0999, False),
        (0.5, 0.6, True),
        (0.5, 0.5999, False),
        (0.7999, 0.95, True),  # WCAG: the darker image below 0.80
        (0.80, 0.95, False),
        (0.80, 1.0, False),
        (0.75, 0.85, True),
        (20 / 200, 40 / 200, True),  # BT.1702: 20 cd/m2 or more, of 200
        (20 / 200, 39.9 / 200, False),
        (159.9 / 200, 190 / 200, True),  # BT.1702: the darker below 160 cd/m2
        (160 / 200, 190 / 200, False),
    ],
)
def test_a_change_of_luminance_counts_from_a_tenth_of_white_on_where_the_darker_is_below_80_percent(
    question: Question, dark: float, light: float, *, counts: bool
) -> None:
    assert counts is is_flash(question, (dark,) * 3, (light,) * 3)


@pytest.mark.parametrize(
    ("weight", "place"), [(0.2126, 0), (0.7152, 1), (0.0722, 2)], ids=["red", "green", "blue"]
)
def test_luminance_is_weighed_as_wcag_weighs_it(weight: float, place: int) -> None:
    # WCAG, relative luminance: L = 0.2126 R + 0.7152 G + 0.0722 B.
    base = (0.3, 0.3, 0.3)
    for span, counts in ((0.101, True), (0.099, False)):
        light = list(base)
        light[place] += span / weight  # what is no colour of a screen is as good for the sum

        assert counts is is_flash(GENERAL[0], base, tuple(light))  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("standard", "dark", "light", "counts"),
    [
        # WCAG, relative luminance, by IEC 61966-2-1: 10 % is code 89.04, 80 % is 231.12.
        (Standard.WCAG, 0, 89, False),
        (Standard.WCAG, 0, 90, True),
        (Standard.WCAG, 231, 255, True),
        (Standard.WCAG, 232, 255, False),
        # BT.1702 by Rec. ITU-R BT.1886: 20 of 200 cd/m2 is a signal of 0.38312, 160 is 0.91121.
        (Standard.BROADCAST, 0, 97, False),
        (Standard.BROADCAST, 0, 98, True),
        (Standard.BROADCAST, 232, 255, True),
        (Standard.BROADCAST, 233, 255, False),
    ],
)
def test_codes_stand_for_luminance_by_the_curve_of_each_standard(
    standard: Standard, dark: int, light: int, *, counts: bool
) -> None:
    film = [grey(dark), grey(light)] * 24

    assert counts is not answer(metered(film, 24), Kind.GENERAL, standard).passes


def test_a_slow_change_over_several_pictures_is_one_transition() -> None:
    # WCAG: from peak to valley. Up in six frames and down in six: two flashes a second at 24.
    up = [grey(code) for code in (0, 90, 130, 170, 210, 240)]
    film = list(islice(cycle([*up, *reversed(up)]), 120))

    assert [2, 2] == most(film, 24)


def test_a_fade_of_a_second_is_one_transition_and_passes() -> None:
    fade = [grey(round(255 * number / 24)) for number in range(25)]

    assert [Fraction(1, 2)] * 2 == most(fade, 24)
    assert [Fraction(1, 2)] * 2 == most(fade[::-1], 24)


def test_changes_of_less_than_a_tenth_on_a_fade_neither_count_nor_part_it() -> None:
    noise = np.random.default_rng(7)
    fade = np.concatenate([np.linspace(0, 0.7, 24), np.linspace(0.7, 0, 24)])
    swings, told = Swings(0.1, (200,)), np.zeros((200, 2), int)
    for level in fade:
        grain = noise.uniform(-0.045, 0.045, 200)
        found = swings.see((level + grain).astype(np.float32), np.ones(200, np.bool_))
        told += np.stack([found == 1, found == -1], axis=1)

    assert (told == 1).all()


def test_transitions_are_those_between_adjacent_peaks_and_valleys() -> None:
    # That is WCAG's note on transitions, in "a plot of relative luminance against time". The levels
    # here differ by a tenth or more, so every peak and valley is one by that note itself.
    levels = np.array([0.0, 0.2, 0.4, 0.6, 0.78, 0.9, 1.0])
    picks = np.random.default_rng(11).integers(0, len(levels), (60, 300))
    swings = Swings(0.1 - 1e-6, (300,))
    series = levels[picks]
    found = np.array([swings.see(row.astype(np.float32), row < 0.8) for row in series])

    for block in range(300):
        expected = [up for up, dark in _peak_to_valley(list(series[:, block])) if dark < 0.8]
        assert expected == [way for way in found[:, block] if way]


def _peak_to_valley(plot: list[float]) -> list[tuple[int, float]]:
    """Return each swing between adjacent extremes: which way, and its darker end."""
    held = [plot[0], *(after for before, after in pairwise(plot) if before != after)]
    turning = [
        held[place]
        for place in range(len(held))
        if place in {0, len(held) - 1}
        or (held[place] - held[place - 1]) * (held[place + 1] - held[place]) < 0
    ]
    return [
        (1 if after > before else -1, min(before, after)) for before, after in pairwise(turning)
    ]


def test_the_most_flashes_in_a_second_are_found_in_whichever_second_has_them() -> None:
    # Counted once more from the definition, in every half-open second that begins with a picture.
    random = np.random.default_rng(3)
    for _ in range(12):
        film: list[Codes] = []
        lit = bool(random.integers(2))
        while len(film) < 72:
            film += [WHITE if lit else BLACK] * int(random.integers(1, 9))
            lit = not lit
        turns = [at for at, (one, two) in enumerate(pairwise(film), 1) if one is not two]
        counts = [sum(first <= at < first + 24 for at in turns) for first in range(72)]
        if max(counts) == 7:  # what leading edges allow is told by tests of its own
            continue

        assert [Fraction(max(counts), 2)] * 2 == most(film, 24)


# What is always allowed


@pytest.mark.parametrize(
    ("rate", "frames", "allowed"),
    [
        (25, 9, True),  # Ofcom: nine frames or more; BT.1702: 360 ms at 50 Hz
        (50, 18, True),
        (50, 17, False),  # 340 ms
        (30, 11, True),  # BT.1702: 334 ms at 60 Hz
        (60, 21, True),  # 350 ms
        (24, 9, True),  # 375 ms
        (24, 8, False),  # 333 ms
    ],
)
def test_flashes_whose_leading_edges_are_far_enough_apart_always_pass(
    rate: int, frames: int, *, allowed: bool
) -> None:
    # The first ends late and the last early: seven transitions come within one second.
    lengths = [frames - 1, frames // 2, frames // 2, 1]
    film = pulses([frames * number for number in range(4)], lengths, 5 * frames)
    report = metered(film, rate, apart=edges_apart(Rate(Fraction(rate))))

    assert [allowed] * 2 == [answer(report, Kind.GENERAL, one).passes for one in Standard]


def test_how_far_apart_edges_have_to_be_goes_by_the_mains_that_a_rate_belongs_to() -> None:
    # BT.1702: 360 ms at 50 Hz, 334 ms at 60 Hz; films at 24 are shown at both.
    told = {rate: edges_apart(Rate(Fraction(rate))) for rate in ("25", "50", "24", "24000/1001")}
    sixty = {rate: edges_apart(Rate(Fraction(rate))) for rate in ("30", "30000/1001", "60")}

    assert {Fraction(360, 1000)} == {*told.values(), edges_apart(None)}
    assert {Fraction(334, 1000)} == set(sixty.values())


def test_edges_nine_frames_apart_pass_at_25_whatever_lengths_flashes_have() -> None:
    random = np.random.default_rng(5)
    starts = range(0, 270, 9)
    film = pulses(starts, [int(random.integers(1, 9)) for _ in starts], 270)

    assert [False, False] == fails(film, 25)


# Film speed


def flicker(rate: int) -> list[Codes]:
    """Return 10 s at 16 of 2.5 flashes a second, a dark frame each."""
    dark = {32 * number // 5 for number in range(25)}
    return [BLACK if number in dark else WHITE for number in range(rate * 10)]


def test_the_speed_multiplies_flashes_so_that_a_film_can_fail_at_24_alone() -> None:
    # 2.5 a second at 16 are 3.75 at 24 (arithmetic: 24/16 = 1.5).
    film = flicker(16)

    assert [False, False] == fails(film, 16)
    assert [True, True] == fails(film, 24)


def test_frames_that_are_repeated_change_nothing() -> None:
    # 16 in 24 shows every other frame twice; flashes a second of screen time stay.
    film = flicker(16)
    repeated = [frame for number, frame in enumerate(film) for frame in [frame] * (1 + number % 2)]

    assert 240 == len(repeated)
    assert [False, False] == fails(repeated, 24)
    assert [True, True] == fails([frame for frame in film for _ in range(2)], 48)


# Saturated red


@pytest.mark.parametrize(
    ("state", "counts"),
    [
        ((0.0624, 0.0, 0.0), False),  # WCAG: (R - G - B) x 320 has to change by more than 20
        ((0.0625, 0.0, 0.0), False),
        ((0.0627, 0.0, 0.0), True),
        ((0.8, 0.1, 0.1), True),  # WCAG: R/(R + G + B) >= 0.8
        ((0.8, 0.2, 0.0), True),
        ((0.79, 0.105, 0.105), False),
        ((0.0, 0.0, 0.9), False),
        ((0.0, 0.9, 0.0), False),
    ],
)
def test_a_red_by_wcag_is_saturated_and_changes_by_more_than_20_of_320(
    state: tuple[float, float, float], *, counts: bool
) -> None:
    assert counts is is_flash(WCAG_RED, (0.0, 0.0, 0.0), state)


def test_what_is_negative_counts_as_no_red() -> None:
    # WCAG: "negative values of (R-G-B)x320 are set to zero". From cyan to a red of 19.2.
    assert not is_flash(WCAG_RED, (0.0, 1.0, 1.0), (0.06, 0.0, 0.0))


def test_a_red_counts_if_either_state_of_a_transition_is_saturated() -> None:
    # WCAG: "for either or both states involved in each transition".
    assert is_flash(WCAG_RED, (0.3, 0.0, 0.0), (0.5, 0.0, 0.0))
    assert is_flash(WCAG_RED, (0.3, 0.1, 0.1), (0.5, 0.0, 0.0))
    assert not is_flash(WCAG_RED, (0.3, 0.1, 0.1), (0.6, 0.1, 0.1))


def test_a_turn_to_a_saturated_red_counts_by_its_distance_in_the_ucs_diagram() -> None:
    # WCAG 2.2, note, after ISO 9241-391: one state saturated, and the two more than 0.2 apart in
    # CIE 1976 u', v'. The distances are those of the library colour-science.
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # of optional libraries that it has not found
        from colour import models  # noqa: PLC0415 - it takes a second
    to_xyz = models.RGB_COLOURSPACES["sRGB"].matrix_RGB_to_XYZ
    random = np.random.default_rng(2)
    counted = 0
    for red in ((0.9, 0.05, 0.05), (1.0, 0.0, 0.0), (0.8, 0.0, 0.19), (0.8, 0.19, 0.0)):
        for other in random.uniform(0.02, 1, (15, 3)):
            if other[0] >= 0.8 * other.sum():
                continue
            xyz = [to_xyz @ np.array(state) for state in (red, other)]
            (u, v), (s, t) = (models.xy_to_Luv_uv(models.XYZ_to_xy(one)) for one in xyz)
            distance = float(np.hypot(u - s, v - t))
            if abs(distance - 0.2) < 0.001:  # four decimals of the primaries reach no further
                continue
            counted += distance > 0.2
            expected = [0, -1, 1, -1] if distance > 0.2 else [0, 0, 0, 0]

            assert expected == changed(BROADCAST_RED, red, tuple(other), red, tuple(other))
    assert 10 < counted < 50


def test_what_is_all_but_black_has_no_colour() -> None:
    # Common practice sets a screen's black below 0.1 cd/m2. These reds have 0.0085 and 0.85.
    for red, turns in ((0.0002, []), (0.02, [1, -1, 1])):
        told = changed(BROADCAST_RED, *[(0.0, 0.0, 1.0), (red, 0.0, 0.0)] * 2)

        assert turns == [way for way in told if way]


def test_a_slow_turn_to_red_is_one_transition() -> None:
    mixes = [(share, 1 - share, 1 - share) for share in np.linspace(0.1, 1, 12)]

    assert [1] == [way for way in changed(BROADCAST_RED, *mixes) if way]
    assert [1] == [way for way in changed(WCAG_RED, *mixes) if way]


def test_red_and_black_four_times_a_second_fail_at_any_luminance() -> None:
    # BT.1702: irrespective of luminance. Red of code 120 has 4 % of white's: no general flash.
    bright, dark = (
        [colour if number % 6 < 3 else BLACK for number in range(96)]
        for colour in (coloured(255, 0, 0), coloured(120, 0, 0))
    )

    assert [True, True] == fails(bright, 24, Kind.RED)
    assert [True, True] == fails(bright, 24)
    assert [True, True] == fails(dark, 24, Kind.RED)
    assert [False, False] == fails(dark, 24)


def test_red_and_a_grey_of_its_luminance_are_red_flashes_and_no_general_ones() -> None:
    # Red has 0.2126 of white's luminance; grey of code 127 has 0.2122 by sRGB.
    film = [coloured(255, 0, 0) if number % 6 < 3 else grey(127) for number in range(96)]

    assert [False, False] == fails(film, 24)
    assert [True, True] == fails(film, 24, Kind.RED)


def test_three_red_flashes_a_second_are_allowed_and_blue_ones_are_none() -> None:
    slow = [coloured(255, 0, 0) if number % 8 < 4 else BLACK for number in range(96)]
    blue = [coloured(0, 0, 255) if number % 2 else BLACK for number in range(96)]

    assert [False, False] == fails(slow, 24, Kind.RED)
    assert [False, False] == fails(blue, 24, Kind.RED)


# What is told


def test_the_worst_second_and_failing_stretches_say_when() -> None:
    still = [WHITE] * 24
    film = [*still, *dark_frames(2, 24), *still, *still, *dark_frames(4, 24), *still]
    found = answer(metered(film, 24), Kind.GENERAL, Standard.BROADCAST)

    assert found.worst is not None
    assert 1 == found.worst.start
    assert 1 == found.worst.area
    assert [1, 4] == [run.start for run in found.failing]
    assert [Fraction(47, 24), Fraction(117, 24)] == [run.stop for run in found.failing]
    assert [12, 6] == [int(run.flashes) for run in found.failing]
    assert 6 == len(found.series)
    assert [0, 12, 0, 0, 6, 0] == list(found.series)


def test_memory_does_not_grow_with_the_film() -> None:
    peaks = []
    for seconds in (3, 12):
        tracemalloc.start()
        metered((BLACK if number % 2 else WHITE for number in range(24 * seconds)), 24)
        peaks.append(tracemalloc.get_traced_memory()[1])
        tracemalloc.stop()

    assert peaks[1] < 1.05 * peaks[0]
