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


REFUSED = [
    (("compare", "lamp.yaml"), "one map alone is alike; name another"),
    (("compare", "lamp.yaml", "--versions", "slow"), "'slow' names no two versions"),
    (("compare", "lamp.yaml", "--versions", "slow:brisk"), "no version 'brisk'; there are slow, f"),
    (("compare", "lamp.yaml", "--versions", "brisk:slow"), "no version 'brisk'; there are slow, f"),
    (("compare", "lamp.yaml", "no.yaml"), "no.yaml: the file cannot be read"),
    (("sheet", "lamp.yaml", "bench", "slaw"), "the map has no version 'slaw'; did you mean \"slow"),
    (("sheet", "lamp.yaml", "speed", "viewing"), "the map has no version 'viewing'"),
    (("sheet", "lamp.yaml", "timing", "slow"), "the map has no deliverable 'slow'"),
    (("sheet", "lamp.yaml", "shots"), "'shots' is not one of"),
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
