"""A version that is like another has what that one has, but for what it writes itself."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
import yaml
from hypothesis import given, settings
from hypothesis import strategies as st
from jsonschema import Draft202012Validator
from lamp_map import LAMP

from retime.errors import DocumentError
from retime.findings import Severity
from retime.speedmap.arrangement import Inserted, arrange
from retime.speedmap.decisions import Free, RampPart, Steady, governing
from retime.speedmap.inheritance import MOST_FOREBEARS
from retime.speedmap.reading import read
from retime.speedmap.rules import findings, sound
from retime.speedmap.schema import map_schema

if TYPE_CHECKING:
    from retime.speedmap.decisions import Segment
    from retime.speedmap.model import SpeedMap

pytest_plugins = ["lamp_map"]


def heir(*lines: str, like: str = "restrained", then: str = "") -> str:
    """Return the sound map with a version ``second`` after ``restrained``."""
    told = "".join(f"    {line}\n" for line in lines)
    return LAMP.replace("  brisk:\n", f"  second:\n    like: {like}\n{told}{then}  brisk:\n", 1)


def decided(source: str, path: Path, version: str = "second") -> tuple[Segment, ...]:
    speed_map = read(source, path)
    sound(speed_map, {})
    return governing(speed_map, speed_map.versions[version])


def speeds(segments: tuple[Segment, ...]) -> list[str]:
    told = []
    for segment in segments:
        match segment.pace:
            case Steady(speed=speed):
                told.append(str(speed))
            case RampPart(ramp=ramp, index=index, count=count):
                told.append(f"{ramp.first}-{ramp.last} {index}/{count}")
            case Free():
                told.append("free")
    return told


def test_a_version_that_only_is_like_another_is_the_same(lamp_path: Path) -> None:
    source = heir()

    assert decided(source, lamp_path, "restrained") == decided(source, lamp_path)


PACES = ["20", "18", "20", "16-18 0/300", "20", "16-18 200/300"]
"""What ``restrained`` runs at, shot by shot; the third and the fifth are titles."""

MERGED = [
    # what the heir writes, and what its six shots run at
    (["speed: 24"], ["24", *PACES[1:]]),
    (["runtime: 0:50"], ["free", *PACES[1:]]),
    (["reels: {1: 19}"], ["19", *PACES[1:]]),
    (["reels: {2: 23}", "shots: {2/3-2/7: 21}"], [*PACES[:3], "21", "21", "21"]),
    (["titles: {speed: 17}"], ["20", "18", "17", "16-18 0/300", "17", "16-18 200/300"]),
    (["shots: {1/14: 19}"], ["20", "19", *PACES[2:]]),
    # the same run as a whole, whatever it is written like
    (["shots: {'2/3 - 2/7': 21 -> 22}"], [*PACES[:3], "21-22 0/300", "20", "21-22 200/300"]),
    # a run that overlaps: the ramp is still counted over all it was written for
    (["shots: {2/5-2/7: 21}"], [*PACES[:4], "21", "21"]),
    (["shots: {1/14A-2/3: 21}"], [*PACES[:2], "21", "21", *PACES[4:]]),
    # a single shot's rule goes before a run's, also where only the first is inherited
    (["shots: {1/13-1/14A: 21}"], ["21", "18", "21", *PACES[3:]]),
    (["shots: {2/5: 21}"], [*PACES[:4], "21", PACES[5]]),
]


@pytest.mark.parametrize(("written", "expected"), MERGED)
def test_the_nearer_rule_holds_key_by_key(
    written: list[str], expected: list[str], lamp_path: Path
) -> None:
    assert expected == speeds(decided(heir(*written), lamp_path))


def test_an_heir_of_an_heir_has_the_nearest_of_three(lamp_path: Path) -> None:
    third = "  third:\n    like: second\n    shots: {2/3-2/5: 15}\n"
    source = heir("shots: {2/5-2/7: 21}", "titles: {at least: 5 s}", then=third)

    assert [*PACES[:3], "15", "15", "21"] == speeds(decided(source, lamp_path, "third"))
    assert 5 == decided(source, lamp_path, "third")[2].at_least


def test_a_rule_for_a_shot_is_replaced_as_a_whole(lamp_path: Path) -> None:
    assert Fraction(6) == decided(heir(), lamp_path)[1].at_most
    assert decided(heir("shots: {1/14: 19}"), lamp_path)[1].at_most is None


@pytest.mark.parametrize(
    ("written", "at_least", "at_most", "exactly"),
    [
        ("{at most: 5 s}", 4, 5, None),
        ("{at least: 2 s}", 2, None, None),
        ("{for: 3 s}", None, None, 3),
        ("{loop: 12}", 4, None, None),
    ],
)
def test_titles_are_merged_key_by_key_and_for_drives_out_the_limits(
    written: str, at_least: int | None, at_most: int | None, exactly: int | None, lamp_path: Path
) -> None:
    title = decided(heir(f"titles: {written}"), lamp_path)[2]

    assert (title.at_least, title.at_most, title.exactly) == (at_least, at_most, exactly)
    assert speeds((title,)) == ["20"]
    assert title.loop == (12 if "loop" in written else None)


def test_a_runtime_drives_out_an_inherited_speed_and_a_speed_a_runtime(lamp_path: Path) -> None:
    third = "  third: {like: second, speed: 21}\n"
    versions = read(heir("runtime: 0:50", then=third), lamp_path).versions

    assert versions["second"].speed is None
    assert versions["second"].runtime == 50
    assert versions["third"].runtime is None
    assert str(versions["third"].speed) == "21"


def test_what_an_assembly_writes_takes_the_place_of_the_inherited_one(lamp_path: Path) -> None:
    black = "insert: {after: 1/14, black: 2 s}"
    source = LAMP.replace(
        "    speed: 20 fps\n", f"    speed: 20 fps\n    omit: [2/5]\n    {black}\n"
    )
    source = source.replace(
        "  brisk:\n",
        "  second: {like: restrained, omit: []}\n"
        "  third: {like: restrained, insert: {after: 1/13, black: 1 s}}\n  brisk:\n",
        1,
    )

    def playing(version: str) -> list[str]:
        speed_map = read(source, lamp_path)
        items = arrange(speed_map, speed_map.versions[version]).items
        return [
            "black" if isinstance(one, Inserted) else str(one.shot and one.shot.name)
            for one in items
        ]

    assert ["13", "14", "black", "14A", "3", "7"] == playing("restrained")
    assert ["13", "14", "black", "14A", "3", "5", "7"] == playing("second")
    assert ["13", "black", "14", "14A", "3", "7"] == playing("third")


def test_the_film_own_assembly_lies_under_heirs_once(lamp_path: Path) -> None:
    source = heir().replace("versions:\n", "insert: {after: 1/14, black: 2 s}\nversions:\n", 1)
    speed_map = read(source, lamp_path)

    items = arrange(speed_map, speed_map.versions["second"]).items

    assert sum(isinstance(one, Inserted) for one in items) == 1


@given(
    st.dictionaries(st.sampled_from(["1", "2"]), st.integers(12, 30), max_size=2),
    st.dictionaries(
        st.sampled_from(["1/13", "1/14", "2/3", "1/13-1/14", "1/14A-2/5"]),
        st.integers(12, 30),
        max_size=3,
    ),
    st.none() | st.integers(12, 30),
)
@settings(max_examples=50, deadline=None)
def test_an_heir_is_as_if_it_had_been_written_out(
    reels: dict[str, int], shots: dict[str, int], speed: int | None
) -> None:
    """Written out from the rule, without the ramp, whose overlap only ``like`` can say."""
    path = Path("lamp.yaml")
    plain = LAMP.replace("      2/3-2/7: 16 fps -> 18 fps\n", "")
    all_shots = {"1/14": "{speed: 18 fps, at most: 0:06}"} | {k: str(v) for k, v in shots.items()}

    def flow(pairs: dict[str, str]) -> str:
        return "{" + ", ".join(f"{key}: {value}" for key, value in pairs.items()) + "}"

    own = [f"reels: {flow({k: str(v) for k, v in reels.items()})}"]
    own += [f"shots: {flow({k: str(v) for k, v in shots.items()})}"]
    own += [f"speed: {speed}"] if speed else []
    out = [f"speed: {speed or '20 fps'}", "titles: {speed: 20 fps, at least: 4 s}"]
    out += [f"reels: {flow({'2': '22 fps'} | {k: str(v) for k, v in reels.items()})}"]
    out += [f"shots: {flow(all_shots)}"]

    def with_second(lines: list[str]) -> str:
        told = "".join(f"    {line}\n" for line in lines)
        return plain.replace("  brisk:\n", f"  second:\n{told}  brisk:\n", 1)

    assert decided(with_second(out), path) == decided(with_second(["like: restrained", *own]), path)


def told_of(source: str, path: Path) -> list[str]:
    """Return the findings of a map, without the name of its folder."""
    try:
        found = findings(read(source, path), {})
    except DocumentError as error:
        found = error.findings
    return [str(one).removeprefix(f"{path.parent}/lamp.yaml:") for one in found]


REFUSED = [
    (heir(like="second"), ['32:11: the version "second" is like itself; write one out']),
    (
        heir(like="third", then="  third: {like: second}\n"),
        [
            '32:11: the version "second" is like itself, by way of "third"; write one out',
            '33:17: the version "third" is like itself, by way of "second"; write one out',
        ],
    ),
    (
        heir(like="restraind"),
        ['32:11: there is no version "restraind"; did you mean "restrained"?'],
    ),
    (heir(like="bri/sk"), ['32:11: the name "bri/sk" holds a slash; leave it out']),
    (heir(like="[restrained]"), ["32:11: this is a list where a text should stand"]),
    (heir(like=""), ['32:5: nothing is written after "like"']),
    (
        heir("speed: 20", "runtime: 0:50"),
        ['34:5: "runtime" is at odds with "speed"; keep one of t'],
    ),
    (heir("shots: {1/15: 20}"), ['33:13: there is no shot "1/15"; did you mean "1/14"?']),
    (
        heir("shots: {1/13-1/14: 20, 1/14-1/14A: 21}"),
        ["33:28: shot 1/14 is in two rules of version second; the other is 1/13-1/14 on line 33"],
    ),
    (heir("titles: {at most: 3 s}"), ['30:39: "at least" is longer than "at most"']),
    (heir("reels: {3: 20}"), ['33:13: there is no reel "3"']),
    # what is wrong in the inherited rule is told once, where it is written
    (heir().replace("2: 22 fps", "4: 22 fps"), ['26:13: there is no reel "4"']),
    (heir().replace("1/14: {speed", "1/15: {speed"), ['28:7: there is no shot "1/15"; did you']),
    (
        heir()
        .replace("footage: nominal\n", "")
        .replace("1/14: {speed: 18 fps", "1/14: {speed: 9 m/min"),
        ["27:21: '9 m/min' needs to know how many frames a metre holds"],
    ),
    (heir().replace("    speed: 20 fps\n", ""), ['24:3: the version "restrained" has no speed']),
    (
        heir().replace("titles: {speed: 20 fps", "titles: {speed: 50 fps"),
        ['30:21: warning: "50 fps"'],
    ),
]


@pytest.mark.parametrize(("source", "expected"), REFUSED)
def test_what_is_wrong_is_told_once_at_its_line(
    source: str, expected: list[str], lamp_path: Path
) -> None:
    told = told_of(source, lamp_path)

    assert len(told) == len(expected), told
    for one, start in zip(told, expected, strict=True):
        assert one.startswith(start)


def test_a_version_that_comes_to_a_circle_is_not_told_of_it(lamp_path: Path) -> None:
    source = heir(like="third", then="  third: {like: third, speed: 20}\n")

    assert ["33:17: the version"] == [one[:18] for one in told_of(source, lamp_path)]


@pytest.mark.parametrize(("count", "refused"), [(MOST_FOREBEARS, 0), (MOST_FOREBEARS + 1, 1)])
def test_so_many_versions_may_stand_one_behind_the_other(
    count: int, refused: int, lamp_path: Path
) -> None:
    chain = "".join(
        f"  v{number}: {{like: {f'v{number - 1}' if number else 'restrained'}}}\n"
        for number in range(count)
    )
    told = told_of(LAMP.replace("  brisk:\n", f"{chain}  brisk:\n", 1), lamp_path)

    assert refused == sum("versions before it" in one for one in told) == len(told)


def test_a_warning_of_an_inherited_rule_is_a_warning(lamp_path: Path) -> None:
    speed_map: SpeedMap = read(heir().replace("speed: 20 fps, at", "speed: 50, at"), lamp_path)

    assert [Severity.WARNING] == [one.severity for one in findings(speed_map, {})]


def test_the_schema_knows_whom_a_version_is_like() -> None:
    plain = yaml.safe_load(heir())

    assert list(Draft202012Validator(map_schema()).iter_errors(plain)) == []
    plain["versions"]["second"]["like"] = ["restrained"]
    assert list(Draft202012Validator(map_schema()).iter_errors(plain))
