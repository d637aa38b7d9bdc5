"""Maps compared and sheets printed by the program, for people and for programs."""

from __future__ import annotations

import csv
import io
import json
from typing import TYPE_CHECKING

import jsonschema
import pytest
from running import LAMP

from retime.report.comparison_schema import comparison_schema
from retime.report.show_speeds import CAUTION

if TYPE_CHECKING:
    from pathlib import Path

    from running import Program

pytest_plugins = ["at_the_desk"]

TWO = LAMP.replace("deliverables:", "  fast: {like: slow, speed: 24 fps}\ndeliverables:")


@pytest.fixture
def lamp(tmp_path: Path, own_home: Path) -> Path:  # noqa: ARG001
    """Return a map of two versions whose scan is away."""
    path = tmp_path / "lamp.yaml"
    path.write_text(TWO, encoding="utf-8")
    return path


def test_a_map_is_the_same_as_itself(lamp: Path, retime: Program) -> None:
    ran = retime("--quiet", "compare", lamp, lamp)

    assert (0, "nothing differs\n", "") == (ran.code, ran.out, ran.err)


def test_a_difference_ends_with_1_and_is_told_by_its_frames(lamp: Path, retime: Program) -> None:
    other = lamp.with_name("other.yaml")
    other.write_text(TWO.replace("speed: 18 fps", "speed: 18 fps\n    shots: {1/2: 20}"))

    ran = retime("--quiet", "compare", lamp, other)
    told = retime("--quiet", "compare", lamp, other, "--format", "json")

    assert (1, 1) == (ran.code, told.code)
    assert ["1", "12-23", "18", "20"] in [line.split() for line in ran.out.splitlines()]
    values = json.loads(told.out)
    jsonschema.validate(values, comparison_schema())
    assert ["fast", "slow"] == [pair["left"] for pair in values["versions"]]  # an heir changes too


def test_two_versions_of_a_map_are_compared(lamp: Path, retime: Program) -> None:
    ran = retime("--quiet", "compare", lamp, "--versions", "slow:fast")

    assert 1 == ran.code
    assert "version slow and fast" in ran.out.splitlines()
    assert ["1", "0-23", "18", "24"] in [line.split() for line in ran.out.splitlines()]


def lines_of(text: str) -> list[str]:
    """Return the lines of a table, without what keeps its columns apart."""
    return [" ".join(line.split()) for line in text.splitlines()]


def test_a_scan_told_from_another_folder_is_the_same(work: Path, retime: Program) -> None:
    (work / "notes").mkdir()
    other = work / "notes" / "lamp.yaml"
    other.write_text((work / "lamp.yaml").read_text().replace("lamp.mkv", "../lamp.mkv"))

    assert 0 == retime("compare", work / "lamp.yaml", other).code

    (work / "notes" / "lamp.mkv").write_bytes((work / "lamp.mov").read_bytes())
    other.write_text((work / "lamp.yaml").read_text())  # written alike, and another scan
    ran = retime("compare", work / "lamp.yaml", other, "--format", "json")

    (row,) = json.loads(ran.out)["reels"]
    assert (1, "scan") == (ran.code, row["what"])
    assert (str(work / "lamp.mkv"), str(work / "notes/lamp.mkv")) == (row["left"], row["right"])


def test_of_many_things_that_differ_the_first_ten_are_shown(lamp: Path, retime: Program) -> None:
    for name, text in (("one", "Mark"), ("other", "Other")):
        marks = ", ".join(f"{{at: 1, frame: {at}, name: {text} {at}}}" for at in range(13))
        lamp.with_name(f"{name}.yaml").write_text(f"{TWO}    chapters: [{marks}]\n")
    asked = ("--quiet", "compare", lamp.with_name("one.yaml"), lamp.with_name("other.yaml"))

    ran = retime(*asked)
    shown = [words for words in lines_of(ran.out) if words.startswith("viewing")]

    assert "viewing chapters reel 1, frame 9, name Mark 9 Other 9" == shown[9]
    assert ["viewing chapters, 3 more differences"] == shown[10:]
    told = json.loads(retime(*asked, "--format", "json").out)["deliverables"]
    assert [f"reel 1, frame {at}" for at in range(13)] == [row["item"] for row in told]


def test_what_is_put_in_is_shown_by_what_it_is(lamp: Path, retime: Program) -> None:
    other = lamp.with_name("other.yaml")
    other.write_text(
        TWO.replace("18 fps", "18 fps\n    insert: {after: 1/1, black: 2 s, name: sea}")
    )

    lines = lines_of(retime("compare", lamp, other).out)

    assert "insert sea black for 2 s, after 1/1" in lines
    assert "they part at 0:00:00.667 shot 1/2, frame 12 reel 1, black (sea)" in lines


def test_a_map_without_versions_has_none_to_compare(lamp: Path, retime: Program) -> None:
    bare = lamp.with_name("bare.yaml")
    bare.write_text(TWO[: TWO.index("versions:")])

    ran = retime("compare", bare, lamp, "--versions", "slow:fast")
    other = retime("compare", lamp, bare, "--versions", "slow:fast")

    for one in (ran, other):
        assert 2 == one.code
        assert "the map has no versions yet; write some under versions" in " ".join(one.err.split())


REFUSED = [
    (("compare", "lamp.yaml"), "one map alone is alike; name another"),
    (("compare", "lamp.yaml", "--versions", "slow"), "'slow' names no two versions"),
    (("compare", "lamp.yaml", "--versions", "slow:brisk"), "no version 'brisk'; there are slow, f"),
    (("compare", "lamp.yaml", "--versions", "brisk:slow"), "no version 'brisk'; there are slow, f"),
    (("compare", "lamp.yaml", "no.yaml"), "no.yaml: the file cannot be read"),
    (("sheet", "lamp.yaml", "bench", "slaw"), "the map has no version 'slaw'; did you mean \"slow"),
    (("sheet", "lamp.yaml", "speed", "viewing"), "the map has no version 'viewing'"),
    (("sheet", "lamp.yaml", "timing", "slow"), "the map has no deliverable 'slow'"),
    (("sheet", "lamp.yaml", "shots"), "Error: Invalid value for 'KIND': 'shots' is not one of"),
    (("sheet", "lamp.yaml", "timing", "--format", "xml"), "for '--format': 'xml' is not one of"),
]


@pytest.mark.parametrize(("asked", "told"), REFUSED, ids=str)
def test_what_is_not_there_is_refused(
    asked: tuple[str, ...], told: str, lamp: Path, retime: Program, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(lamp.parent)
    ran = retime(*asked)

    assert 2 == ran.code, ran.said
    assert told in " ".join(ran.err.split())


def test_a_name_may_hold_the_sign_between_two(lamp: Path, retime: Program) -> None:
    lamp.write_text(TWO.replace("  fast:", "  fast:2:"), encoding="utf-8")

    assert "version slow and fast:2" in retime("compare", lamp, "--versions", "slow:fast:2").out


def test_a_bench_sheet_is_printed_for_the_versions_that_are_named(
    lamp: Path, retime: Program
) -> None:
    one = retime("--quiet", "sheet", lamp, "bench", "fast")
    every = retime("--quiet", "sheet", lamp, "bench", "--format", "csv")

    assert 0 == one.code
    assert ["reel 1   version fast"] == [line for line in one.out.splitlines() if "reel" in line]
    rows = list(csv.DictReader(io.StringIO(every.out)))
    assert ["slow", "slow", "fast", "fast"] == [row["version"] for row in rows]
    assert ["0+00", "0+12"] == [row["feet"] for row in rows[:2]]


def test_a_speed_sheet_carries_its_caution_whatever_is_asked(lamp: Path, retime: Program) -> None:
    table = retime("--quiet", "sheet", lamp, "speed", "slow")
    rows = retime("--quiet", "sheet", lamp, "speed", "slow", "--format", "csv")
    values = retime("--quiet", "sheet", lamp, "speed", "slow", "--format", "json")

    assert CAUTION in " ".join(table.out.split())
    assert CAUTION in rows.err
    assert CAUTION == json.loads(values.out)["caution"]
    assert ["67.5"] == [line.split()[3] for line in table.out.splitlines() if " 0+00 " in line]
