"""Each mistake in an evidence file is told once, at its line and column, and brings no others."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from retime.errors import DocumentError
from retime.evidence.reading import load, read
from retime.findings import Severity

if TYPE_CHECKING:
    from pathlib import Path

    from retime.findings import Finding

MAP = """\
format: retime-map/1
film: The Tidewatcher's Lamp
gauge: 35mm
reels:
  - {reel: 1, scan: one.mkv, last: 319}
  - {reel: 2, scan: two.mkv, last: 159}
shots:
  - {reel: 1, first: 0, last: 159, shot: 1}
  - {reel: 1, first: 160, last: 319, shot: 2, kind: title}
  - {reel: 2, first: 0, last: 159, shot: 1}
versions: {plain: {speed: 20 fps}}
deliverables: {}
"""

GOOD = """\
format: retime-evidence/1
film: The Tidewatcher's Lamp
gauge: 35mm
map: lamp.yaml
length: 30 ft
candidates: [16 fps, 18 fps, 75 ft/min]
link: [showing is 1.0 to 1.25 of taking, looking is the same as taking]
evidence:
  - id: advertisement
    kind: runtime
    trust: 0.6
    source: The Harbour Theatre
    time: 14 s within 1 s
    absent: [1/2, 3 ft]
  - id: handbill
    kind: programme
    trust: 0.5
    source: Handbill
    apart: 2:10:00 within 5 min
    length: 5840 ft
    less: {overture: 6 min, supporting: 40 min within 3 min}
  - id: parts
    kind: score
    trust: 0.5
    source: Orchestral parts
    within: 5 %
    common: 2 %
    sections:
      - {name: act 1, time: 12 s, length: 15 ft}
      - {name: act 2, bars: 4, beats: 4, mark: 80, shots: 1/1-1/2}
  - id: cues
    kind: music cue sheet
    trust: 0.5
    source: Cue sheet
    within: 5 %
    cues:
      - {name: act 1, time: 12 s}
      - {name: act 2, time: 12 s}
    speed: 80 ft/min within 5 ft/min
  - id: card
    kind: instruction
    trust: 0.5
    source: Card
    time: 12 min within 30 s
    per: reel
    reel-length: 900 ft
  - id: diary
    kind: camera
    trust: 0.5
    source: Diary
    turns: 2 /s within 5 %
    frames-a-turn: 8
  - id: day-sheet
    kind: stock
    trust: 0.5
    source: Day sheet
    exposed: 1450 ft
    time: 35 min
    running: 0.5..0.6
  - id: viewing
    kind: viewing
    trust: 0.5
    source: Viewing room
    votes: {18 fps: 3, 20 fps: 5}
    within: 1 fps
  - id: title
    kind: legibility
    trust: 0.5
    source: Shot 1/2
    words: 9
    shot: 1/2
    rule: a foot a word
  - id: shutter
    kind: flicker
    trust: 0.5
    source: Inventory
    blades: 3
    limit: 48 /s within 3 /s
  - {id: clock, kind: motion, trust: 1, source: Shot 1/1, frames: 40 within 1, frequency: 0.5 /s}
"""


VOTES = "votes: {18 fps: 3, 20 fps: 5}"


@pytest.fixture
def desk(tmp_path: Path) -> Path:
    """Return where the evidence stands, its map beside it."""
    (tmp_path / "lamp.yaml").write_text(MAP)
    return tmp_path / "said.yaml"


def found(source: str | bytes, path: Path) -> list[str]:
    """Return all findings as printed, without the name of the folder."""
    try:
        told: tuple[Finding, ...] = read(source, path).remarks
    except DocumentError as error:
        told = error.findings
        assert all(finding.severity is Severity.ERROR for finding in told)
    return [str(finding).removeprefix(f"{path.parent}/") for finding in told]


def test_the_file_that_is_spoilt_here_is_sound(desk: Path) -> None:
    assert [] == found(GOOD, desk)


# what stands in the sound file, what is written instead, and how the finding begins (|| the next)
ERRORS = [
    # the document's shape
    ("retime-evidence/1", "retime-evidence/2", '1:9: "retime-evidence/2" is not known here'),
    ("film: The", "flim: The", '1:1: "film" is missing || 2:1: unknown key "flim"; did you mean'),
    ("gauge: 35mm", "gauge: 36mm", "3:8: the gauge '36mm' is not known"),
    ("gauge: 35mm", "gauge: 35mm\nfootage: normal", '4:10: "normal" is not known here'),
    ("length: 30 ft", "length:", '5:1: nothing is written after "length"'),
    ("length: 30 ft", "length: 30", "5:9: '30' is no length"),
    ("length: 30 ft", "length: 1,234 frames", "5:9: '1,234 frames' is no length"),
    ("length: 30 ft", "length: 30 ft within 30 ft", '5:9: "30 ft within 30 ft" is so wide that'),
    ("length: 30 ft", "length: 9 m", "5:9: '9 m' needs to know how many frames a metre holds; s"),
    ("length: 30 ft", "length: 30 ft\nlength: 31 ft", '6:1: the key "length" is repeated'),
    ("length: 30 ft", "length: 30 ft\nspeeds: 16", '6:1: unknown key "speeds"'),
    # candidates
    ("candidates: [16", "candidats: [16", '1:1: "candidates" is missing || 6:1: unknown key'),
    ("[16 fps, 18 fps, 75 ft/min]", "[]", "6:13: list should have at least 1 item"),
    ("[16 fps, 18 fps, 75 ft/min]", "16 fps", '6:13: this is the text "16 fps" where a list'),
    (
        "[16 fps, 18 fps, 75 ft/min]",
        "[12, 13, 14, 15, 16, 17, 18, 19, 20, 21, 22, 23, 24]",
        "6:13: list should have at most 12 items",
    ),
    ("18 fps, 75 ft/min", "18 fps -> 20 fps", '6:22: "18 fps -> 20 fps" is a ramp; one speed'),
    ("18 fps, 75 ft/min", "fast", "6:22: 'fast' is no speed"),
    ("18 fps, 75 ft/min", "40 fps", '6:22: "40 fps" lies outside of 12 to 30 fps'),
    ("18 fps, 75 ft/min", "60 ft/min", '6:22: "60 ft/min" is a candidate already, on line 6'),
    ("18 fps, 75 ft/min", "22 m/min", "6:22: '22 m/min' needs to know how many frames a metre"),
    # links
    ("looking is the same as taking", "looking like taking", '7:42: "looking like taking" is no'),
    ("looking is the same as taking", "loking is 1 of taking", '7:42: there is no question "lo'),
    ("looking is the same as taking", "looking is 1 of tacking", '7:42: there is no question "ta'),
    ("looking is the same as taking", "looking is 0 of taking", "7:42: 'looking is 0 of taking'"),
    ("looking is the same as taking", "looking is 2 to 1 of taking", "7:42: the factors of"),
    ("looking is the same as taking", "taking is 1 of taking", "7:42: the link joins taking with"),
    ("looking is the same as taking", "taking is 1 of showing", "7:42: taking and showing are jo"),
    (
        "looking is the same as taking",
        "looking is 1 of taking, looking is 1 of showing",
        "7:66: looking and showing are joined already",
    ),
    # the map
    ("map: lamp.yaml", "map: lump.yaml", "4:6: "),
    (
        "map: lamp.yaml\n",
        "",
        '13:14: "1/2" names shots of no map; name the map || 29:59: "1/1-1/2" || 70:11: "1/2" na',
    ),
    # items
    ("  - id: parts", "  - ida: parts", '22:5: "id" is missing || 22:5: unknown key "ida"'),
    ("id: parts", "id: Parts of 1924", '22:9: "Parts of 1924" is no id; write at most 40 small'),
    ("id: parts", "id: handbill", '22:9: the id "handbill" stands already on line 15'),
    ("kind: runtime", "kind: runtimes", '10:11: "runtimes" is no kind of evidence; did you mean'),
    ("    kind: runtime\n", "", '9:5: "kind" is missing; known here: runtime, programme, score'),
    ("kind: runtime", "kind: [runtime]", "10:11: this is no kind of evidence"),
    ("kind: runtime", "kind:", '10:5: nothing is written after "kind"'),
    ("trust: 0.6", "trust: 1.1", '11:12: "1.1" is no trust; write a number from 0'),
    ("trust: 0.6", "trust: 60 %", '11:12: "60 %" is no trust'),
    ("    trust: 0.6\n", "", '9:5: "trust" is missing'),
    ("    source: Card\n", "", '40:5: "source" is missing'),
    ("source: Card", 'source: ""', "43:13: the text is empty"),
    ("source: Card", "source: Card\n    sauce: a", '44:5: unknown key "sauce"; did you mean "sour'),
    ("source: Card", "source: Card\n    about: making", '44:12: "making" is not known here; write'),
    ("source: Card", "source: Card\n    absent: 3 ft", '44:5: unknown key "absent"'),
    ("  - id: handbill", "  - lost\n  - id: handbill", "15:5: this is no item; write {id:"),
    ("  - id: handbill", "  -\n  - id: handbill", "15:4: nothing is written in this item"),
    # tolerances
    (
        "14 s within 1 s",
        "14 s",
        '13:11: "time" says 14 s and not within what; a document is never exact: write within: 5 m',
    ),
    ("14 s within 1 s", "14 s within 1 s\n    within: 2 s", '13:11: "time" has a tolerance of its'),
    ("14 s within 1 s", "14 s within 0.005 s", '13:11: "14 s within 0.005 s" is within less than'),
    ("14 s within 1 s", "14 s within 14 s", '13:11: "14 s within 14 s" is so wide that it says'),
    ("14 s within 1 s", "14 s\n    within: 2 fps", "14:13: '2 fps' is no time; write within: 5"),
    ("14 s within 1 s", "26..22 s", '13:11: the range "26..22 s" does not rise'),
    ("2:10:00 within 5 min", "2:10:00", '19:12: "apart" says 2:10:00 and not within what'),
    ("within: 5 %\n    common", "common", '28:29: "time" says 12 s and || 29:48: "mark" says 80'),
    ("within: 5 %\n    cues", "cues", '36:29: "time" says 12 s || 37:29: "time" says 12 s and'),
    (" within 5 ft/min", "", '39:12: "speed" says 80 ft/min and not within what'),
    ("12 min within 30 s", "12 min", '44:11: "time" says 12 min and not within what'),
    ("2 /s within 5 %", "2 /s", '51:12: "turns" says 2 /s and not within what'),
    ("running: 0.5..0.6", "running: 0.5", '59:14: "running" says 0.5 and not within what'),
    ("    within: 1 fps\n", "", '64:12: "votes" says 18 fps: 3, 20 fps: 5 and not within what'),
    ("rule: a foot a word", "rule: 0.5 s/word", '72:11: "rule" says 0.5 s/word and not within'),
    ("48 /s within 3 /s", "48 /s", '78:12: "limit" says 48 /s and not within what'),
    (
        "limit: 48 /s within 3 /s",
        "within: 0.01 /s",
        '78:13: "48 /s within 0.01 /s" is within less than',
    ),
    ("limit: 48 /s within 3 /s", "within: 2 s", '78:13: "2 s" does not say how often'),
    ("limit: 48 /s", "within: 2 /s\n    limit: 48 /s", '79:12: "limit" has a tolerance of its own'),
    ("frames: 40 within 1", "frames: 40", '79:67: "frames" says 40 and not within what'),
    # lengths
    ("absent: [1/2, 3 ft]", "absent: 1/3", '14:13: there is no shot "1/3"; did you mean "1/'),
    ("absent: [1/2, 3 ft]", "absent: 2/1-1/1", "14:13: the run 2/1-1/1 runs backwards; write 1/1"),
    ("absent: [1/2, 3 ft]", 'absent: "1/2, 1/1-1/2"', "14:13: shot 1/2 is named twice"),
    ("absent: [1/2, 3 ft]", "absent: 3 s at speed", "14:13: 'speed' is no speed"),
    ("absent: [1/2, 3 ft]", "absent: 3 feet", "14:13: '3 feet' is no length; write 20 ft, 3 min"),
    ("absent: [1/2, 3 ft]", "absent: 30 ft", "14:5: nothing may be left of the print's 480 frames"),
    ("absent: [1/2, 3 ft]", "absent: 3 m", "14:13: '3 m' needs to know how many frames a metre"),
    ("14 s within 1 s", "14 s within 1 s\n    length: 40 ft", '15:5: "absent" is told of the scan'),
    ("5840 ft", "5840", "20:13: '5840' is no length"),
    # what a kind needs
    ("supporting: 40", "supporting: 130", "21:5: nothing may be left for the film between the sh"),
    ("overture: 6 min", "overtime: 6 min", '21:12: unknown key "overtime"; did you mean "overtur'),
    ("common: 2 %", "common: 2", '27:13: "2" is no share'),
    (", length: 15 ft", "", "29:9: this piece has neither a length nor shots"),
    (
        ", length: 15 ft",
        ", length: 15 ft, shots: 1/1",
        '29:50: one of "length", "shots" belongs he',
    ),
    (", mark: 80", "", "30:23: bars are timed by the beats of each and the"),
    ("time: 12 s, length", "length", '29:9: one of "time", "bars" belongs here, and none is w'),
    ("beats: 4, mark: 80", "time: 12 s", '30:23: one of "time", "bars" belongs here, and 2 are'),
    ("common: 2 %", "absent: 2 ft", '27:5: "absent" says nothing beside "sections"'),
    ("shots: 1/1-1/2", "shots: 1/9", '30:59: there is no shot "1/9"; did you mean'),
    ("    per: reel\n", "", "44:5: a time says no speed by itself; write per: 1000 ft, or per: re"),
    ("per: reel\n    reel-length: 900 ft", "per: reel", "45:10: how long is a reel?"),
    ("per: reel", "per: foot", "45:10: 'foot' is no length; write per: 1000 ft, or per: reel wi"),
    ("per: reel", "per: 900 ft", '46:5: "reel-length" says nothing beside "per"'),
    ("per: reel", "speed: 20 fps\n    per: reel", '44:5: one of "speed", "time" belongs here'),
    ("turns: 2 /s", "turns: 2", '51:12: "2" does not say how often'),
    ("turns: 2 /s within 5 %", "speed: 16..18 fps", '52:5: "frames-a-turn" says nothing beside'),
    ("frames-a-turn: 8", "frames-a-turn: 0", '52:20: "0" is no count'),
    ("running: 0.5..0.6", "running: 0.8..1.2", "59:14: a camera that runs 0.8..1.2 of the time"),
    (VOTES, "votes: {}", "64:12: there are no votes"),
    (VOTES, "shares: {}", "64:13: there are no shares; write shares: {18 fps"),
    (f"    {VOTES}\n", "", '60:5: one of "votes", "shares" belongs here, and none is'),
    (
        "5}\n",
        "5}\n    shares: {9 fps: 100 %}\n",
        '65:5: one of "votes", "shares" belongs here, and 2',
    ),
    (VOTES, "shares: {18 fps: 30 %, 20 fps: 60 %}", "64:13: the shares are 90 % together; they"),
    (VOTES, "shares: {18 fps: 50 %, 20 fps: 60 %}", "64:13: the shares are 110 % together"),
    (VOTES, "shares: {18 fps: 0 %, 20 fps: 0 %}", "64:13: the shares are 0 % together"),
    (VOTES, "shares: {18 fps: 3, 20 fps: 97 %}", '64:22: "3" is no share'),
    (VOTES, "shares: {20 fps: 200 %}", '64:22: "200 %" is more than all'),
    (VOTES, "shares: {20 m/min: 100 %}", "64:24: '20 m/min' needs to know"),
    (VOTES, "shares: {1 fps: 50 %, 99 fps: 50 %}", "64:13: the shares are so far apart"),
    ("5}\n", "5}\n    screen: big\n", "65:13: 'big' is no refresh rate; write its refresh"),
    ("5}\n", "5}\n    screen: 0 Hz\n", "65:13: '0 Hz' is not above 0"),
    ("source: Card", "source: Card\n    screen: 60 Hz", '44:5: unknown key "screen"'),
    ("18 fps: 3", "soon: 3", "64:13: 'soon' is no speed"),
    ("18 fps: 3", "18 fps: many", '64:21: "many" is no count'),
    ("18 fps: 3, 20 fps: 5", "1 fps: 1, 99 fps: 1", "64:12: the votes are so far apart that they"),
    ("words: 9", "words: nine", '70:12: "nine" is no count'),
    ("shot: 1/2", "shot: 1/2\n    length: 9 ft", '71:5: one of "length", "shot" belongs here'),
    ("rule: a foot a word", "rule: a yard a word", '72:11: "a yard a word" is no rule of reading'),
    ("rule: a foot a word", "rule: subtitles\n    within: 5 %", '72:11: "rule" has a tolerance of'),
    ("blades: 3", "blades: three", '77:13: "three" is no count'),
    (
        "frequency: 0.5 /s",
        "speed: 20 fps",
        '79:5: one of "natural", "frequency" || 79:80: unknown key "speed"',
    ),
    ("frequency: 0.5 /s", "natural: wlak", "79:89: no movement is named 'wlak'; did you mean 'wal"),
    (
        "frequency: 0.5 /s",
        "natural: walk, fall: 5 m",
        '79:95: one of "natural", "frequency", "pend',
    ),
    ("frequency: 0.5 /s", "pendulum: 1 yd", '79:90: "1 yd" is no distance'),
    ("frames: 40 within 1, f", "f", '79:5: one of "frames", "marks" belongs here, and none is wr'),
    ("frames: 40 within 1, f", "marks: [1, 2, x], f", '79:73: "x" is no frame; write 12'),
    ("frames: 40 within 1, f", "marks: [3], f", "79:66: one mark has no distance to another; wr"),
    ("frames: 40 within 1, f", "marks: [3, 3.5], f", "79:66: the marks lie so close together that"),
    ("frames: 40 within 1, f", "marks: [9, 8], f", "79:66: the marks do not rise; write frames"),
    (
        "frames: 40 within 1, f",
        f"marks: {[11 * at for at in range(99)]}, f",
        "79:66: the marks stand so evenly that nothing is doubtful; say within what the movement",
    ),
    ("frames: 40 within 1, f", "marks: [1, 2], within: 1, f", '79:74: "within" says nothing besi'),
    (
        "frames: 40 within 1, frequency: 0.5 /s",
        "marks: [1, 9, 17], fall: 5 m",
        '79:78: "fall" says nothing beside "marks"',
    ),
]


@pytest.mark.parametrize(("old", "new", "expected"), ERRORS)
def test_a_mistake_is_told_once_and_at_its_place(
    old: str, new: str, expected: str, desk: Path
) -> None:
    assert old in GOOD
    lines = found(GOOD.replace(old, new, 1), desk)

    assert expected.count(" || ") + 1 == len(lines), lines
    for line, beginning in zip(lines, expected.split(" || "), strict=True):
        assert line.startswith(f"said.yaml:{beginning}")


def test_every_mistake_of_a_file_is_told_at_once(desk: Path) -> None:
    source = GOOD
    for old, new in [
        ("gauge: 35mm", "gauge: 36mm"),
        ("18 fps, 75", "fast, 75"),
        ("length: 30 ft", "length: 30 m"),
        ("trust: 0.6", "trust: much"),
        ("2:10:00 within 5 min", "2:10:00"),
        ("overture: 6 min", "overture: 6 min, tea: 5 min"),
        ("time: 12 s, length: 15 ft", "time: 12 s, length: 15 m"),
        ("shots: 1/1-1/2", "shots: 1/1-1/4"),
        ("kind: camera", "kind: cameras"),
    ]:
        assert old in source
        source = source.replace(old, new, 1)

    lines = [int(line.split(":")[1]) for line in found(source, desk)]

    assert [3, 5, 6, 11, 19, 21, 29, 30, 48] == lines


def test_what_is_wrong_beside_a_figure_does_not_hold_back_what_is_wrong_with_it(
    desk: Path,
) -> None:
    """Neither in its own item nor in others: nothing hangs on an id, a trust or a source."""
    source = GOOD
    for old, new in [
        ("source: The Harbour Theatre", "about: asking"),
        ("14 s within 1 s", "14 s"),
        ("id: handbill", "id: advertisement"),
        ("trust: 0.5\n    source: Handbill", "trust: 1.5\n    note: {}"),
        ("2:10:00 within 5 min", "2:10:00"),
        ("id: parts", "id: Parts of it"),
        ("within: 5 %\n    common: 2 %", "tempo: 2 %"),
        ("kind: instruction\n    trust: 0.5", "kind: instructions\n    trust: 2"),
        ("id: diary", "id: card"),
    ]:
        assert old in source
        source = source.replace(old, new, 1)

    expected = [
        '9:5: "source" is missing',
        '12:12: "asking" is not known here',
        '13:11: "time" says 14 s and not within what',
        '15:5: "source" is missing',
        '15:9: the id "advertisement" stands already on line 9',
        '17:12: "1.5" is no trust',
        "18:11: this is no keys at all",
        '19:12: "apart" says 2:10:00 and not within what',
        '22:9: "Parts of it" is no id',
        '26:5: unknown key "tempo"',
        '28:29: "time" says 12 s and not within what',
        '29:48: "mark" says 80, for 16 beats, and not within what',
        '40:11: "instructions" is no kind of evidence',
        '41:12: "2" is no trust',
        '46:9: the id "card" stands already on line 39',
    ]
    lines = found(source, desk)

    assert len(expected) == len(lines), lines
    for line, beginning in zip(lines, expected, strict=True):
        assert line.startswith(f"said.yaml:{beginning}")


def test_what_hangs_on_a_part_that_could_not_be_read_is_not_told_as_well(desk: Path) -> None:
    """Neither shots of a map that is away, nor lengths where the print's is wrong, nor metres."""
    assert 1 == len(found(GOOD.replace("map: lamp", "map: lump"), desk))
    assert 1 == len(found(GOOD.replace("length: 30 ft", "length: 30"), desk))
    metres = GOOD.replace("gauge: 35mm", "gauge: 35mm\nfootage: pich").replace("30 ft", "9 m")
    assert 1 == len(found(metres, desk))


def test_a_print_without_a_length_takes_that_of_the_maps_reels(desk: Path) -> None:
    (desk.parent / "lamp.yaml").write_text(MAP)

    assert 480 == read(GOOD.replace("length: 30 ft\n", ""), desk).length.value


def test_a_length_that_nobody_knows_is_asked_for(desk: Path) -> None:
    nameless = GOOD.replace("length: 30 ft\n", "").replace("map: lamp.yaml\n", "")
    lines = found(nameless, desk)

    assert lines[0].startswith("said.yaml:1:1: the length of the print that was scanned is not kno")
    (desk.parent / "lamp.yaml").write_text(MAP.replace("two.mkv, last: 159", "two.mkv"))
    (line,) = found(GOOD.replace("length: 30 ft\n", ""), desk)
    assert line.startswith("said.yaml:4:6: the map does not say how many frames reel 2 has; state")


def test_mistakes_of_the_map_are_told_at_their_own_lines_and_its_warnings_are_not(
    desk: Path,
) -> None:
    lamp = desk.parent / "lamp.yaml"
    lamp.write_text(MAP.replace("last: 159, shot: 1}", "last: 149, shot: 1}", 1))
    assert [] == found(GOOD.replace("length: 30 ft\n", "").replace("30 ft", "30 ft"), desk)
    lamp.write_text(MAP.replace("speed: 20 fps", "speed: slow"))
    assert ["lamp.yaml:11:27: "] == [line[:17] for line in found(GOOD, desk)]
    lamp.write_text(MAP.replace("shot: 2, kind", "shot: 1, kind"))
    assert ["lamp.yaml:9:"] == [line[:12] for line in found(GOOD, desk)]


def test_a_file_that_is_away_is_told(tmp_path: Path) -> None:
    with pytest.raises(DocumentError, match="the file cannot be read"):
        load(tmp_path / "said.yaml")


# what is odd and stops nothing: what stands, what is written instead, how the warning begins
WARNINGS = [
    ("trust: 0.6", "trust: 0", "11:12: warning: advertisement has no trust, and so says nothing"),
    ("source: Card", "source: Card\n    group: one", "44:12: warning: card is alone in the group"),
    ("14 s within 1 s", "9 s within 1 s", "9:5: warning: advertisement implies 30.222 fps, outs"),
    ("14 s within 1 s", "30 s within 1 s", "9:5: warning: advertisement implies 9.067 fps, outs"),
    ("80 ft/min within 5", "20 ft/min within 5", "31:5: warning: cues implies 5.333 fps by its"),
    ("blades: 3", "blades: 1", "73:5: warning: shutter implies at least 48 fps, outside"),
    ("words: 9", "words: 2\n    note: short", "66:5: warning: title implies at most 53.333 fps"),
    ("5}\n", "5}\n    screen: 60 Hz\n", "65:13: warning: a screen of 60 Hz shows 18 fps unev"),
    (
        VOTES,
        "shares: {16 fps: 0 %, 20 fps: 90 %, 22 fps: 10 %}\n    screen: 59.94",
        "65:13: warning: a screen of 59.94 Hz shows 22 fps unevenly, some film frames 17 ms long",
    ),
    (
        VOTES,
        "votes: {18 fps: 3, 22 fps: 5}\n    screen: 240 Hz",
        "65:13: warning: a screen of 240 Hz shows 18, 22 fps unevenly, some film frames 4 ms long",
    ),
    ("length: 30 ft", "length: 31 ft", "5:9: warning: the print's length is 496 frames, and the"),
    (
        "5840 ft",
        "1780 m\n    footage: pitch",
        "20:13: warning: a metre of 35mm is taken for 52.632 frames (footage: pitch); footage: n",
    ),
    (
        "gauge: 35mm\nmap: lamp.yaml\nlength: 30 ft",
        "gauge: 35mm\nfootage: nominal\nmap: lamp.yaml\nlength: 9.144 m",
        "6:9: warning: a metre of 35mm is taken for 52.493 frames (footage: nominal)",
    ),
]


@pytest.mark.parametrize(("old", "new", "expected"), WARNINGS)
def test_what_is_odd_is_a_warning_and_stops_nothing(
    old: str, new: str, expected: str, desk: Path
) -> None:
    assert old in GOOD
    (line,) = found(GOOD.replace(old, new, 1), desk)

    assert line.startswith(f"said.yaml:{expected}")


@pytest.mark.parametrize("screen", ["60 Hz", "59.94 Hz", "60.05 Hz", "120 Hz", "240"])
def test_a_screen_that_shows_the_preferred_speeds_evenly_is_no_cause_for_a_warning(
    desk: Path, screen: str
) -> None:
    """Sixty is 3 times 20, 4 times 15 and 5 times 12."""
    votes = "votes: {12 fps: 1, 15 fps: 3, 20 fps: 5}"
    seen = GOOD.replace(VOTES, f"{votes}\n    screen: {screen}")

    assert [] == found(seen, desk)


def test_a_speed_that_ran_evenly_among_others_that_did_not_is_named(desk: Path) -> None:
    seen = GOOD.replace(VOTES, "shares: {20 fps: 90 %, 22 fps: 10 %}\n    screen: 60")
    (line,) = found(seen, desk)

    assert line.endswith("; 20 fps may have won by running evenly")


def test_metres_are_told_once_for_a_gauge_and_a_convention(desk: Path) -> None:
    head, _, items = GOOD.partition("evidence:\n")
    metric = head.replace("gauge: 35mm", "gauge: 35mm\nfootage: nominal") + "evidence:\n" + items
    metric = metric.replace("5840 ft", "1780 m").replace("1450 ft", "442 m")

    assert 1 == len(found(metric, desk))
    assert 2 == len(found(metric.replace("442 m", "177 m\n    gauge: 9.5mm"), desk))
    assert 1 == len(found(metric.replace("442 m", "177 m\n    gauge: 16mm"), desk))  # both agree


def test_two_copies_make_a_group(desk: Path) -> None:
    grouped = GOOD.replace("source: Card", "source: Card\n    group: one")

    assert [] == found(grouped.replace("source: Diary", "source: Diary\n    group: one"), desk)


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], deadline=None)
@given(at=st.integers(0, len(GOOD) - 1), text=st.text(max_size=4), gone=st.integers(0, 12))
def test_no_text_brings_anything_but_findings(at: int, text: str, gone: int, desk: Path) -> None:
    source = GOOD[:at] + text + GOOD[at + gone :]

    for line in found(source.encode("utf-8", "replace"), desk):
        assert line.startswith(("said.yaml", "lamp.yaml"))
