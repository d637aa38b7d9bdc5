"""What each kind of item implies, by hand and by what is published."""

from __future__ import annotations

from collections import Counter
from fractions import Fraction
from itertools import pairwise
from math import ceil, log, sqrt
from statistics import mean, variance
from typing import TYPE_CHECKING

import pytest
from evidence_files import HEAD, implied_by, item_of

from retime.errors import DocumentError
from retime.evidence.model import ASKED_BY, Kind, Measure, Question, Sense
from retime.evidence.preferences import parse_screen
from retime.film.speed import Speed

if TYPE_CHECKING:
    from retime.evidence.model import Implied

METRIC = HEAD.replace("gauge: 35mm", "gauge: 35mm\nfootage: pitch")


def at(implied: Implied, fps: int | Fraction) -> Fraction:
    """Return what a document should have said at a speed."""
    return implied.yardstick.at(Speed(Fraction(fps)))


def bounds(implied: Implied) -> tuple[object, ...]:
    return implied.speed.low, implied.speed.value, implied.speed.high


def all_of(*figures: object) -> tuple[object, ...]:
    """Return figures as one, to be compared with numbers of any kind."""
    return figures


# ------------------------------------------------------------------------------------ running times


def test_a_thousand_feet_in_sixteen_minutes_are_fifty_thirds_a_second() -> None:
    """The Literary Digest, 26 January 1918, p. 58: about 1,000 ft in 16 min, 16000 / 960."""
    by_runtime = implied_by("kind: runtime, time: 16 min within 1 min, length: 1000 ft")
    by_instruction = implied_by("kind: instruction, time: 16 min within 1 min, per: 1000 ft")

    assert Fraction(50, 3) == by_runtime.speed.value
    assert Fraction(50, 3) == by_instruction.speed.value
    assert "16 min within 1 min for 1000 ft" == by_instruction.said


# James Card, Silent Film Speed, 1955: 1,000 ft last 16 min 40 s at 16 and 11 min 6 2/3 s at 24
CARD = {16: "16:40", 24: "2000/3 s"}


@pytest.mark.parametrize("fps", CARD)
def test_running_times_of_a_thousand_feet_go_both_ways(fps: int) -> None:
    found = implied_by(f"kind: runtime, time: {CARD[fps]}, within: 1 %")

    assert fps == found.speed.value
    assert {16: 1000, 24: Fraction(2000, 3)}[fps] == at(found, fps)
    assert {1000, Fraction(2000, 3)} == {at(found, 16), at(found, 24)}


def test_a_film_of_twelve_minutes_at_16_lasts_eight_at_24() -> None:
    """Paul Henley, The Silent Time Machine."""
    found = implied_by("kind: runtime, time: 12 min, within: 30 s, length: 11520 frames")

    assert (16, 480) == all_of(found.speed.value, at(found, 24))


def test_feet_and_frames_are_timed_to_the_frame() -> None:
    """12 ft 6 frames at 90 ft/min, 198 frames at 24, are 8.25 s.

    F. H. Richardson's Bluebook of Projection, 1935, p. 198, has about 8 s.
    """
    found = implied_by("kind: runtime, time: 8.25 s, within: 0.5 s, length: 12+06")

    assert (24, Fraction("8.25")) == all_of(found.speed.value, at(found, 24))


# the film of a gauge that runs 100 minutes at 24 frames a second, in feet: Filmfuss, German
# Wikipedia mirror, naming ISO 491 and ISO 69
HUNDRED_MINUTES = {"35mm": 9000, "16mm": 3600, "9.5mm": 3600, "8mm": 1800, "super 8": 2000}


@pytest.mark.parametrize("gauge", HUNDRED_MINUTES)
def test_a_documents_feet_are_those_of_its_own_gauge(gauge: str) -> None:
    feet = HUNDRED_MINUTES[gauge]
    found = implied_by(
        f"kind: runtime, time: 100 min within 1 min, length: {feet} ft, gauge: {gauge}"
    )

    assert 24 == found.speed.value


def test_730_feet_of_35_mm_are_292_of_16_mm() -> None:
    """The Black Viper (1908), a paper roll copied.

    The record of the Library of Congress, as given by the New York University film history weblog,
    "Notes about LOC XML files", 2017.
    """
    wide = implied_by("kind: runtime, time: 12 min within 1 min, length: 730 ft")
    narrow = implied_by("kind: runtime, time: 12 min within 1 min, length: 292 ft, gauge: 16mm")

    assert wide.speed == narrow.speed
    assert Fraction(11680, 720) == wide.speed.value


@pytest.mark.parametrize(("footage", "seconds"), [("nominal", "512.5"), ("pitch", "508")])
def test_400_feet_of_28_mm_last_eight_to_nine_minutes_at_16(footage: str, seconds: str) -> None:
    """Reel Deals magazine, 2012-03, p. 7: 8 or 9 minutes at a nominal 16.

    8:32.5 by 20.5 frames to the foot (Village Hall Cinemas), 8:28 by the pitch of 15 mm.
    """
    found = implied_by(
        "kind: runtime, time: 8:30 within 0:30, length: 400 ft, gauge: 28mm, footage: " + footage
    )

    assert Fraction(seconds) == at(found, 16)
    assert found.speed.low < 16 < found.speed.high


# minutes and seconds as a Swedish transfer firm publishes them (diginova.se, film lengths); it
# rounds the frames of a metre, which makes less than a second
PUBLISHED_METRES = [
    ("8mm", 16, 15, 246),
    ("8mm", 16, 120, 1969),
    ("super 8", 18, 15, 197),
    ("super 8", 18, 120, 1575),
]


@pytest.mark.parametrize(("gauge", "fps", "metres", "seconds"), PUBLISHED_METRES)
def test_metres_of_narrow_film_last_what_is_published(
    gauge: str, fps: int, metres: int, seconds: int
) -> None:
    found = implied_by(
        f"kind: runtime, time: {seconds} s within 1 s, length: {metres} m, "
        f"gauge: {gauge}, footage: nominal"
    )

    assert found.speed.low <= fps <= found.speed.high
    assert abs(at(found, fps) - seconds) < 1


def test_a_hundred_minutes_of_sound_film_are_2736_metres() -> None:
    """Basic principles of projection (aj69.tripod.com), 24 frames a second, by the pitch."""
    found = implied_by("kind: runtime, time: 100 min within 1 min, length: 2736 m", head=METRIC)

    assert 24 == found.speed.value


def test_a_runtimes_tolerance_is_the_speeds_and_a_rectangle() -> None:
    """95 min within 5: 5/95 to either side, its deviation that over the root of 3.

    JCGM 100:2008, 4.3.7; from memory. The bounds are those of 90 and 100 minutes.
    """
    found = implied_by("kind: runtime, time: 95 min within 5 min, length: 114000 frames")

    assert (19, 20, Fraction(190, 9)) == bounds(found)
    assert 5 / 95 / sqrt(3) == pytest.approx(found.speed.relative)
    assert "95 min within 5 min" == found.said


def test_doubts_of_length_and_time_add_as_squares() -> None:
    """Relative variances add in a quotient (JCGM 100:2008, 5.1.6; from memory): 3, 4 and 5."""
    found = implied_by("kind: runtime, time: 10 min within 4 %, length: 1000 ft within 3 %")

    assert 0.05 / sqrt(3) == pytest.approx(found.speed.relative)


def test_what_a_print_lacked_is_taken_off_and_what_it_had_more_is_added() -> None:
    """1000 ft - 40 ft - 3 min at 18 + 20 frames: 16000 - 640 - 3240 + 20 = 12140 frames."""
    found = implied_by(
        "kind: runtime, time: 607 s within 10 s, absent: [40 ft, 3 min at 18 fps], added: 20 frames"
    )

    assert 20 == found.speed.value
    assert 607 == at(found, 20)


def test_a_part_known_by_its_time_is_known_within_that() -> None:
    """3 min at 18 within 10 %: 2916 to 3564 frames, off 16000."""
    found = implied_by("kind: runtime, time: 638 s within 1 s, absent: 3 min at 18 fps within 10 %")

    assert (Fraction(12436, 639), 20, Fraction(13084, 637)) == bounds(found)


# --------------------------------------------------------------------------------------- programmes


def test_a_programme_leaves_the_film_what_else_was_in_it_is_taken_off() -> None:
    """120 - 10 - 5 - 20 - 5 = 80 min within 5: 96000 frames are 20 a second.

    At 16 they last 100 min, and the next show would begin 140 min after this.
    """
    found = implied_by(
        "kind: programme, apart: 120 min within 5 min, length: 96000 frames, "
        "less: {interval: 10 min, overture: 5 min, supporting: 20 min, clearing: 5 min}"
    )

    assert (Fraction(320, 17), 20, Fraction(64, 3)) == bounds(found)
    assert (7200, 8400) == all_of(at(found, 20), at(found, 16))
    assert Measure.TIME is found.yardstick.measure


def test_what_is_taken_off_a_programme_may_be_doubtful_too() -> None:
    """100 within 3 less 20 within 4: 80, its bounds 73 and 87, its variance (9 + 16) / 3 min^2."""
    found = implied_by(
        "kind: programme, apart: 100 min within 3 min, length: 96000 frames, "
        "less: {supporting: 20 min within 4 min}"
    )

    assert (Fraction(1600, 87), 20, Fraction(1600, 73)) == bounds(found)
    assert 5 / 80 / sqrt(3) == pytest.approx(found.speed.relative)


# --------------------------------------------------------------------------- instructions, cameras

# what was asked for in feet a minute, and frames a second: 16 to the foot, over 60
TOLD: dict[str, tuple[int | Fraction, int | Fraction]] = {
    "60..75 ft/min": (16, 20),  # camera practice: Transactions of the SMPE, 1916
    "75..85 ft/min": (20, Fraction(68, 3)),  # SMPE committee on standards, 1924
    "80 ft/min within 5 ft/min": (20, Fraction(68, 3)),  # the same: 80 best, 75 least, 85 most
    "85..90 ft/min": (Fraction(68, 3), 24),  # taking sound film: the committee, September 1927
}


@pytest.mark.parametrize("text", TOLD)
def test_feet_a_minute_are_frames_a_second(text: str) -> None:
    low, high = TOLD[text]
    found = implied_by(f"kind: instruction, speed: {text}")

    assert (low, (low + Fraction(high)) / 2, high) == bounds(found)
    assert Measure.FEET_PER_MINUTE is found.yardstick.measure


# the same committee's survey, September 1927, and S. Watkins after S. Eyman for the last
SURVEY: dict[int, int | Fraction] = {
    80: Fraction(64, 3),
    85: Fraction(68, 3),
    90: 24,
    100: Fraction(80, 3),
}


@pytest.mark.parametrize("feet", SURVEY)
def test_an_instruction_says_again_what_it_said_at_the_speed_it_implies(feet: int) -> None:
    found = implied_by(f"kind: instruction, speed: {feet} ft/min, within: 2 ft/min")

    assert SURVEY[feet] == found.speed.value
    assert feet == at(found, Fraction(SURVEY[feet]))


def test_eighty_feet_a_minute_are_64_thirds() -> None:
    """Standards and Nomenclature committee of the SMPE, 1924; 60 and 95 were shown beside it."""
    found = implied_by("kind: instruction, speed: 80 ft/min within 5 ft/min")

    assert Fraction(64, 3) == found.speed.value
    assert (60, 95) == all_of(at(found, 16), at(found, Fraction(76, 3)))


def test_ten_feet_in_twelve_seconds_are_thirteen_and_a_third() -> None:
    """Jno. M. Bradlet, On Sub Titles, Moving Picture World, 27 February 1909, p. 235.

    The 12 ft that he asks for last 9.6 s at the 75 ft/min of which he complains.
    """
    ten = implied_by("kind: instruction, time: 12 s within 1 s, per: 10 ft")
    twelve = implied_by("kind: instruction, time: 12 s within 1 s, per: 12 ft")

    assert Fraction(40, 3) == ten.speed.value
    assert Fraction("9.6") == at(twelve, 20)


@pytest.mark.parametrize(("feet", "minutes"), [(1000, 11), (2000, 22)])
def test_a_reel_of_sound_film_lasts_its_minutes(feet: int, minutes: int) -> None:
    """F. H. Richardson, Bluebook of Projection, 1935, p. 186: about 11 and 22 minutes."""
    found = implied_by(
        f"kind: instruction, time: {minutes} min within 20 s, per: reel, reel-length: {feet} ft"
    )

    assert found.speed.low < 24 < found.speed.high
    assert f"{minutes} min within 20 s for a reel of {feet} ft" == found.said


def test_a_time_for_a_thousand_feet_is_a_speed() -> None:
    """16:40 at 16: James Card, Silent Film Speed, 1955."""
    found = implied_by("kind: instruction, speed: 16:40 /1000ft within 0:50 /1000ft")

    assert (Fraction(16000, 1050), 16, Fraction(16000, 950)) == bounds(found)
    assert (Measure.TIME, 1000) == all_of(found.yardstick.measure, at(found, 16))


def test_an_instruction_in_metres_goes_by_the_pitch_that_was_chosen() -> None:
    """27.36 m/min at 24: Basic principles of projection (aj69.tripod.com)."""
    found = implied_by("kind: instruction, speed: 27.36 m/min within 1 m/min", head=METRIC)

    assert (24, Fraction("27.36")) == all_of(found.speed.value, at(found, 24))
    assert Measure.METRES_PER_MINUTE is found.yardstick.measure


def test_two_turns_a_second_of_eight_frames_are_sixteen() -> None:
    """Eight frames a turn: common practice."""
    found = implied_by("kind: camera, turns: 2 /s within 5 %")

    assert (Fraction("15.2"), 16, Fraction("16.8")) == bounds(found)
    assert (Measure.TURNS, 2, 3) == all_of(found.yardstick.measure, at(found, 16), at(found, 24))


def test_a_crank_of_other_gearing_says_so() -> None:
    found = implied_by("kind: camera, turns: 120 /min within 5 %, frames-a-turn: 10")

    assert 20 == found.speed.value


def test_a_cameras_counter_tells_a_speed() -> None:
    """W. K. Howe on work of 1919, interview of 1958: a counter cranked at 16."""
    found = implied_by("kind: camera, speed: 16 fps within 0.5 fps")

    assert (Fraction("15.5"), 16, Fraction("16.5")) == bounds(found)
    assert (Measure.FPS, 18) == all_of(found.yardstick.measure, at(found, 18))


def test_stock_exposed_in_a_time_of_shooting() -> None:
    """750 ft are 12000 frames, in 20 min of which the camera ran 0.4 to 0.6: 12000 / 600."""
    found = implied_by("kind: stock, exposed: 750 ft, time: 20 min, running: 0.4..0.6")

    assert (Fraction(50, 3), 20, 25) == bounds(found)
    assert (1200, 1500) == all_of(at(found, 20), at(found, 16))


# ------------------------------------------------------------------------------------------- music


def test_a_score_without_lengths_is_a_running_time() -> None:
    """6 min + 64 bars of 4 at 64 a minute, 4 min: 16000 frames in 600 s."""
    found = implied_by(
        "kind: score, within: 3 %, sections: "
        "[{name: a, time: 6 min}, {name: b, bars: 64, beats: 4, mark: 64}]"
    )

    assert (Fraction(80, 3), 600) == all_of(found.speed.value, at(found, Fraction(80, 3)))
    assert sqrt(360**2 + 240**2) * 0.03 / 600 / sqrt(3) == pytest.approx(found.speed.relative)


def test_a_metronomes_mark_may_be_doubtful_itself() -> None:
    """40 bars of 3 at 60 to 80: 120 beats last 90 to 120 s; the middle is that of 70."""
    found = implied_by(
        "kind: score, length: 120 ft, sections: [{name: a, bars: 40, beats: 3, mark: 60..80}]"
    )

    assert (16, Fraction(1920 * 7, 720), Fraction(64, 3)) == bounds(found)


def test_sections_with_lengths_have_a_common_speed() -> None:
    """Two that say 20 and one that says 20 are 20, told better by the root of 3."""
    item = item_of(
        "kind: score, within: 3 %, sections: [{name: a, time: 60 s, length: 75 ft}, "
        "{name: b, time: 80 s, length: 100 ft}, {name: c, time: 2 min, length: 2400 frames}]"
    )
    (found,) = item.implied

    assert 20 == pytest.approx(float(found.speed.value))
    assert 0.03 / sqrt(3) / sqrt(3) == pytest.approx(found.speed.relative)
    assert item.score is not None
    assert ["a", "b", "c"] == [one.section.name for one in item.score.sections]


def test_what_a_conductor_does_to_all_sections_does_not_average_out() -> None:
    """1 % from the sections, 4 % common: a rectangle each."""
    found = implied_by(
        "kind: score, within: 2 %, common: 4 %, sections: [{name: a, time: 60 s, length: 75 ft}, "
        "{name: b, time: 80 s, length: 100 ft}, {name: c, time: 80 s, length: 100 ft}, "
        "{name: d, time: 40 s, length: 50 ft}]"
    )

    assert sqrt((0.01**2 + 0.04**2) / 3) == pytest.approx(found.speed.relative, rel=1e-9)


def test_a_section_that_lost_footage_is_left_aside() -> None:
    """Four sections at 20, and one whose 16 s of frames are gone: it would say 15."""
    item = item_of(
        "kind: score, within: 2 %, sections: [{name: a, time: 60 s, length: 75 ft}, "
        "{name: b, time: 80 s, length: 100 ft}, {name: c, time: 80 s, length: 75 ft}, "
        "{name: d, time: 40 s, length: 50 ft}, {name: e, time: 40 s, length: 50 ft}]"
    )
    (found,) = item.implied

    assert 20 == pytest.approx(float(found.speed.value))
    assert 300 * 16 / 20 - 20 == pytest.approx(float(at(found, 20)))
    assert "4 of 5 pieces, 0:03:40 together" == found.said
    assert item.score is not None
    assert ["c"] == [one.section.name for one in item.score.sections if one.frames]


def test_a_cue_sheet_may_say_two_things() -> None:
    """16000 frames in 800 s are 20; the speed at its head is 80 ft/min, 64/3."""
    item = item_of(
        "kind: music cue sheet, within: 2 %, speed: 75..85 ft/min, "
        "cues: [{name: 1, time: 6:40}, {name: 2, time: 6:40}]"
    )

    assert [("timings", 20), ("printed speed", Fraction(64, 3))] == [
        (one.part, one.speed.value) for one in item.implied
    ]


@pytest.mark.parametrize(
    ("item", "fps"),
    [
        ("speed: 80 ft/min, within: 2 ft/min", Fraction(64, 3)),
        ("within: 5 %, cues: [{name: 1, time: 800 s}]", 20),
    ],
)
def test_a_cue_sheet_that_says_one_thing_has_no_parts(item: str, fps: Fraction) -> None:
    found = implied_by(f"kind: music cue sheet, {item}")

    assert ("", fps) == all_of(found.part, found.speed.value)


# ------------------------------------------------------------------------------------------ motion


def test_nine_frames_a_step_are_15_to_17_7() -> None:
    """109 +/- 9 steps a minute: Dall et al. 2013, as reported by R. Baker, What is normal walking?

    The bounds are one deviation to either side: 16.35 within 8.3 %, which cannot tell 16 from 18.
    Nine frames within 0.05 % do not change it.
    """
    found = implied_by("kind: motion, frames: 9, within: 0.05 %, natural: walk")

    assert 9 * Fraction(109, 60) == found.speed.value
    assert 15.0 == round(float(found.speed.low), 1)
    assert 17.7 == round(float(found.speed.high), 1)
    assert 9 / 109 == pytest.approx(found.speed.relative, rel=1e-4)


def test_a_laboratorys_walkers_have_bounds_and_no_deviation() -> None:
    """100 to 120 steps a minute: Winter 1991, in the same; nine frames of them are 15 to 18."""
    stated = implied_by("kind: motion, frames: 9, within: 0.05 %, frequency: 100..120 /min")
    named = implied_by("kind: motion, frames: 9, within: 0.05 %, natural: walk in a laboratory")

    assert stated.speed == named.speed
    assert (15, 16.5, 18) == pytest.approx(
        (stated.speed.low, stated.speed.value, stated.speed.high), rel=1e-3
    )


# metres, and seconds of a fall from rest and of a full swing: sqrt(2h/g) and 2 pi sqrt(L/g) at the
# standard gravity of 9.80665 m/s2, reckoned apart from this program to four places
FALLS = {"0.5": 0.3193, "1": 0.4516, "1.5": 0.5531, "2": 0.6387, "3": 0.7822, "10": 1.4281}
SWINGS = {"0.25": 1.0032, "0.5": 1.4187, "0.9936": 2.0, "1": 2.0064, "2": 2.8375}


@pytest.mark.parametrize("metres", FALLS)
def test_a_fall_takes_the_root_of_twice_its_height_over_gravity(metres: str) -> None:
    found = implied_by(f"kind: motion, frames: 12 within 1 %, fall: {metres} m")

    assert 12 / FALLS[metres] == pytest.approx(float(found.speed.value), rel=2e-4)


def test_a_metre_is_fallen_in_seven_to_eleven_frames() -> None:
    """7.23 frames at 16, 8.13 at 18, 9.03 at 20 and 10.84 at 24: 0.4516 s of each."""
    found = implied_by("kind: motion, frames: 9 within 1 %, fall: 1 m")

    assert [7.23, 8.13, 9.03, 10.84] == [
        round(float(at(found, fps)), 2) for fps in (16, 18, 20, 24)
    ]


@pytest.mark.parametrize("metres", SWINGS)
def test_a_pendulum_swings_with_the_root_of_its_length(metres: str) -> None:
    found = implied_by(f"kind: motion, frames: 40 within 1 %, pendulum: {metres} m")

    assert 40 / SWINGS[metres] == pytest.approx(float(found.speed.value), rel=2e-4)
    assert Measure.FRAMES is found.yardstick.measure


@pytest.mark.parametrize("law", ["pendulum", "fall"])
def test_two_percent_in_a_length_are_one_in_the_speed(law: str) -> None:
    """The time goes with the root of the length."""
    found = implied_by(f"kind: motion, frames: 40 within 0.05 %, {law}: 1 m within 2 %")

    assert 0.01 / sqrt(3) == pytest.approx(found.speed.relative, rel=5e-3)


def test_a_period_of_marks_is_as_sure_as_they_agree() -> None:
    """Steps of 11, 11, 11 and 12 frames, and what is known of walkers: 11.2 x 109 / 60 or so."""
    found = implied_by("kind: motion, marks: [132, 143, 154, 165, 177], natural: walk")

    assert 11.2 * 109 / 60 == pytest.approx(float(found.speed.value), rel=0.01)
    assert 9 / 109 < found.speed.relative < 0.1
    assert "frames by 5 marks, a step of a walk" in found.said


# ------------------------------------------------------------------------------------ seen and read


def test_votes_have_the_mean_of_a_sample_and_its_doubt() -> None:
    """18 three times, 20 five times, 22 once; 1 fps to either side is what nobody can tell."""
    votes = [18] * 3 + [20] * 5 + [22]
    found = implied_by("kind: viewing, votes: {18 fps: 3, 20 fps: 5, 22 fps: 1}, within: 1 fps")

    assert mean(map(Fraction, votes)) == found.speed.value
    assert 1 / 3 + variance(votes) / 9 == pytest.approx(float(found.speed.variance))
    assert 3 * float(found.speed.variance) == pytest.approx(
        float(found.speed.high - found.speed.value) ** 2
    )


def test_one_vote_has_the_doubt_of_the_eye_alone() -> None:
    found = implied_by("kind: viewing, votes: {75 ft/min: 1}, within: 5 %")

    assert 20 == found.speed.value
    assert 0.05 / sqrt(3) == pytest.approx(found.speed.relative)


def test_shares_have_the_mean_and_the_variance_of_their_distribution() -> None:
    """0.12 x 18 + 0.80 x 20 + 0.08 x 22 is 19.92; 18 lies 1.92 from it, 20 0.08, and 22 2.08."""
    shares = "shares: {18 fps: 12 %, 20 fps: 80 %, 22 fps: 8 %}"
    found = implied_by(f"kind: viewing, {shares}, within: 1 fps")

    assert Fraction("19.92") == found.speed.value
    spread = 0.12 * 1.92**2 + 0.8 * 0.08**2 + 0.08 * 2.08**2
    assert 1 / 3 + spread == pytest.approx(float(found.speed.variance))
    assert "18 fps: 12 %, 20 fps: 80 %, 22 fps: 8 % within 1 fps" == found.said


def test_more_votes_make_a_mean_surer_and_shares_are_no_votes() -> None:
    """A share tells a probability; how many looked is in it already."""
    few = implied_by("kind: viewing, votes: {18 fps: 1, 20 fps: 1}, within: 1 fps")
    many = implied_by("kind: viewing, votes: {18 fps: 100, 20 fps: 100}, within: 1 fps")
    shares = implied_by("kind: viewing, shares: {18 fps: 50 %, 20 fps: 50 %}, within: 1 fps")

    assert many.speed.variance < few.speed.variance
    assert Fraction(4, 3) == pytest.approx(float(shares.speed.variance))  # 1/3 + 1


@pytest.mark.parametrize(
    ("shares", "mean_of"),
    [
        ("{18 fps: 33 %, 20 fps: 33 %, 22 fps: 33 %}", 20),
        ("{18 fps: 33.3 %, 20 fps: 33.3 %, 22 fps: 33.3 %}", 20),
        ("{18 fps: 0.5 %, 20 fps: 100 %}", Fraction(18 * 5 + 20 * 1000, 1005)),
        ("{18 fps: 0 %, 20 fps: 100 %}", 20),
        ("{75 ft/min: 50 %, 90 ft/min: 50 %}", 22),
    ],
)
def test_shares_that_were_rounded_are_taken_as_parts_of_their_sum(
    shares: str, mean_of: Fraction | int
) -> None:
    assert mean_of == implied_by(f"kind: viewing, shares: {shares}, within: 1 fps").speed.value


def test_shares_may_miss_their_sum_by_half_a_last_decimal_each_and_no_more() -> None:
    implied_by("kind: viewing, shares: {18 fps: 49.9 %, 20 fps: 50 %}, within: 1 fps")
    with pytest.raises(DocumentError, match=r"the shares are 99\.8 % together"):
        implied_by("kind: viewing, shares: {18 fps: 49.9 %, 20 fps: 49.9 %}, within: 1 fps")


def test_what_was_said_tells_the_screen_it_was_seen_on() -> None:
    found = implied_by("kind: viewing, votes: {20 fps: 3}, within: 5 %, screen: 59.94 Hz")

    assert "20 fps: 3 within 5 %, on a screen of 59.94 Hz" == found.said


# refreshes that film frames stay, and how often a second one stays for a refresh more or fewer than
# most: 60 = 3 x 20, 60 = 3 x 22 - 6, 60 = 3 x 18 + 6, 60 = 2 x 24 + 12 (2:3, common practice)
ODD = {20: 0, 22: 6, 18: 6, 24: 12, 30: 0, 12: 0, 16: 4}


@pytest.mark.parametrize("fps", ODD)
def test_a_film_frame_is_odd_as_often_as_refreshes_are_left_over(fps: int) -> None:
    begins = [ceil(Fraction(60, fps) * k) for k in range(fps + 1)]
    stays = Counter(after - before for before, after in pairwise(begins))
    screen = parse_screen("60 Hz")

    assert ODD[fps] == screen.odd(Fraction(fps)) == fps - max(stays.values())
    assert bool(ODD[fps]) == screen.uneven(Fraction(fps))


def test_a_speed_above_the_screens_own_loses_film_frames() -> None:
    assert 6 == parse_screen("24 Hz").odd(Fraction(30))
    assert 0 == parse_screen("24").odd(Fraction(24))


@pytest.mark.parametrize("screen", ["59.94 Hz", "119.88 Hz", "239.76", "60.1 Hz"])
def test_one_odd_refresh_in_five_hundred_is_let_pass(screen: str) -> None:
    """N x 60000/1001 Hz and 20 fps: one in 1,000."""
    assert not parse_screen(screen).uneven(Fraction(20))
    assert parse_screen("60.2 Hz").uneven(Fraction(20))
    assert parse_screen("239.4 Hz").uneven(Fraction(20))


def test_a_foot_a_word_is_a_second_a_word_at_the_cameras_speed() -> None:
    """E. W. Sargent, Technique of the Photoplay, p. 148: 12 words, 12 ft; 12 s at 16, 8 at 24."""
    found = implied_by("kind: legibility, words: 12, length: 12 ft, rule: a foot a word")

    assert (Fraction(40, 3), 16, 20) == bounds(found)
    assert Sense.AT_MOST is found.sense
    assert (None, 20) == all_of(found.lowest, found.highest)
    assert (12, 8) == all_of(at(found, 16), at(found, 24))


@pytest.mark.parametrize("words", [1, 2, 3])
def test_no_title_has_less_than_three_feet(words: int) -> None:
    """The same: one word has 3 ft, and so have the three of "The Curse of Gold"."""
    found = implied_by(f"kind: legibility, words: {words}, length: 3 ft, rule: a foot a word")

    assert (16, 3) == all_of(found.speed.value, at(found, 16))


def test_subtitles_ask_for_less() -> None:
    """BBC Subtitle Guidelines, section 4: 0.33 to 0.375 s a word, so four words 1.32 to 1.5 s.

    A foot a word is 0.667 s at 24: no such title rules out a fast speed.
    """
    four = implied_by("kind: legibility, words: 4, length: 4 ft, rule: subtitles")
    stated = implied_by("kind: legibility, words: 4, length: 4 ft, rule: 0.33..0.375 s/word")

    assert four.speed == stated.speed
    assert (Fraction(64, 1) / Fraction("1.5"), Fraction(64) / Fraction("1.32")) == (
        four.speed.low,
        four.speed.high,
    )
    assert four.speed.low > 24


# flashes a second: 48 of 16 with three blades and of 24 with two (Pickfair Institute,
# Understanding frame rate artifacts); below 48 flicker is obvious (National Film and Sound Archive
# of Australia, glossary, Projector)
SHUTTERS = {3: 16, 2: 24}


@pytest.mark.parametrize("blades", SHUTTERS)
def test_a_shutter_says_what_the_speed_was_not_below(blades: int) -> None:
    found = implied_by(f"kind: flicker, blades: {blades}, within: 2 /s")

    assert SHUTTERS[blades] == found.speed.value
    assert (Sense.AT_LEAST, None) == all_of(found.sense, found.highest)
    assert Fraction(46, blades) == found.lowest
    assert 48 == at(found, SHUTTERS[blades])


@pytest.mark.parametrize("blades", SHUTTERS)
def test_a_limit_that_is_not_told_reaches_down_to_the_other_figure_that_is_handed_down(
    blades: int,
) -> None:
    """46 pictures a second, T. A. Edison's: widely quoted, no first source was found."""
    found = implied_by(f"kind: flicker, blades: {blades}")

    assert SHUTTERS[blades] == found.speed.value
    assert (Fraction(46, blades), None) == (found.lowest, found.highest)


def test_flashes_are_frames_times_blades() -> None:
    """18 x 3 = 54, 24 x 3 = 72: arithmetic on the same figures."""
    found = implied_by("kind: flicker, blades: 3, limit: 48 /s within 2 /s")

    assert [54, 60, 72] == [at(found, fps) for fps in (18, 20, 24)]


# ---------------------------------------------------------------------------------------- questions


@pytest.mark.parametrize("question", Question)
def test_an_item_speaks_to_the_question_it_names(question: Question) -> None:
    item = item_of(f"kind: runtime, time: 13 min within 1 min, about: {question}")

    assert question is item.question


def test_cameras_and_motion_speak_of_the_taking_eyes_of_the_looking() -> None:
    asked = {
        question: {kind for kind, one in ASKED_BY.items() if one is question}
        for question in Question
    }

    assert {Kind.CAMERA, Kind.STOCK, Kind.MOTION} == asked[Question.TAKING]
    assert {Kind.VIEWING} == asked[Question.LOOKING]
    assert Question.TAKING is item_of("kind: camera, speed: 16 fps within 1 fps").question


def test_a_two_percent_error_is_two_percent_in_the_logarithm() -> None:
    """What is supported is normal in the logarithm; the relative doubt is its deviation."""
    slow = implied_by("kind: runtime, time: 1000 s within 2 %")
    fast = implied_by("kind: runtime, time: 500 s within 2 %")

    assert slow.speed.relative == fast.speed.relative
    assert log(2) == pytest.approx(log(fast.speed.value) - log(slow.speed.value))
