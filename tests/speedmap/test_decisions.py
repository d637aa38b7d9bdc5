from __future__ import annotations

import json
from fractions import Fraction
from pathlib import Path
from typing import Any, TypeAlias

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from retime.film.notation import SpokenRamp, SpokenSpeed, parse_pace, parse_speed, parse_time
from retime.film.speed import Ramp, Speed
from retime.speedmap.decisions import Free, Pace, RampPart, Segment, Steady, governing
from retime.speedmap.model import ShotKind
from retime.speedmap.reading import read
from retime.speedmap.rules import sound

pytest_plugins = ["lamp_map"]

PATH = Path("map.yaml")


def steady(fps: int) -> Steady:
    return Steady(speed=Speed(Fraction(fps)))


def ramp(first: int, last: int, index: int, count: int) -> RampPart:
    speeds = Speed(Fraction(first)), Speed(Fraction(last))
    return RampPart(ramp=Ramp(*speeds), index=index, count=count)


def decided(source: str, version: str = "restrained", **lasts: int) -> tuple[Segment, ...]:
    speed_map = read(source, PATH)
    return governing(speed_map, speed_map.versions[version], lasts)


def paces(source: str, version: str = "restrained") -> list[Pace]:
    return [segment.pace for segment in decided(source, version)]


def test_segments_are_the_shots_in_playing_order(lamp: str) -> None:
    segments = decided(lamp)

    assert [(one.reel, one.first, one.last) for one in segments[:3]] == [
        ("1", 24, 123),
        ("1", 124, 223),
        ("1", 224, 323),
    ]
    assert [one.shot.name if one.shot else None for one in segments] == [
        "13",
        "14",
        "14A",
        "3",
        "5",
        "7",
    ]
    assert [one.count for one in segments] == [100] * 6
    assert [n for n, one in enumerate(segments) if one.kind is ShotKind.TITLE] == [2, 4]


def test_the_nearest_rule_wins_and_titles_keep_out_of_a_run_that_ramps(lamp: str) -> None:
    assert [
        steady(20),  # the version's
        steady(18),  # the shot's own
        steady(20),  # the titles'
        ramp(16, 18, 0, 300),
        steady(20),  # the titles', though its frames count in the ramp
        ramp(16, 18, 200, 300),
    ] == paces(lamp)


def test_a_constant_speed_for_a_run_holds_for_the_titles_in_it(lamp: str) -> None:
    assert [steady(17)] * 3 == paces(lamp.replace("16 fps -> 18 fps", "17"))[3:]


def test_a_title_named_singly_leaves_the_title_rule(lamp: str) -> None:
    single = lamp.replace("      2/3-2/7", "      2/5: 19 -> 21\n      2/3-2/7")

    assert ramp(19, 21, 0, 100) == paces(single)[4]


def test_titles_take_part_in_a_run_that_ramps_where_their_rule_has_no_speed(lamp: str) -> None:
    source = lamp.replace("titles: {speed: 20 fps, at", "titles: {at")

    assert ramp(16, 18, 100, 300) == paces(source)[4]
    assert decided(source)[4].at_least == 4


def test_a_single_rule_without_a_speed_leaves_the_speed_to_the_next(lamp: str) -> None:
    source = lamp.replace("1/14: {speed: 18 fps, at", "2/5: {at")

    assert steady(20) == paces(source)[4]
    assert (None, Fraction(6), None) == (
        decided(source)[4].at_least,
        decided(source)[4].at_most,
        decided(source)[4].exactly,
    )


def test_limits_come_from_the_shot_then_from_the_titles(lamp: str) -> None:
    segments = decided(lamp.replace("at most: 0:06", "for: 0:06"))

    assert [one.at_least for one in segments] == [None, None, 4, None, 4, None]
    assert [one.exactly for one in segments] == [None, 6, None, None, None, None]


def test_a_ramp_for_a_reel_spans_the_reel_and_one_for_a_version_the_film(lamp: str) -> None:
    by_reel = lamp.replace("2: 22 fps", "2: 10 -> 22").replace(
        "      2/3-2/7: 16 fps -> 18 fps\n", ""
    )
    by_version = by_reel.replace("    reels: {2: 10 -> 22}\n", "").replace("20 fps\n", "9 -> 15\n")

    assert [ramp(10, 22, 0, 300), steady(20), ramp(10, 22, 200, 300)] == paces(by_reel)[3:]
    assert [ramp(9, 15, 0, 600), ramp(9, 15, 500, 600)] == [
        paces(by_version)[0],
        paces(by_version)[5],
    ]


def test_frames_in_no_shot_take_the_speed_of_the_reel(lamp: str) -> None:
    source = lamp.replace("  - {reel: 2, first: 100, last: 199, shot: 5, kind: title}\n", "")
    gap = decided(source)[4]

    assert (gap.first, gap.last, gap.shot, gap.kind) == (100, 199, None, ShotKind.ACTION)
    assert steady(22) == gap.pace
    assert ramp(16, 18, 200, 300) == decided(source)[5].pace


def test_a_reel_without_shots_is_one_segment_to_its_known_end() -> None:
    source = """\
format: retime-map/1
film: Lamp
gauge: 35mm
reels: [{reel: a, scan: a.mkv, first: 3}]
versions: {restrained: {speed: 18}}
"""
    (segment,) = decided(source, a=9)

    assert (3, 9, None, steady(18)) == (segment.first, segment.last, segment.shot, segment.pace)
    with pytest.raises(KeyError):
        decided(source)


def test_a_version_told_by_its_runtime_leaves_free_what_no_nearer_rule_governs(lamp: str) -> None:
    source = lamp.replace("    speed: 20 fps\n    reels: {2: 22 fps}", "    runtime: 0:30")

    assert [Free(), steady(18), steady(20)] == paces(source)[:3]
    assert [Free()] * 6 == paces(lamp, "matched")


def test_a_spoken_speed_is_told_on_the_gauge_of_each_reel(lamp: str) -> None:
    # 60 feet a minute are 16 frames a second on 35 mm, 40 on 16 mm (16 and 40 frames to the foot)
    source = lamp.replace("speed: 24 fps", "speed: 60 ft/min")

    assert [steady(16), steady(40)] == [paces(source, "brisk")[0], paces(source, "brisk")[3]]


def test_a_ramp_over_two_gauges_is_told_on_the_reels_where_it_begins_and_ends(lamp: str) -> None:
    source = lamp.replace("speed: 24 fps", "speed: 60 ft/min -> 45 ft/min")

    assert ramp(16, 30, 0, 600) == paces(source, "brisk")[0]


# Against a naive list: every frame's governing rule looked up by itself, from the definitions.

Frame: TypeAlias = tuple[str, int]
Plain: TypeAlias = dict[str, Any]

LIMITS = ("at least", "at most", "for")
PACES = st.sampled_from(["16", "18 fps", "240/11", "20 -> 24", "22 -> 16 fps", "75 ft/min"])
STEADY = st.sampled_from(["17", "19.5", "60 ft/min"])
SECONDS = st.sampled_from(["1 s", "0:02", "2.5 s"])


@st.composite
def films(draw: st.DrawFn) -> tuple[list[Plain], list[Plain]]:
    """Draw reels, and shots in playing order with or without frames between them."""
    reels, shots = [], []
    for name in draw(st.permutations("abc"))[: draw(st.integers(1, 3))]:
        first = draw(st.integers(0, 3))
        here, bounds = first, []
        for _ in range(draw(st.integers(0, 4))):
            start = here + draw(st.integers(0, 2))
            here = start + draw(st.integers(1, 4))
            bounds.append((start, here - 1))
        last = here + draw(st.integers(0, 2))
        gauge = draw(st.sampled_from(["35mm", "16mm"]))
        reels.append({"reel": name, "scan": "x.mkv", "first": first, "last": last, "gauge": gauge})
        for number, (start, end) in enumerate(bounds):
            kind = draw(st.sampled_from(["action", "title"]))
            shot = {"reel": name, "first": start, "last": end, "shot": f"s{number}", "kind": kind}
            shots.append(shot)
    return reels, shots


@st.composite
def versions(draw: st.DrawFn, reels: list[Plain], shots: list[Plain]) -> Plain:
    """Draw a version's rules for a film, at most one run over any shot."""
    version: Plain = draw(st.fixed_dictionaries({"speed": PACES}) | st.just({"runtime": "0:30"}))
    version["reels"] = draw(st.dictionaries(st.sampled_from([r["reel"] for r in reels]), PACES))
    rules: Plain = {}
    here = 0
    while here < len(shots):
        stop = draw(st.integers(here, len(shots) - 1))
        if stop > here and draw(st.booleans()):
            rules[f"{key(shots[here])}-{key(shots[stop])}"] = draw(PACES)
        here = stop + 1
    for shot in shots:
        one = draw(st.sampled_from(["none", "pace", "limit", "both"]))
        limit = {draw(st.sampled_from(["at least", "at most", "for"])): draw(SECONDS)}
        if one != "none":
            rules[key(shot)] = {
                **({"speed": draw(PACES)} if one != "limit" else {}),
                **(limit if one != "pace" else {}),
            }
    titles = st.fixed_dictionaries({"at least": SECONDS}, optional={"speed": STEADY})
    return {**version, "shots": rules, **({"titles": draw(titles)} if draw(st.booleans()) else {})}


def key(shot: Plain) -> str:
    return f"{shot['reel']}/{shot['shot']}"


class Naive:
    """A version's rules, looked up for one frame at a time."""

    def __init__(self, reels: list[Plain], shots: list[Plain], version: Plain) -> None:
        """List every frame, and the shot that holds it."""
        self.shots, self.version = shots, version
        self.titles: Plain = version.get("titles", {})
        self.per_foot = {reel["reel"]: {"35mm": 16, "16mm": 40}[reel["gauge"]] for reel in reels}
        self.every = [
            (reel["reel"], n) for reel in reels for n in range(reel["first"], reel["last"] + 1)
        ]
        self.holder = {
            (shot["reel"], n): shot
            for shot in shots
            for n in range(shot["first"], shot["last"] + 1)
        }

    def frames(self) -> dict[Frame, object]:
        """Return every frame's pace, limits and shot."""
        return {
            frame: (self.pace(frame), self.limits(frame), self.holder.get(frame))
            for frame in self.every
        }

    def told(self, pace: str, frames: list[Frame], frame: Frame) -> object:
        """Return what a pace written for ``frames`` gives one of them."""

        def on(reel: str, spoken: SpokenSpeed) -> Fraction:
            return spoken.on(Fraction(self.per_foot[reel]), None).fps

        spoken = parse_pace(pace)
        if not isinstance(spoken, SpokenRamp):
            return on(frame[0], spoken)
        ends = on(frames[0][0], spoken.first), on(frames[-1][0], spoken.last)
        return *ends, frames.index(frame), len(frames)

    def title_speed(self, shot: Plain | None) -> str | None:
        """Return the speed of the rule for titles, if the shot is one."""
        return self.titles.get("speed") if shot and shot["kind"] == "title" else None

    def pace(self, frame: Frame) -> object:
        """Return the pace of the nearest rule."""
        shot = self.holder.get(frame)
        by_shot = self.by_shot(frame, shot) if shot else None
        if by_shot is not None:
            return by_shot
        title_speed = self.title_speed(shot)
        if title_speed:
            return self.told(title_speed, [frame], frame)
        reel = self.version["reels"].get(frame[0])
        if reel:
            return self.told(reel, [other for other in self.every if other[0] == frame[0]], frame)
        speed = self.version.get("speed")
        return self.told(speed, self.every, frame) if speed else "free"

    def by_shot(self, frame: Frame, shot: Plain) -> object:
        """Return the pace of a rule for the shot or for a run, or None."""
        own = self.version["shots"].get(key(shot), {})
        if "speed" in own:
            inside = [other for other in self.every if self.holder.get(other) is shot]
            return self.told(own["speed"], inside, frame)
        names = [key(one) for one in self.shots]
        for name, pace in self.version["shots"].items():
            if "-" in name:
                start, stop = (names.index(end) for end in name.split("-"))
                run = self.shots[start : stop + 1]
                if shot in run and not ("->" in pace and self.title_speed(shot)):
                    begin = self.every.index((run[0]["reel"], run[0]["first"]))
                    end = self.every.index((run[-1]["reel"], run[-1]["last"]))
                    return self.told(pace, self.every[begin : end + 1], frame)
        return None

    def limits(self, frame: Frame) -> object:
        """Return the three limits in seconds, from the nearest rule that has any."""
        shot = self.holder.get(frame)
        rules = [self.version["shots"].get(key(shot), {})] if shot else []
        rules += [self.titles] if shot and shot["kind"] == "title" else []
        for rule in rules:
            if any(name in rule for name in LIMITS):
                return tuple(parse_time(rule[n]) if n in rule else None for n in LIMITS)
        return None, None, None


def expanded(segments: tuple[Segment, ...]) -> dict[Frame, object]:
    """Return the same, frame by frame, from segments."""
    frames: dict[Frame, object] = {}
    for one in segments:
        limits = one.at_least, one.at_most, one.exactly
        for offset in range(one.count):
            pace: object = "free"
            if isinstance(one.pace, Steady):
                pace = one.pace.speed.fps
            elif isinstance(one.pace, RampPart):
                ends = one.pace.ramp.first.fps, one.pace.ramp.last.fps
                pace = *ends, one.pace.index + offset, one.pace.count
            shot = one.shot and {
                "reel": one.shot.reel,
                "first": one.shot.first,
                "last": one.shot.last,
                "shot": one.shot.name,
                "kind": str(one.kind),
            }
            frames[one.reel, one.first + offset] = pace, limits, shot
    return frames


@settings(max_examples=200, deadline=None)
@given(data=st.data())
def test_decisions_equal_a_lookup_frame_by_frame(data: st.DataObject) -> None:
    reels, shots = data.draw(films())
    version = data.draw(versions(reels, shots))
    document = {
        "format": "retime-map/1",
        "film": "Lamp",
        "gauge": "35mm",
        "reels": reels,
        "shots": shots,
        "versions": {"v": version},
    }
    speed_map = read(json.dumps(document), PATH)
    sound(speed_map, {})
    expected = Naive(reels, shots, version).frames()
    actual = expanded(governing(speed_map, speed_map.versions["v"]))

    assert list(expected) == list(actual)
    assert expected == actual


def test_the_speed_of_a_segment_is_that_of_its_words(lamp: str) -> None:
    (pace, *_) = paces(lamp.replace("speed: 20 fps\n", "speed: 240/11\n"))

    assert Steady(speed=parse_speed("240/11").on(None, None)) == pace
