"""``retime reckon`` as the whole program, with its exit codes and at a terminal's width."""

from __future__ import annotations

import io
import json
import subprocess
import sys
from typing import Any

import pytest
from rich.console import Console
from typer.testing import CliRunner

from retime.cli.main import app
from retime.film.gauge import Footage, gauge_named
from retime.film.length import parse_length
from retime.film.notation import parse_speed
from retime.film.reckoning import Question
from retime.report.reckoned import reckoned_table

REEL = ("--length", "1000 ft", "--gauge", "35mm")
SPEEDS = ("--speeds", "16,18,20,22,24")


def program(*arguments: str) -> subprocess.CompletedProcess[str]:
    command = [sys.executable, "-m", "retime", "reckon", *arguments]
    return subprocess.run(command, check=False, capture_output=True, text=True)


def table(*arguments: str) -> list[list[str]]:
    """Return the rows of the table as their columns, split where two spaces stand."""
    result = CliRunner().invoke(app, ["reckon", *arguments], catch_exceptions=False)

    assert 0 == result.exit_code
    lines = [line.strip() for line in result.stdout.splitlines() if line.strip()]
    return [[cell.strip() for cell in line.split("  ") if cell.strip()] for line in lines]


def values(*arguments: str) -> list[dict[str, Any]]:
    asked = ["reckon", *arguments, "--format", "json"]
    told: list[dict[str, Any]] = json.loads(CliRunner().invoke(app, asked).stdout)
    return told


def test_a_length_over_several_speeds_is_a_table_that_tells_both_conventions() -> None:
    # 16:40 at 16 fps and 11:06 2/3 at 24 fps: James Card, "Silent Film Speed" (1955). Feet to
    # the minute: EIDR knowledge base, Durations. The rest is computed.
    head, _, *rows, note = table(*REEL, *SPEEDS)

    assert ["speed", "ft/min", "frames", "ft+fr", "metres", "runtime", "by pitch"] == head
    assert [
        ["16 fps", "60", "16,000", "1000+00", "304.800", "0:16:40.000", "0:16:42.632"],
        ["18 fps", "67.5", "16,000", "1000+00", "304.800", "0:14:48.889", "0:14:51.228"],
        ["20 fps", "75", "16,000", "1000+00", "304.800", "0:13:20.000", "0:13:22.105"],
        ["22 fps", "82.5", "16,000", "1000+00", "304.800", "0:12:07.273", "0:12:09.187"],
        ["24 fps", "90", "16,000", "1000+00", "304.800", "0:11:06.667", "0:11:08.421"],
    ] == rows
    assert ["35mm: 16 frames to the foot were taken (nominal); pitch would be 16.0421."] == note


@pytest.mark.parametrize(
    ("asked", "expected"),
    [
        (("--length", "1000 ft", "--runtime", "13:20"), "20.0526 fps"),
        (("--speed", "90 ft/min", "--runtime", "100 min"), "144,378.947 fr"),
        (("--speed", "24", "--runtime", "100 min"), "8976+06"),
        (("--length", "16000 frames", "--speed", "75 ft/min"), "0:13:17.900"),
    ],
)
def test_the_last_column_tells_what_was_asked_for_by_the_other_convention(
    asked: tuple[str, ...], expected: str
) -> None:
    head, _, row, _ = table(*asked, "--gauge", "35mm")

    assert ("by pitch", expected) == (head[-1], row[-1])


@pytest.mark.parametrize(
    "asked",
    [
        ("--length", "400 ft", "--speed", "24", "--gauge", "16mm"),
        ("--length", "1000 ft", "--speed", "90 ft/min", "--gauge", "35mm"),
        ("--length", "16000 frames", "--speed", "24", "--gauge", "35mm"),
    ],
)
def test_where_both_conventions_agree_there_is_no_second_column(asked: tuple[str, ...]) -> None:
    head, *_ = table(*asked)

    assert "runtime" == head[-1]


def test_a_gauge_on_which_the_conventions_agree_says_so() -> None:
    *_, note = table("--length", "400 ft", "--speed", "24", "--gauge", "16mm")

    assert ["16mm: 40 frames to the foot were taken (nominal); pitch gives the same."] == note


def test_speeds_of_several_units_keep_their_columns() -> None:
    head, _, *rows, _ = table("--length", "16000 fr", "--gauge", "35mm", "--speeds", "20,75 ft/min")

    assert "by pitch" == head[-1]
    assert [len(head)] * 2 == [len(row) for row in rows]
    assert ["the same", "0:13:17.900"] == [row[-1] for row in rows]


def test_feet_and_frames_that_the_other_convention_has_not_are_no_mistake() -> None:
    # By pitch the first foot of 35mm holds frames 0 to 16, by convention 0 to 15.
    asked = ("--length", "0+16", "--speed", "16", "--gauge", "35mm", "--footage", "pitch")
    head, _, row, _ = table(*asked)

    assert ("by nominal", "none") == (head[-1], row[-1])
    assert values(*asked)[0]["by_nominal"] is None


def test_whole_feet_by_pitch_are_told_as_whole_feet() -> None:
    asked = ("--length", "9999 ft", "--gauge", "35mm", "--speed", "16", "--footage", "pitch")
    _, _, row, _ = table(*asked)

    assert ["160,405.011", "9999+00"] == row[2:4]


def test_figures_for_programs_are_exact() -> None:
    (told,) = values(*REEL, "--speed", "22")

    assert ("16000", "22", "8000/11") == (told["frames"], told["fps"], told["seconds"])
    assert ("1000", "1524/5", "16") == (told["feet"], told["metres"], told["frames_per_foot"])
    assert ("35mm", "nominal") == (told["gauge"], told["footage"])
    assert "304800/19" == told["by_pitch"]["frames"]
    assert "152400/209" == told["by_pitch"]["seconds"]
    assert "1524/95" == told["by_pitch"]["frames_per_foot"]
    assert "Filmfuss" in told["source"]


def test_a_length_keeps_its_feet_by_either_convention() -> None:
    (told,) = values(*REEL, "--speed", "22")

    assert "1000" == told["feet"] == told["by_pitch"]["feet"]


@pytest.mark.parametrize(
    ("length", "speeds"),
    [("9999 ft", ["16", "200/11", "24"]), ("1809+05", ["75 ft/min", "13:20 /1000ft", "21.333333"])],
)
@pytest.mark.parametrize("footage", Footage)
def test_no_cell_is_broken_at_80_columns(length: str, speeds: list[str], footage: Footage) -> None:
    asked = [
        Question(
            length=parse_length(length),
            speed=parse_speed(speed),
            gauge=gauge_named("35mm"),
            footage=footage,
        )
        for speed in speeds
    ]

    assert printed(asked, width=160) == printed(asked, width=80)


def printed(asked: list[Question], *, width: int) -> list[list[str]]:
    console = Console(file=io.StringIO(), width=width)
    with console.capture() as capture:
        console.print(reckoned_table(asked))
    return [line.split() for line in capture.get().splitlines() if "─" not in line]


def test_the_program_prints_its_result_alone_and_ends_well() -> None:
    done = program(*REEL, "--speed", "24")

    assert (0, "") == (done.returncode, done.stderr)
    assert "0:11:06.667" in done.stdout
    assert "\x1b" not in done.stdout


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        (("--length", "300 m", "--gauge", "35mm", "--speed", "18"), "say --footage pitch"),
        ((*REEL, "--speeds", "18,20 m/min"), "say --footage pitch"),
        ((*REEL, "--speed", "0"), "--speed: '0' is not above 0; write 18 fps"),
        ((*REEL, "--speed", "18", "--format", "html"), "--format"),
    ],
)
def test_the_program_ends_with_2_and_one_clear_message(
    arguments: tuple[str, ...], message: str
) -> None:
    done = program(*arguments)

    assert (2, "") == (done.returncode, done.stdout)
    assert message in done.stderr
    assert "Traceback" not in done.stderr
