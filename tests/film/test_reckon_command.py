from __future__ import annotations

import json
from typing import Any

import pytest
import typer
from typer.testing import CliRunner

from retime.cli.reckon import reckon
from retime.errors import Exit, InputError

app = typer.Typer(pretty_exceptions_enable=False, rich_markup_mode=None)
app.command()(reckon)


def told(*arguments: str) -> str:
    result = CliRunner().invoke(app, list(arguments), catch_exceptions=False)

    assert 0 == result.exit_code
    assert not result.stderr
    return result.stdout


def values(*arguments: str) -> list[dict[str, Any]]:
    read: list[dict[str, Any]] = json.loads(told(*arguments, "--format", "json"))
    return read


def refused(*arguments: str) -> str:
    result = CliRunner().invoke(app, list(arguments))

    assert isinstance(result.exception, InputError)
    assert Exit.INPUT == result.exception.exit_code
    assert not result.stdout
    return str(result.exception)


@pytest.mark.parametrize(
    "arguments",
    [
        ("--length", "1000 ft", "--speed", "75 ft/min", "--gauge", "35mm"),
        ("--length", "1000+00", "--runtime", "13:20", "--gauge", "35"),
        ("--length", "400 ft", "--speed", "20 fps", "--gauge", "16 mm"),
        ("--speed", "20", "--runtime", "800 s"),
        ("--length", "16000 frames", "--runtime", "0:13:20"),
    ],
)
def test_two_of_the_three_tell_all_three(arguments: tuple[str, ...]) -> None:
    (answer,) = values(*arguments)

    assert ("16000", "20", "800") == (answer["frames"], answer["fps"], answer["seconds"])
    assert "0:13:20.000" == answer["text"]


# James Card, "Silent Film Speed" (1955), for 16 and 24 fps; the others are arithmetic.
def test_a_length_over_several_speeds_is_a_table_of_runtimes() -> None:
    length = ("--length", "1000 ft", "--gauge", "35mm", "--speeds", "16,18,20,22,24")

    assert ["0:16:40.000", "0:14:48.889", "0:13:20.000", "0:12:07.273", "0:11:06.667"] == [
        answer["text"] for answer in values(*length)
    ]
    rows = told(*length).splitlines()
    for speed, time in (("16 fps", "0:16:40.000"), ("24 fps", "0:11:06.667")):
        assert any(speed in row and time in row for row in rows)


def test_a_runtime_over_several_speeds_is_a_table_of_lengths() -> None:
    runtime = ("--runtime", "100 min", "--gauge", "35mm", "--speeds", "16, 60 ft/min, 24")

    assert ["96000", "96000", "144000"] == [answer["frames"] for answer in values(*runtime)]
    rows = told(*runtime).splitlines()
    assert any("24 fps" in row and "9000+00" in row for row in rows)


def test_it_says_which_frames_per_foot_it_took_and_what_the_other_convention_gives() -> None:
    asked = ("--length", "1000 ft", "--gauge", "35mm", "--speed", "16")

    (answer,) = values(*asked)

    assert ("16", "nominal") == (answer["frames_per_foot"], answer["footage"])
    assert "0:16:42.632" == answer["by_pitch"]["text"]
    text = told(*asked)
    assert "16 frames to the foot were taken (nominal); pitch would be 16.0421" in text
    assert "0:16:42.632" in text


def test_by_pitch_the_other_convention_is_the_nominal_one() -> None:
    asked = ("--length", "2736 m", "--gauge", "35mm", "--speed", "24", "--footage", "pitch")

    (answer,) = values(*asked)

    assert ("1:40:00.000", "1:39:44.252") == (answer["text"], answer["by_nominal"]["text"])
    assert "by nominal" in told(*asked)


def test_where_nothing_is_measured_in_length_no_convention_is_told() -> None:
    asked = ("--speed", "20", "--runtime", "13:20")

    (answer,) = values(*asked)

    assert {"frames", "fps", "seconds", "text"} == set(answer)
    assert "foot" not in told(*asked)


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        ((), "two of length, speed and runtime give the third; give exactly two of them"),
        (("--length", "1000 ft"), "two of length, speed and runtime"),
        (
            ("--length", "9 ft", "--speed", "18", "--runtime", "1:00"),
            "two of length, speed and runtime",
        ),
        (("--length", "9 ft", "--speed", "18"), "'9 ft' needs to know the gauge; say --gauge 35mm"),
        (
            ("--runtime", "1:00", "--speed", "75 ft/min"),
            "'75 ft/min' needs to know the gauge; say --gauge 35mm",
        ),
        (
            ("--length", "300 m", "--speed", "18", "--gauge", "35mm"),
            "metres need to know by which convention they turn into frames; say --footage pitch",
        ),
        (("--length", "9 yards", "--speed", "18"), "--length: '9 yards' is no length; write"),
        (("--length", "0+00", "--speed", "18"), "--length: '0+00' is not above 0; write"),
        (("--length", "9 ft", "--speed", "18,5"), "--speed: '18,5' is no speed; write 18 fps"),
        (("--length", "9 ft", "--speed", ""), "--speed: '' is no speed; write 18 fps"),
        (("--length", "9 ft", "--speeds", "16,,20"), "--speeds: '' is no speed; write 18 fps"),
        (("--length", "9 ft", "--runtime", "97"), "--runtime: '97' is no time; write h:mm:ss"),
        (
            ("--length", "9 ft", "--speed", "18", "--gauge", "17.5mm"),
            "--gauge: 17.5mm has no single frame pitch: many incompatible formats used it",
        ),
        (
            ("--length", "9 ft", "--speed", "18", "--gauge", "36mm"),
            "--gauge: the gauge '36mm' is not known; write one of 35mm",
        ),
        (
            ("--length", "9 ft", "--speed", "18", "--speeds", "16,18"),
            "--speed and --speeds say the same thing; give one of them",
        ),
        (
            ("--length", "39+16", "--speed", "18", "--gauge", "35mm"),
            "'39+16' has 16 frames beyond whole feet; that foot of 35mm holds 16",
        ),
    ],
)
def test_a_command_line_at_fault_is_told_with_what_would_be_right(
    arguments: tuple[str, ...], message: str
) -> None:
    assert refused(*arguments).startswith(message)


@pytest.mark.parametrize("option", [("--footage", "normal"), ("--format", "html"), ("--reel", "1")])
def test_an_unknown_choice_or_option_is_a_usage_error(option: tuple[str, str]) -> None:
    result = CliRunner().invoke(app, ["--length", "9 ft", "--speed", "18", *option])

    assert Exit.INPUT == result.exit_code
    assert option[0] in result.stderr or option[1] in result.stderr
    assert not result.stdout
