"""Plans of a few frames equal lists worked out on paper from the rules.

All at 10 output frames a second unless said otherwise, so that an output frame is 0.1 s; times in
the comments are in output frames. Centres are 0.5, 1.5, 2.5, ... and a frame's interval is
[start, stop). No outside source: each list is derived beside it.
"""

from __future__ import annotations

from fractions import Fraction

import pytest
from filmstrips import drifted, planned, runs, shown, shown_units, strip, uniform

from retime.errors import NotationError
from retime.film.speed import Ramp, Speed
from retime.speedmap.decisions import RampPart
from retime.speedmap.model import Phase


def ramp(first: Fraction, last: Fraction, count: int) -> RampPart:
    """Return a whole ramp, told by how many tenths of a second its end frames last."""
    speeds = Ramp(Speed(10 / first), Speed(10 / last))
    return RampPart(ramp=speeds, index=0, count=count)


def tenths(text: str) -> Fraction:
    """Return the speed of a frame that lasts so many output frames."""
    return 10 / Fraction(text)


def test_a_frame_that_starts_on_a_centre_takes_it() -> None:
    # 20 in 25: a film frame lasts 1.25. Frame 2 starts at 2.5, the centre of output frame 2, and
    # takes it; frame 1, [1.25, 2.5), has centre 1.5 alone. Frame 3, [3.75, 5), has 4.5 alone.
    assert [1, 1, 2, 1] == runs(uniform(8, 20, 25))[:4]


def test_a_shot_that_starts_on_a_centre_takes_it_in_continuous_phase() -> None:
    # 2.5 then 2.5: the cut stands on the centre of output frame 2, which is the later shot's.
    # In per-shot phase the cut is rounded up, to 3.
    film = strip((1, tenths("2.5")), (1, tenths("2.5")))

    assert [0, 0, 1, 1, 1] == shown(planned(film, 10))
    assert [0, 0, 0, 1, 1] == shown(planned(film, 10, phase=Phase.PER_SHOT))


@pytest.mark.parametrize("phase", Phase)
def test_a_film_of_one_shot_looks_the_same_in_both_phases(phase: Phase) -> None:
    # 18 in 24: a film frame lasts 4/3: starts 0, 1.33, 2.67, 4, 5.33, 6.67.
    assert [0, 1, 1, 2, 3, 4, 4, 5] == shown(planned(strip((6, 18)), 24, phase=phase))


def test_conform_at_24_gives_25_the_phase_of_24() -> None:
    # 20 laid out at 24 is 0, 1, 2, 2, 3, 4 whatever the rate that it is run at.
    assert [0, 1, 2, 2, 3, 4] == shown(uniform(5, 20, 25, at=24))


def test_24_in_25_by_repeat_doubles_one_frame_in_24() -> None:
    # A film frame lasts 25/24 = 1.0417. Frame 12 starts at 12.5, on the centre of output frame
    # 12, and stops at 13.54, past the centre of output frame 13; all others hold one centre.
    assert [1] * 12 + [2] + [1] * 11 == runs(uniform(24, 24, 25))


def test_the_last_film_frame_repeats_where_rounding_gives_more_than_the_shot_has() -> None:
    # Shots of 0.7, 1.4 and 1.4: the second lies at 0.7..2.1, so it has output frame 1 alone. The
    # third lies at 2.1..3.5, so it has 2 and 3; its own centres are 0.5 and, past its end, 1.5.
    film = strip((1, tenths("0.7")), (1, tenths("1.4")), (1, tenths("1.4")))

    assert [0, 1, 2, 2] == shown(planned(film, 10, phase=Phase.PER_SHOT))
    assert [1, 1, 2] == runs(planned(film, 10, phase=Phase.PER_SHOT))


def test_a_last_frame_stays_unshown_where_its_shot_has_no_repeat_to_give_up() -> None:
    # 0.55, then frames of 0.8 and 1.1: the second shot lies at 0.55..2.45, so it has output frame
    # 1 alone, and its centre 0.5 is in its first frame. One output frame is no repeat.
    film = strip(
        (1, tenths("0.55")),
        (2, ramp(Fraction("0.8"), Fraction("1.1"), 2)),
    )
    plan = planned(film, 10, phase=Phase.PER_SHOT)

    assert [0, 1] == shown(plan)
    assert plan.counts().dropped == 1


def test_frames_after_the_repeat_that_is_given_up_move_up_by_one() -> None:
    # 0.6, then a ramp of 0.6, 0.8, 1.0, 1.2 whose shot is to last 4.75: 1.15 more for its second
    # frame. Starts on its own clock: 0, 0.6, 2.55, 3.55. It lies at 0.6..5.35, so it has output
    # frames 1 to 4, centres 0.5 | 1.5, 2.5 | 3.5: frames 1, 2, 2, 3 of the film; frame 4, which
    # lasts 1.2, would go unshown. The repeat of 2 is given up: 1, 2, 3, 4.
    film = strip(
        (1, tenths("0.6")),
        (4, ramp(Fraction("0.6"), Fraction("1.2"), 4)),
        limits={1: {"at_least": Fraction("0.475")}},
    )
    plan = planned(film, 10, phase=Phase.PER_SHOT)

    assert [0, 1, 2, 3, 4] == shown(plan)
    assert plan.counts().held == 0
    # Frames start at 0, 0.6, 1.2, 3.15 and 4.15: frame 2 is shown 0.8 late, none is farther off.
    assert Fraction("0.8") == drifted(plan).largest


def test_a_repeat_in_mid_shot_is_given_up_and_the_rest_of_the_shot_moves_up() -> None:
    # 0.6, then eight frames of 1.1: starts on their own clock 0, 1.1, 2.2, 3.3, 4.4, 5.5, 6.6, 7.7.
    # The shot lies at 0.6..9.4, so it has output frames 1 to 8, the last centre being 7.5: its
    # frames 0, 1, 2, 3, 4, 5, 5, 6, and 7 would go unshown. The repeat of 5 is given up.
    film = strip((1, tenths("0.6")), (8, tenths("1.1")))
    plan = planned(film, 10, phase=Phase.PER_SHOT)

    assert [0, 1, 2, 3, 4, 5, 6, 7, 8] == shown(plan)
    # Its frame i starts at 0.6 + 1.1 i and is shown at 1 + i: from 0.4 late to 0.3 early.
    assert Fraction("0.4") == drifted(plan).largest


def test_a_last_frame_shorter_than_an_output_frame_takes_no_repeat() -> None:
    # As above with a ramp of 1.6, 1.3, 1.0, 0.7 after 0.7: starts 0, 1.6, 2.9, 3.9, end 4.6. The
    # shot lies at 0.7..5.3, so it has output frames 1 to 4, centres 0.5, 1.5 | 2.5 | 3.5: frames
    # 1, 1, 2, 3 of the film. Frame 4 lasts 0.7 and is dropped.
    film = strip((1, tenths("0.7")), (4, ramp(Fraction("1.6"), Fraction("0.7"), 4)))

    assert [0, 1, 1, 2, 3] == shown(planned(film, 10, phase=Phase.PER_SHOT))


@pytest.mark.parametrize("phase", Phase)
def test_a_vanishing_shot_shows_the_frame_of_its_mid_time(phase: Phase) -> None:
    # 3.6, then three frames of 0.1 at 3.6..3.9, then 3.1 from 3.9. No centre lies in the middle
    # shot, and both its bounds round to 4. Its middle, 3.75, is in output frame 3 and in its
    # second frame (frame 2 of the film), [3.7, 3.8).
    film = strip((1, tenths("3.6")), (3, tenths("0.1")), (1, tenths("3.1")))
    plan = planned(film, 10, phase=phase)

    assert [0, 0, 0, 2, 4, 4, 4] == shown(plan)
    assert [0, 0, 0, 1, 2, 2, 2] == shown_units(plan)


@pytest.mark.parametrize("phase", Phase)
def test_a_shot_that_vanishes_past_the_last_output_frame_takes_the_last(phase: Phase) -> None:
    # 3.1 and 0.2: the film lasts 3.3, so 3 output frames; the second shot's middle, 3.2, would
    # be in a fourth.
    film = strip((1, tenths("3.1")), (1, tenths("0.2")))

    assert [0, 0, 1] == shown(planned(film, 10, phase=phase))


@pytest.mark.parametrize("phase", Phase)
def test_two_shots_that_need_one_output_frame_are_both_named_in_both_phases(phase: Phase) -> None:
    # 0.9 then 0.2 at 0.9..1.1, then 0.2 at 1.1..1.3, then 2.7 to 4.0. The second vanishes with
    # its middle, 1.0, in output frame 1, which the last gives up; then the third's, 1.2.
    film = strip((1, tenths("0.9")), (1, tenths("0.2")), (1, tenths("0.2")), (1, tenths("2.7")))

    with pytest.raises(NotationError, match=r"shot 1/2 and shot 1/1 both need output frame 1"):
        planned(film, 10, phase=phase)


def test_at_least_leaves_a_title_that_lasts_longer_as_it_is() -> None:
    # Four frames of 1.5 last 6: starts 0, 1.5, 3, 4.5, of which 1.5 and 4.5 are centres.
    film = strip((4, tenths("1.5")), limits={0: {"at_least": Fraction("0.6")}})

    assert [0, 1, 1, 2, 3, 3] == shown(planned(film, 10))


def test_the_middle_of_an_even_number_of_frames_is_the_earlier_one() -> None:
    # Four frames of 1 are to last 6: frame 1 lasts 3.
    film = strip((4, 10), limits={0: {"at_least": Fraction("0.6")}})

    assert [0, 1, 1, 1, 2, 3] == shown(planned(film, 10))


def test_at_most_speeds_every_frame_up_alike() -> None:
    # Six frames of 2 are to last 9 at most: 1.5 each, from 0, 1.5, 3, 4.5, 6, 7.5.
    film = strip((6, 5), limits={0: {"at_most": Fraction("0.9")}})

    assert [0, 1, 1, 2, 3, 3, 4, 5, 5] == shown(planned(film, 10))


def test_at_most_shrinks_a_ramp_in_proportion() -> None:
    # 2, 4, 6 last 12; at most 6 makes 1, 2, 3.
    film = strip((3, ramp(Fraction(2), Fraction(6), 3)), limits={0: {"at_most": Fraction("0.6")}})

    assert [1, 2, 3] == runs(planned(film, 10))


def test_exactly_holds_a_short_title_and_hurries_a_long_one() -> None:
    # Two frames of 1 are to last 4: frame 0, the earlier of the two, lasts 3. Two frames of 4
    # are to last 4: 2 each.
    short = strip((2, 10), limits={0: {"exactly": Fraction("0.4")}})
    long = strip((2, tenths("4")), limits={0: {"exactly": Fraction("0.4")}})

    assert [3, 1] == runs(planned(short, 10))
    assert [2, 2] == runs(planned(long, 10))


def test_a_ramp_of_one_frame_lasts_as_its_first_speed_says() -> None:
    assert [3] == runs(planned(strip((1, ramp(Fraction(3), Fraction(9), 1))), 10))


def test_a_ramp_over_two_shots_goes_on_across_the_cut() -> None:
    # Durations 1, 2, 3, 4, 5 over a shot of two and one of three frames.
    speeds = Ramp(Speed(Fraction(10)), Speed(Fraction(2)))
    film = strip(
        (2, RampPart(ramp=speeds, index=0, count=5)), (3, RampPart(ramp=speeds, index=2, count=5))
    )

    assert [1, 2, 3, 4, 5] == runs(planned(film, 10))
