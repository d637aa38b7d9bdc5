"""Published footage speeds and running times, through the same notations that people write."""

from __future__ import annotations

from fractions import Fraction

import pytest

from retime.film.clock import clock
from retime.film.gauge import Footage, frames_per_foot, frames_per_metre, gauge_named
from retime.film.length import parse_length
from retime.film.notation import parse_speed, parse_time
from retime.film.rounding import ceiling_of, floor_of


def fps_of(text: str, gauge: str = "35mm", footage: Footage = Footage.NOMINAL) -> Fraction:
    film = gauge_named(gauge)
    spoken = parse_speed(text)
    return spoken.on(frames_per_foot(film, footage), frames_per_metre(film, footage)).fps


def runs(
    length: str, speed: str, gauge: str = "35mm", footage: Footage = Footage.NOMINAL
) -> Fraction:
    frames = parse_length(length).frames(gauge_named(gauge), footage)
    return frames / fps_of(speed, gauge, footage)


# Arithmetic, fps x 60 / frames per foot. Read as such: 16 fps = 60 ft/min, 24 fps = 90 ft/min and
# 36 ft/min in 16 mm in "Filmfuss", German Wikipedia mirror; 60, 67.5, 75, 82.5 and 90 ft/min for
# 16, 18, 20, 22 and 24 fps in EIDR knowledge base, "Durations"; 120 ft/min = 32 fps in
# Transactions of the SMPE (1919).
@pytest.mark.parametrize(
    ("fps", "in_35", "in_16", "in_8", "in_super_8"),
    [
        ("16", "60", "24", "12", "40/3"),
        ("18", "67.5", "27", "13.5", "15"),
        ("200/11", "750/11", "300/11", "150/11", "500/33"),
        ("20", "75", "30", "15", "50/3"),
        ("64/3", "80", "32", "16", "160/9"),
        ("22", "82.5", "33", "16.5", "55/3"),
        ("24", "90", "36", "18", "20"),
        ("25", "93.75", "37.5", "18.75", "125/6"),
        ("80/3", "100", "40", "20", "200/9"),
        ("32", "120", "48", "24", "80/3"),
    ],
)
def test_a_speed_in_feet_a_minute_is_so_many_frames_a_second(
    fps: str, in_35: str, in_16: str, in_8: str, in_super_8: str
) -> None:
    told = {"35mm": in_35, "16mm": in_16, "8mm": in_8, "super 8": in_super_8}

    assert {Fraction(fps)} == {fps_of(f"{feet} ft/min", gauge) for gauge, feet in told.items()}


# Arithmetic on 16 frames to the foot and 0.3048 m.
@pytest.mark.parametrize(
    ("fps", "metres"),
    [
        ("16", "18.288"),
        ("18", "20.574"),
        ("20", "22.86"),
        ("64/3", "24.384"),
        ("22", "25.146"),
        ("24", "27.432"),
        ("25", "28.575"),
        ("80/3", "30.48"),
        ("32", "36.576"),
    ],
)
def test_a_speed_in_metres_a_minute_by_convention(fps: str, metres: str) -> None:
    assert Fraction(fps) == fps_of(f"{metres} m/min")


# "Basic principles of projection", aj69.tripod.com: 27.36 m/min at 24 fps.
def test_27_36_metres_a_minute_are_24_fps_by_pitch() -> None:
    assert 24 == fps_of("27.36 m/min", "35mm", Footage.PITCH)


# Diginova, Swedish cine-transfer firm's film-length page: 3.66 m/min (8 mm at 16 fps) and
# 4.57 m/min (Super 8 at 18 fps), both rounded to centimetres.
@pytest.mark.parametrize(("metres", "gauge", "fps"), [("3.66", "8mm", 16), ("4.57", "super 8", 18)])
def test_small_gauges_run_so_many_metres_a_minute(metres: str, gauge: str, fps: int) -> None:
    assert fps == round(fps_of(f"{metres} m/min", gauge), 1)


# "Filmfuss", German Wikipedia mirror: the length of 100 minutes of sound film.
@pytest.mark.parametrize(
    ("gauge", "feet"),
    [("35mm", 9000), ("16mm", 3600), ("9.5mm", 3600), ("8mm", 1800), ("super 8", 2000)],
)
def test_100_minutes_of_sound_film_are_so_many_feet(gauge: str, feet: int) -> None:
    assert parse_time("100 min") == runs(f"{feet} ft", "24 fps", gauge)


SPEEDS = ["16", "18", "200/11", "20", "240/11", "22", "24", "25"]


# Arithmetic. Read as such for 1,000 ft of 35 mm: 16 min 40 s at 16 fps and 11 min 6 2/3 s at 24 in
# James Card, "Silent Film Speed" (1955); about 11 min for 1,000 ft in F. H. Richardson's Bluebook
# of Projection (1935), p. 186.
@pytest.mark.parametrize(
    ("length", "gauge", "times"),
    [
        (
            "1000 ft",
            "35mm",
            "16:40.000 14:48.889 14:40.000 13:20.000 12:13.333 12:07.273 11:06.667 10:40.000",
        ),
        (
            "400 ft",
            "16mm",
            "16:40.000 14:48.889 14:40.000 13:20.000 12:13.333 12:07.273 11:06.667 10:40.000",
        ),
        (
            "50 ft",
            "8mm",
            "04:10.000 03:42.222 03:40.000 03:20.000 03:03.333 03:01.818 02:46.667 02:40.000",
        ),
        (
            "50 ft",
            "super 8",
            "03:45.000 03:20.000 03:18.000 03:00.000 02:45.000 02:43.636 02:30.000 02:24.000",
        ),
        (
            "1000 ft",
            "70mm",
            "13:20.000 11:51.111 11:44.000 10:40.000 09:46.667 09:41.818 08:53.333 08:32.000",
        ),
    ],
)
def test_a_standard_length_runs_so_long_at_each_speed(length: str, gauge: str, times: str) -> None:
    told = [clock(runs(length, speed, gauge)) for speed in SPEEDS]

    assert [f"0:{time}" for time in times.split()] == told


# James Card, "Silent Film Speed" (1955).
def test_1000_feet_last_16_minutes_40_at_16_fps_and_11_minutes_6_and_two_thirds_at_24() -> None:
    assert 16 * 60 + 40 == runs("1000 ft", "16 fps")
    assert 11 * 60 + 6 + Fraction(2, 3) == runs("1000 ft", "24 fps")


# F. H. Richardson's Bluebook of Projection (1935), p. 186: about 11 and 22 min.
def test_reels_of_1000_and_2000_feet_last_about_11_and_22_minutes_as_sound_film() -> None:
    assert 11 == round(runs("1000 ft", "90 ft/min") / 60)
    assert 22 == round(runs("2000 ft", "90 ft/min") / 60)


# Trap in popular pages (zaro.info): "2.5 min", "10 min", "3.5 min"; exact is arithmetic.
def test_popular_running_times_are_roundings() -> None:
    assert "0:02:46.667" == clock(runs("100 ft", "24 fps", "16mm"))
    assert "0:11:06.667" == clock(runs("400 ft", "24 fps", "16mm"))
    assert "0:04:26.667" == clock(runs("400 ft", "24 fps", "35mm"))


# Reel Deals magazine, 2012-03 p. 7: 400 ft of 28 mm run 8 or 9 min at a nominal 16 fps.
# Tangible Media Collection, 28 mm Pathe Kok: as long as 500 ft of 35 mm.
# The exact figures are arithmetic on 20.5 frames to the foot and on a pitch of 15 mm.
def test_400_feet_of_28_mm_run_8_to_9_minutes_like_500_feet_of_35_mm() -> None:
    by_convention = runs("400 ft", "16", "28mm")
    by_pitch = runs("400 ft", "16", "28mm", Footage.PITCH)

    assert parse_time("8:32.5") == by_convention
    assert parse_time("8:28") == by_pitch
    assert parse_time("8:20") == runs("500 ft", "16", "35mm")
    assert all(8 * 60 < time < 9 * 60 for time in (by_convention, by_pitch))


@pytest.mark.parametrize(
    ("speed", "by_convention", "by_pitch"),
    [("18", "7:35.6", "7:31.6"), ("20", "6:50.0", "6:46.4"), ("24", "5:41.7", "5:38.7")],
)
def test_400_feet_of_28_mm_at_other_speeds(speed: str, by_convention: str, by_pitch: str) -> None:
    """Arithmetic, to a tenth of a second."""
    tenth = Fraction(1, 20)

    assert abs(parse_time(by_convention) - runs("400 ft", speed, "28mm")) <= tenth
    assert abs(parse_time(by_pitch) - runs("400 ft", speed, "28mm", Footage.PITCH)) <= tenth


# Diginova, Swedish cine-transfer firm's film-length page; it rounds to 262.5 and 236.2 frames to
# the metre, so a second is allowed. The exact times are arithmetic.
@pytest.mark.parametrize(
    ("metres", "gauge", "speed", "published", "exact"),
    [
        (15, "8mm", "16", "4:06", "0:04:06.063"),
        (60, "8mm", "16", "16:24", "0:16:24.252"),
        (90, "8mm", "16", "24:37", "0:24:36.378"),
        (120, "8mm", "16", "32:49", "0:32:48.504"),
        (15, "super 8", "18", "3:17", "0:03:16.850"),
        (60, "super 8", "18", "13:07", "0:13:07.402"),
        (90, "super 8", "18", "19:41", "0:19:41.102"),
        (120, "super 8", "18", "26:15", "0:26:14.803"),
    ],
)
def test_metres_of_small_gauges_run_as_a_transfer_house_says(
    metres: int, gauge: str, speed: str, published: str, exact: str
) -> None:
    time = runs(f"{metres} m", speed, gauge, Footage.PITCH)

    assert exact == clock(time)
    assert abs(parse_time(published) - time) <= 1


# EIDR knowledge base, "Durations": feet are divided by 60 (to 1915), 67.5 (1916-20), 75
# (1921-25), 82.5 (1926-29) or 90 (from 1930), and minutes rounded up. 5,000 ft are our example.
@pytest.mark.parametrize(
    ("feet_a_minute", "minutes"), [("60", 84), ("67.5", 75), ("75", 67), ("82.5", 61), ("90", 56)]
)
def test_estimated_minutes_of_a_catalogue(feet_a_minute: str, minutes: int) -> None:
    assert minutes == ceiling_of(runs("5000 ft", f"{feet_a_minute} ft/min") / 60)


# Paul Henley, The Silent Time Machine.
def test_12_minutes_at_16_fps_are_8_minutes_at_24() -> None:
    frames = parse_time("12 min") * fps_of("16 fps")

    assert parse_time("8 min") == frames / fps_of("24 fps")


# Speeds that were spoken in feet a minute of 35 mm.
# Transactions of the SMPE (1916): directors used 60 to 75. Discussion on the Report of the
# Standards and Nomenclature Committee (1924): 80 best, 75 least, 85 most, shown from 60 to 95.
# P. P. Perry, "Cause of Speedy Projection" (1925): 60. Report of the Standards and Nomenclature
# Committee, Sept 1927: Bell Labs 90, RCA 85, Fox-Case 90, DeForest 80, Westinghouse 85.
# Transactions of the SMPE (1919): 100 is 26 2/3, which the scanned text prints as 27.66. Frames
# are arithmetic.
@pytest.mark.parametrize(
    ("feet", "fps"),
    [
        ("50", "40/3"),
        ("55", "44/3"),
        ("60", "16"),
        ("65", "52/3"),
        ("67.5", "18"),
        ("70", "56/3"),
        ("75", "20"),
        ("80", "64/3"),
        ("85", "68/3"),
        ("90", "24"),
        ("95", "76/3"),
        ("100", "80/3"),
        ("105", "28"),
        ("110", "88/3"),
        ("120", "32"),
    ],
)
def test_historical_feet_a_minute_are_so_many_frames_a_second(feet: str, fps: str) -> None:
    assert Fraction(fps) == fps_of(f"{feet} ft/min")
    assert 1000 / Fraction(feet) * 60 == runs("1000 ft", fps)


# Literary Digest, 26 Jan 1918, p. 58, in Excerpts from articles mentioning projection speeds,
# Silent Film Bookshelf: about 1,000 ft in 16 min. The web editor's note says 16 fps.
def test_1000_feet_in_16_minutes_are_16_and_two_thirds_and_not_16_fps() -> None:
    assert Fraction(50, 3) == fps_of("16:00 /1000ft") == fps_of("62.5 ft/min")


# Transactions of the SMPE (1919): 120 ft/min are 32 frames a second, 1,920 a minute.
def test_120_feet_a_minute_are_1920_frames_a_minute() -> None:
    assert 1920 == 60 * fps_of("120 ft/min")


def test_a_time_for_1000_feet_is_the_speed_that_takes_it() -> None:
    """Arithmetic: 13:20 for 16,000 frames is 20 fps in 35 mm, 50 fps in 16 mm."""
    assert 20 == fps_of("13:20 /1000ft")
    assert 50 == fps_of("13:20 /1000ft", "16mm")
    assert 2005 == floor_of(100 * fps_of("13:20 /1000ft", "35mm", Footage.PITCH))
