from __future__ import annotations

import pickle
from fractions import Fraction
from typing import TYPE_CHECKING

import pytest

from retime.errors import DocumentError
from retime.film.gauge import Footage, gauge_named
from retime.film.notation import SpokenRamp, parse_pace, parse_speed
from retime.film.speed import Rate
from retime.speedmap.footage import footage, gauge_of, speed_on
from retime.speedmap.model import (
    Limits,
    Missing,
    Phase,
    Shot,
    ShotKey,
    ShotKind,
    SpeedMap,
)
from retime.speedmap.reading import load, read
from retime.speedmap.rules import findings

if TYPE_CHECKING:
    from pathlib import Path

pytest_plugins = ["lamp_map"]

SMALL = """\
format: retime-map/1
film: Lamp
gauge: 35mm
reels:
  - {reel: 1, scan: a.mkv, frames: 100}
versions:
  a: {speed: 20}
"""


@pytest.fixture
def lamp_map(lamp: str, lamp_path: Path) -> SpeedMap:
    return read(lamp, lamp_path)


def test_a_sound_map_has_no_findings(lamp_map: SpeedMap) -> None:
    assert findings(lamp_map, {}) == ()


def test_a_map_keeps_what_was_written(lamp_map: SpeedMap) -> None:
    assert lamp_map.film == "The Tidewatcher's Lamp"
    assert gauge_named("35mm") == lamp_map.gauge
    assert Footage.NOMINAL is lamp_map.footage
    assert list(lamp_map.versions) == ["restrained", "brisk", "matched"]
    assert list(lamp_map.deliverables) == ["restrained-24", "brisk-25"]


def test_reels_play_in_the_order_written_with_their_defaults(lamp_map: SpeedMap) -> None:
    first, second = lamp_map.reels

    assert (
        first.name,
        first.first,
        first.last,
        first.frames,
        first.stop(),
    ) == ("1", 24, 323, 348, 324)
    assert (
        second.name,
        second.first,
        second.last,
        second.frames,
        second.stop(),
    ) == ("2", 0, None, 300, 300)
    assert (first.missing, second.missing) == (Missing.STOP, Missing.HOLD)
    assert (None, gauge_named("16mm")) == (first.gauge, second.gauge)
    assert (first.is_sequence, second.is_sequence) == (False, True)


def test_a_reel_of_unknown_length_stops_where_it_is_counted(lamp_path: Path) -> None:
    (reel,) = read(SMALL.replace(", frames: 100", ""), lamp_path).reels

    assert reel.stop() is None
    assert reel.stop(77) == 77


def test_paths_are_relative_to_the_folder_of_the_map(lamp_map: SpeedMap, tmp_path: Path) -> None:
    assert tmp_path / "scans/reel-1.mkv" == lamp_map.scan_path(lamp_map.reel("1"))
    with pytest.raises(KeyError):
        lamp_map.reel("9")


def test_shots_keep_list_order_and_names_that_are_text(lamp_map: SpeedMap) -> None:
    assert [str(shot.key) for shot in lamp_map.shots] == [
        "1/13",
        "1/14",
        "1/14A",
        "2/3",
        "2/5",
        "2/7",
    ]
    assert Shot(reel="1", first=124, last=223, name="14", title="The jetty") == lamp_map.shots[1]
    assert ShotKind.TITLE is lamp_map.shots[2].kind


def test_a_version_keeps_its_rules_in_the_order_written(lamp_map: SpeedMap) -> None:
    version = lamp_map.versions["restrained"]
    single, run = version.shots

    assert parse_speed("20 fps") == version.speed
    assert {"2": parse_speed("22 fps")} == version.reels
    assert (ShotKey("1", "14"), ShotKey("1", "14"), False) == (
        single.first,
        single.last,
        single.is_run,
    )
    assert parse_speed("18 fps") == single.pace
    assert Limits(at_most=Fraction(6)) == single.limits
    assert (str(run), run.is_run) == ("2/3-2/7", True)
    assert parse_pace("16 fps -> 18 fps") == run.pace
    assert version.titles is not None
    assert Limits(at_least=Fraction(4)) == version.titles.limits
    assert parse_speed("20 fps") == version.titles.speed
    assert lamp_map.versions["matched"].runtime_of == "brisk-25"


def test_a_deliverable_keeps_rate_and_conform_rate_apart(lamp_map: SpeedMap) -> None:
    one, other = lamp_map.deliverables.values()

    assert (Rate(Fraction(24000, 1001)), Rate(Fraction(24))) == (one.rate, one.conform_at)
    assert (one.phase, other.phase) == (Phase.CONTINUOUS, Phase.PER_SHOT)
    assert (one.drop_frame, other.drop_frame) == (None, False)
    assert (other.file, other.conform_at) == ("brisk.mp4", None)


def test_a_deliverable_may_leave_its_rate_to_the_profile(lamp_path: Path) -> None:
    source = SMALL + "deliverables:\n  x: {version: a, profile: p}\n"

    assert read(source, lamp_path).deliverables["x"].rate is None


@pytest.mark.parametrize(
    ("written", "expected"),
    [
        ("1:37:12.5", Fraction(11665, 2)),
        ("97:12", Fraction(5832)),
        ("90 min", Fraction(5400)),
        ('"1:37:12"', Fraction(5832)),
    ],
)
def test_a_runtime_is_read_as_a_time_and_not_as_yaml_reads_it(
    written: str, expected: Fraction, lamp_path: Path
) -> None:
    source = SMALL.replace("speed: 20", f"runtime: {written}")

    assert expected == read(source, lamp_path).versions["a"].runtime


@pytest.mark.parametrize("name", ["no", "012", "1e3", "23.976", "1923-05-01", "0x10", "on", "null"])
def test_names_stay_text_whatever_yaml_takes_them_for(name: str, lamp_path: Path) -> None:
    source = SMALL.replace("reel: 1", f"reel: {name}").replace("  a:", f"  {name}:")
    source += f"shots: [{{reel: {name}, first: 0, last: 99, shot: {name}}}]\n"
    source += f"deliverables: {{{name}: {{version: {name}, profile: {name}}}}}\n"
    speed_map = read(source, lamp_path)

    assert findings(speed_map, {}) == ()
    assert (name, name) == speed_map.shots[0].key
    assert [name] == list(speed_map.versions) == list(speed_map.deliverables)


def test_a_speed_is_what_is_written_and_a_rate_is_a_standard(lamp_path: Path) -> None:
    source = SMALL.replace("speed: 20", "speed: 23.976")
    source += "deliverables:\n  x: {version: a, profile: p, rate: 23.976}\n"
    speed_map = read(source, lamp_path)
    speed = speed_map.versions["a"].speed

    assert speed is not None
    assert not isinstance(speed, SpokenRamp)
    assert Fraction(2997, 125) == speed.amount
    assert Rate(Fraction(24000, 1001)) == speed_map.deliverables["x"].rate


def test_leading_zeros_of_a_frame_number_mean_nothing(lamp_path: Path) -> None:
    source = SMALL.replace("frames: 100", "frames: 0100, first: 010")
    (reel,) = read(source, lamp_path).reels

    assert (reel.first, reel.frames) == (10, 100)


def test_feet_default_to_nominal_and_metres_to_nothing(lamp_path: Path) -> None:
    speed_map = read(SMALL, lamp_path)

    assert (Fraction(16), None) == footage(speed_map, speed_map.reels[0])


def test_a_reel_of_another_gauge_has_its_own_feet(lamp_map: SpeedMap) -> None:
    # 16 and 40 frames to the foot of 35 mm and 16 mm: Filmfuss and Filmschritt, German Wikipedia
    # mirrors (35 mm), Sprocket School wiki, Film gauges (16 mm); 0.3048 m to the foot
    one, other = lamp_map.reels

    assert (gauge_of(lamp_map, one).name, gauge_of(lamp_map, other).name) == ("35mm", "16mm")
    assert (Fraction(16), Fraction(16 * 10000, 3048)) == footage(lamp_map, one)
    assert (Fraction(40), Fraction(40 * 10000, 3048)) == footage(lamp_map, other)
    assert speed_on(lamp_map, one, parse_speed("75 ft/min")).fps == 20
    assert speed_on(lamp_map, other, parse_speed("75 ft/min")).fps == 50


def test_footage_by_pitch_counts_from_the_pitch(lamp: str, lamp_path: Path) -> None:
    # 19.000 mm: Filmfuss and Filmschritt, naming ISO 491
    speed_map = read(lamp.replace("footage: nominal", "footage: pitch"), lamp_path)

    assert (Fraction(3048, 190), Fraction(1000, 19)) == footage(speed_map, speed_map.reels[0])


def test_a_map_survives_the_way_to_another_process(lamp_map: SpeedMap) -> None:
    assert lamp_map == pickle.loads(pickle.dumps(lamp_map))  # noqa: S301 - our own bytes


def test_a_map_is_read_from_its_file_as_from_its_text(lamp: str, lamp_path: Path) -> None:
    lamp_path.write_text(lamp, encoding="utf-8")

    assert read(lamp, lamp_path) == load(lamp_path)
    assert read(lamp, lamp_path).sha256 == load(lamp_path).sha256


def test_a_map_that_is_not_there_is_told(tmp_path: Path) -> None:
    with pytest.raises(DocumentError, match=r"none\.yaml: the file cannot be read: no such file"):
        load(tmp_path / "none.yaml")
