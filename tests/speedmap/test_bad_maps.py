"""Each mistake in a map is told once, at its line and column, and brings no others with it."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from retime.errors import DocumentError
from retime.findings import Severity
from retime.speedmap.reading import read
from retime.speedmap.rules import findings, sound

if TYPE_CHECKING:
    from pathlib import Path

    from retime.findings import Finding

pytest_plugins = ["lamp_map"]


def found(source: str | bytes, path: Path, counts: dict[str, int] | None = None) -> list[Finding]:
    """Return all findings of a map, whether it could be read or not."""
    try:
        return list(findings(read(source, path), counts or {}))
    except DocumentError as error:
        return list(error.findings)


def lines_of(told: list[Finding], path: Path) -> list[str]:
    """Return findings as printed, without the name of the map's folder."""
    return [str(finding).removeprefix(f"{path.parent}/") for finding in told]


# what stands in the sound map, what is written instead, and how the finding begins (|| the next)
ERRORS = [
    # the document's shape
    ("format: retime-map/1", "format: retime-map/2", '1:9: "retime-map/2" is not known here'),
    (
        "film: The",
        "flim: The",
        '1:1: "film" is missing || 2:1: unknown key "flim"; did you mean "film"?',
    ),
    ("film: The Tidewatcher's Lamp", "film: [Lamp]", "2:7: this is a list where a text"),
    ("footage: nominal", "footage: normal", '4:10: "normal" is not known here; write'),
    ("footage: nominal", "footage:", '4:1: nothing is written after "footage"'),
    ("footage: nominal", "gauge: 16mm", '4:1: the key "gauge" is repeated; it first stands on l'),
    ("    scan: scans/reel-1.mkv\n", "", '6:5: "scan" is missing'),
    ("    missing: hold", "    mising: hold", '13:5: unknown key "mising"; did you mean "missing"'),
    ("shot: 13}", "shot: 13, speed: 20}", '17:47: unknown key "speed"'),
    ("shot: 13}", "frame: 13}", '17:5: "shot" is missing || 17:37: unknown key "frame"'),
    ("at least: 4 s", "at-least: 4 s", '30:29: unknown key "at-least"; did you mean "at least"'),
    ("conform-at: 24", "conform_at: 24", '40:5: unknown key "conform_at"; did you mean "confor'),
    ("  brisk:\n    speed: 24 fps", "  brisk: 24 fps", '31:10: this is the text "24 fps" where'),
    ("reels: {2: 22 fps}", "reels: [22 fps]", "26:12: this is a list where keys with values"),
    # single values
    ("gauge: 35mm", "gauge: 36mm", "3:8: the gauge '36mm' is not known"),
    ("gauge: 35mm", "gauge: 17.5mm", "3:8: 17.5mm has no single frame pitch"),
    ("first: 24\n", "first: -24\n", '8:12: "-24" is no frame number'),
    ("first: 24\n", "first: 24.0\n", '8:12: "24.0" is no frame number'),
    ("first: 24\n", "first: 1_0\n", '8:12: "1_0" is no frame number'),
    ("first: 24\n", "first: 0:24\n", '8:12: "0:24" is no frame number'),
    ("frames: 348", "frames: 0", '10:13: "0" is no number of frames'),
    ("frames: 348", "frames: 9999999999", '10:13: "9999999999" is no number of frames'),
    ("missing: hold", "missing: skip", '13:14: "skip" is not known here'),
    ("kind: title}\n  - {reel: 2, f", "kind: card}\n  - {reel: 2, f", '19:55: "card" is not known'),
    ("name: The jetty", 'name: ""', "18:54: the text is empty"),
    ("speed: 24 fps", "speed: 24 fpm", "32:12: '24 fpm' is no speed"),
    ("speed: 24 fps", "speed: -24", "32:12: a speed is above 0"),
    ("speed: 24 fps", "speed: 0", "32:12: '0' is not above 0"),
    ("speed: 24 fps", "speed: 24.0000001", "32:12: '24.0000001' is no speed"),
    ("speed: 24 fps", "speed: 1e2", "32:12: '1e2' is no speed"),
    ("speed: 24 fps", "speed: 18 -> 20 -> 22", "32:12: '18 -> 20 -> 22' has more than two sp"),
    ("speed: 24 fps", f"speed: {'9' * 5000}", '32:12: "' + "9" * 60 + '..." is too long'),
    ("speed: 24 fps", "speed: [24]", "32:12: this is a list where a text"),
    ("speed: 24 fps", "runtime: 97", "32:14: '97' is no time"),
    ("speed: 24 fps", "runtime: 1:75:00", "32:14: '1:75:00' has a field of 60 or more"),
    ("speed: 24 fps", "runtime: 0:00", "32:14: '0:00' is not above 0"),
    ("at least: 4 s", "at least: 4 fps", "30:39: '4 fps' is no time"),
    ("titles: {speed: 20 fps", "titles: {speed: 18 -> 20", "30:21: titles take one speed"),
    ("1/14: {speed: 18 fps", "1/14: {speed: quick", "28:21: 'quick' is no speed"),
    ("16 fps -> 18 fps", "16 fps -> fast", "29:16: ' fast' is no speed"),
    ("rate: 25", "rate: PAL", "44:11: 'PAL' is no rate"),
    ("rate: 25", "rate: 0", "44:11: '0' is not above 0"),
    ("conform-at: 24", "conform-at: yes", "40:17: 'yes' is no rate"),
    ("phase: per-shot", "phase: per-reel", '45:12: "per-reel" is not known here'),
    ("phase: per-shot", "method: blended", '45:13: "blended" is not known here'),
    ("phase: per-shot", "window: 1/2", "45:13: window is for a blend, and nothing is blended"),
    ("phase: per-shot", "scanning: top", '45:15: "top" is not known here'),
    ("drop-frame: no", "drop-frame: maybe", '47:17: "maybe" is neither yes nor no'),
    ("drop-frame: no", "drop-frame: yes", "47:17: there is no drop-frame timecode at 25"),
    # names that become file names, and scans
    ("film: The Tidewatcher's Lamp", "film: ../Lamp", '2:7: the name "../Lamp" holds a slash'),
    ("film: The Tidewatcher's Lamp", "film: ..", '2:7: the name ".." holds two dots in a row'),
    ("film: The Tidewatcher's Lamp", 'film: "a\\nb"', "2:7: the text holds the control character"),
    ("film: The Tidewatcher's Lamp", f"film: {'é' * 60}", '2:7: the name "' + "é" * 60 + '" takes'),
    ("  restrained-24:", "  a/b:", '36:3: the name "a/b" holds a slash'),
    ("  restrained-24:", "  ..:", '36:3: the name ".." holds two dots'),
    ("file: brisk.mp4", "file: ../brisk.mp4", '46:11: the name "../brisk.mp4" holds a slash'),
    ("file: brisk.mp4", "file: /etc/x.mp4", '46:11: the name "/etc/x.mp4" holds a slash'),
    ("file: brisk.mp4", 'file: "a\\\\b.mp4"', "46:11: the name"),
    ("file: brisk.mp4", "file: .brisk.mp4", '46:11: the name ".brisk.mp4" begins with a dot'),
    ("scans/reel-1.mkv", "http://a.example/b.mkv", '7:11: "http://a.example/b.mkv" is an addr'),
    ("scans/reel-1.mkv", "concat:a.mkv|b.mkv", '7:11: "concat:a.mkv|b.mkv" is an address'),
    ("scans/reel-1.mkv", "file:/etc/passwd", '7:11: "file:/etc/passwd" is an address'),
    ("scans/reel-1.mkv", "scans/", '7:11: "scans/" is a folder'),
    ("%06d.tif", "%06d-%d.tif", '12:11: "scans/reel-2/%06d-%d.tif" is no numbered sequence'),
    ("%06d.tif", "%s.tif", '12:11: "scans/reel-2/%s.tif" is no numbered sequence'),
    ("reel-2/%06d.tif", "%d/1.tif", '12:11: "scans/%d/1.tif" is no numbered sequence'),
    # one part against another
    ("last: 323\n", "last: 23\n", "9:11: the last frame, 23, comes before the first, 24"),
    ("frames: 348", "frames: 320", "9:11: frame 323 is outside the scan, which holds 320"),
    ("{reel: 1, first: 24,", "{reel: 1, first: 23,", "17:22: frame 23 of shot 1/13 is outside"),
    ("last: 299", "last: 300", "22:33: frame 300 of shot 2/7 is outside reel 2; the reel's pic"),
    ("last: 223, ", "last: 12, ", "18:33: the last frame of shot 1/14, 12, comes before its first"),
    ("last: 123,", "last: 124,", "18:22: shot 1/14 begins at frame 124, inside shot 1/13"),
    ("shot: 14A", "shot: 14", '19:44: a shot "1/14" stands already on line 18'),
    ("reels: {2: 22 fps}", "reels: {3: 22 fps}", '26:13: there is no reel "3"; known here: 1, 2'),
    ("version: brisk", "version: brsik", '42:14: there is no version "brsik"; did you mean "br'),
    ("runtime of: brisk-25", "runtime of: brisk", '34:17: there is no deliverable "brisk"; did'),
    ("version: brisk", "version: matched", '34:17: the version "matched" takes its runtime fro'),
    ("    speed: 24 fps\n", "    reels: {1: 24}\n", '31:3: the version "brisk" has no speed'),
    ("speed: 24 fps", "speed: 24\n    runtime: 0:20", '33:5: "runtime" is at odds with "speed"'),
    ("1/14: {", "1/15: {", '28:7: there is no shot "1/15"; did you mean "1/14"?'),
    ("1/14: {", "14: {", '28:7: "14" names no shot; write reel/shot'),
    ("2/3-2/7", "2/7-2/3", "29:7: the run 2/7-2/3 runs backwards; write 2/3-2/7"),
    ("2/3-2/7", "2/3-1/2/7", '29:7: "2/3-1/2/7" names no shot'),
    ("2/3-2/7", "2/3-7", '29:7: there is no shot "2/3-7"; did you mean'),
    ("1/14: {", "2/3-2/5: 20\n      1/14: {", "30:7: shot 2/3 is in two rules of version restr"),
    ("{speed: 18 fps, at most: 0:06}", "{}", "28:7: the rule decides nothing"),
    ("at most: 0:06", "at most: 6 s, at least: 7 s", '28:53: "at least" is longer than "at most"'),
    ("at most: 0:06", "at most: 6 s, for: 7 s", '28:43: "for" sets the length exactly'),
    ("at least: 4 s", "at least: 4 s, for: 7 s", '30:44: "for" sets the length exactly'),
    ("16 fps -> 18 fps", "{speed: 16, for: 9 s}", "29:7: the run 2/3-2/7 has a limit"),
    (
        "file: brisk.mp4",
        "file: The Tidewatcher's Lamp-RESTRAINED-24.mov",
        '46:5: "brisk-25" and "restrained-24" have one',
    ),
]


@pytest.mark.parametrize(("old", "new", "expected"), ERRORS)
def test_a_mistake_is_told_once_and_at_its_place(
    old: str, new: str, expected: str, lamp: str, lamp_path: Path
) -> None:
    assert old in lamp
    lines = lines_of(found(lamp.replace(old, new, 1), lamp_path), lamp_path)

    assert expected.count(" || ") + 1 == len(lines), lines
    for line, beginning in zip(lines, expected.split(" || "), strict=True):
        assert line.startswith(f"lamp.yaml:{beginning}")


WARNINGS = [
    ("speed: 24 fps", "speed: 23.976", '32:12: warning: "23.976" is the speed 2997/125; was 2400'),
    ("speed: 24 fps", "speed: 29.97 fps", '32:12: warning: "29.97 fps" is the speed 2997/100; wa'),
    (
        "speed: 24 fps",
        "speed: 59.94",
        '32:12: warning: "59.94" is || 32:12: warning: "59.94" is 59.94',
    ),
    ("rate: 25", "rate: 23.97", "44:11: warning: 23.97 is the rate 2397/100, which is next to"),
    ("at: 24\n", "at: 24.02\n", "40:17: warning: 24.02 is the rate 1201/50, which is next to"),
    ("speed: 24 fps", "speed: 7.999", '32:12: warning: "7.999" is 7.999 film frames per second'),
    ("speed: 24 fps", "speed: 20 -> 41", '32:12: warning: "41" is 41 film frames per second'),
    ("2: 22 fps", "2: 90 ft/min", '26:16: warning: "90 ft/min" is 60 film frames per second'),
    ("last: 123,", "last: 122,", "18:5: warning: frame 123 is in no shot of reel 1; it takes"),
    ("last: 299", "last: 289", "11:5: warning: frames 290 to 299 are in no shot of reel 2; they"),
    ("first: 24,", "first: 34,", "17:5: warning: frames 24 to 33 are in no shot of reel 1"),
    ("  matched:\n", "  matched:\n    titles: {for: 5 s}\n", ""),
]


@pytest.mark.parametrize(("old", "new", "expected"), WARNINGS)
def test_what_is_odd_is_a_warning_and_stops_nothing(
    old: str, new: str, expected: str, lamp: str, lamp_path: Path
) -> None:
    assert old in lamp
    told = sound(read(lamp.replace(old, new, 1), lamp_path), {})
    expected_lines = expected.split(" || ") if expected else []

    assert len(expected_lines) == len(told), told
    for line, beginning in zip(lines_of(list(told), lamp_path), expected_lines, strict=True):
        assert line.startswith(f"lamp.yaml:{beginning}")


# What was meant by what is nearly a rate of Rec. ITU-R BT.709 or BT.2020 (from memory: 24, 25, 30,
# 50, 60, 120, and 24, 30, 60, 120 divided by 1.001), or of digital cinema (48, from memory).
NEARLY = {
    "23.97": "24000/1001",
    "23.976023": "24000/1001",
    "2997/125": "24000/1001",
    "23.99": "24",
    "24.0001": "24",
    "24.98": "25",
    "29.9": None,  # 0.23 % off
    "29.971": "30000/1001",
    "47.95": "48000/1001",
    "50.04": "50",
    "59.9": "60000/1001",
    "119.88": "120000/1001",
    "18": None,
    "12.5": None,
    "24.03": None,  # 0.125 % off
}
STANDARD = ["23.976", "23.98", "24", "25", "29.97", "30", "47.952", "48", "50", "59.94", "60"]
STANDARD += ["24000/1001", "30000/1001", "60000/1001", "100", "120000/1001", "120"]


@pytest.mark.parametrize("rate", [*NEARLY, *STANDARD])
def test_a_rate_next_to_a_standard_one_is_asked_about(
    rate: str, lamp: str, lamp_path: Path
) -> None:
    meant = NEARLY.get(rate)
    told = lines_of(found(lamp.replace("rate: 25", f"rate: {rate}"), lamp_path), lamp_path)

    assert (meant is not None) == len(told)
    for line in told:
        assert line.startswith("lamp.yaml:44:11: warning: ")
        assert line.endswith(f"was {meant} meant?")


def test_a_rule_for_titles_without_titles_is_odd(lamp: str, lamp_path: Path) -> None:
    (line,) = lines_of(found(lamp.replace(", kind: title", ""), lamp_path), lamp_path)

    assert line.startswith("lamp.yaml:30:5: warning: the rule for titles changes nothing")


def test_speeds_of_a_whole_number_or_from_8_to_40_are_not_odd(lamp: str, lamp_path: Path) -> None:
    for speed in ("8", "40", "8 -> 40", "23.9"):
        assert found(lamp.replace("speed: 24 fps", f"speed: {speed}"), lamp_path) == []


def test_metres_ask_for_a_footage(lamp: str, lamp_path: Path) -> None:
    metres = lamp.replace("speed: 24 fps", "speed: 10 m/min")
    (line,) = lines_of(found(metres.replace("footage: nominal\n", ""), lamp_path), lamp_path)

    assert found(metres, lamp_path) == []
    assert line.startswith("lamp.yaml:31:12: '10 m/min' needs to know how many frames a metre hold")


def test_a_reel_named_twice_leaves_the_shots_of_the_other_without_one(
    lamp: str, lamp_path: Path
) -> None:
    told = found(lamp.replace("  - reel: 2\n", "  - reel: 1\n"), lamp_path)

    assert [("reel-names", 11), *[("references", line) for line in (20, 21, 22, 26)]] == [
        (finding.rule, int(str(finding.place).split(":")[-2])) for finding in told
    ]


@pytest.mark.parametrize(
    ("counts", "expected"),
    [
        ({}, []),
        ({"1": 348, "2": 300}, []),
        ({"1": 349}, ["10:13: the scan holds 349 frames, not 348; write frames: 349"]),
        ({"2": 0}, ["12:11: the scan holds no frames"]),
    ],
)
def test_counts_that_are_known_are_held_against_what_is_stated(
    counts: dict[str, int], expected: list[str], lamp: str, lamp_path: Path
) -> None:
    told = found(lamp, lamp_path, counts)

    assert [f"lamp.yaml:{line}" for line in expected] == lines_of(told, lamp_path)


def test_a_count_that_is_known_stands_in_for_one_that_is_not_stated(
    lamp: str, lamp_path: Path
) -> None:
    source = lamp.replace("    gauge: 16mm\n    frames: 300\n", "    gauge: 16mm\n")

    assert found(source, lamp_path) == []
    assert found(source, lamp_path, {"2": 300}) == []
    assert (lines_of(found(source, lamp_path, {"2": 299}), lamp_path)) == [
        "lamp.yaml:21:33: frame 299 of shot 2/7 is outside reel 2; the reel's picture is 0 to 298"
    ]


def test_shots_out_of_playing_order_are_refused(lamp: str, lamp_path: Path) -> None:
    rows = lamp.splitlines(keepends=True)
    for one, other in ((16, 17), (18, 19)):
        swapped = rows.copy()
        swapped[one], swapped[other] = rows[other], rows[one]
        told = found("".join(swapped), lamp_path)

        assert "shot-order" in {finding.rule for finding in told}
        assert f"lamp.yaml:{other + 1}:5: shot" in "".join(lines_of(told, lamp_path))


def test_a_single_rule_inside_a_run_beats_it_and_is_no_mistake(lamp: str, lamp_path: Path) -> None:
    assert found(lamp.replace("      2/3-2/7", "      2/5: 20\n      2/3-2/7"), lamp_path) == []


def test_every_mistake_of_a_map_is_told_at_once(lamp: str, lamp_path: Path) -> None:
    for old, new in [
        ("film: The", "flm: x\nfilm: The"),
        ("    scan: scans/reel-1.mkv", "    scan: scans/reel-1.mkv\n    scan: b.mkv"),
        ("last: 123, shot: 13", "last: 130, shot: 13"),
        ("speed: 24 fps", "speed: fast"),
        ("profile: h264-viewing", "profil: h264-viewing"),
        ("at most: 0:06", "at most: 6 s, at least: 7 s"),
    ]:
        assert old in lamp
        lamp = lamp.replace(old, new, 1)
    told = found(lamp, lamp_path)

    assert [int(str(one.place).split(":")[-2]) for one in told] == [2, 9, 20, 30, 34, 43, 45]


def test_what_is_missing_is_not_missed_twice_when_a_part_could_not_be_read(
    lamp: str, lamp_path: Path
) -> None:
    """A version that cannot be read is no unknown version of its deliverables."""
    told = found(lamp.replace("speed: 20 fps\n", "speed: slow\n"), lamp_path)

    assert [line.split(": ")[0] for line in lines_of(told, lamp_path)] == ["lamp.yaml:25:12"]


def test_errors_are_raised_with_the_warnings(lamp: str, lamp_path: Path) -> None:
    source = lamp.replace("speed: 24 fps", "speed: 29.97").replace("version: brisk", "version: b")
    with pytest.raises(DocumentError) as caught:
        sound(read(source, lamp_path), {})

    assert [one.severity for one in caught.value.findings] == [Severity.WARNING, Severity.ERROR]


def test_a_run_may_have_hyphens_in_its_names(lamp: str, lamp_path: Path) -> None:
    source = lamp.replace("shot: 3}", "shot: 3-a}").replace("shot: 7}", "shot: 7-b}")
    speed_map = read(source.replace("2/3-2/7", "2/3-a-2/7-b"), lamp_path)

    assert findings(speed_map, {}) == ()
    assert str(speed_map.versions["restrained"].shots[1]) == "2/3-a-2/7-b"


def test_a_run_that_can_be_divided_in_two_ways_is_refused(lamp: str, lamp_path: Path) -> None:
    source = lamp.replace("reel: 2", "reel: a-2").replace("2: 22", "a-2: 22")
    source = source.replace(
        "  - reel: a-2\n", "  - {reel: 2, scan: x.mkv, frames: 1}\n  - reel: a-2\n"
    )
    source = source.replace(
        "  - {reel: a-2, first: 0",
        "  - {reel: 2, first: 0, last: 0, shot: 7}\n  - {reel: a-2, first: 0",
    )
    source = (
        source.replace("shot: 3}", "shot: 3}")
        .replace("2/3-2/7", "1/13-a-2/7")
        .replace("shot: 14,", "shot: 13-a,")
        .replace("1/14:", "1/13:")
    )
    told = found(source, lamp_path)

    assert 'lamp.yaml:31:7: "1/13-a-2/7" could be divided in 2 ways; rename one of the shots' in (
        lines_of(told, lamp_path)
    )


def test_the_names_of_four_thousand_unknown_shots_are_told_without_delay(
    lamp: str, lamp_path: Path
) -> None:
    rules = "".join(f"      1/x{number}: 20\n" for number in range(4000))
    told = found(lamp.replace("      2/3-2/7", rules + "      2/3-2/7"), lamp_path)

    assert len(told) == 4000


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(data=st.data())
def test_a_map_with_any_text_in_any_place_is_read_or_refused(
    data: st.DataObject, lamp: str, lamp_path: Path
) -> None:
    """Whatever stands where, there is a map or there are findings, and nothing else."""
    start = data.draw(st.integers(0, len(lamp)))
    stop = data.draw(st.integers(start, min(len(lamp), start + 12)))
    pieces = st.text(max_size=8) | st.sampled_from(
        [
            "-1",
            "1/2",
            "[",
            "{}",
            ": ",
            "\n  ",
            "*x",
            "&x",
            "!!int 1",
            "~",
            "9" * 30,
            "->",
            "%d",
            "1/13",
        ]
    )
    inserted = "".join(data.draw(st.lists(pieces, max_size=3)))
    told = found(lamp[:start] + inserted + lamp[stop:], lamp_path)

    assert all("\n" not in str(finding) for finding in told)
