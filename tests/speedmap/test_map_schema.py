from __future__ import annotations

import json

import pytest
import yaml
from jsonschema import Draft202012Validator

from retime.cli.schema import schema
from retime.errors import CommandError
from retime.speedmap.schema import map_schema

pytest_plugins = ["lamp_map"]


def test_the_schema_is_one_by_its_own_standard() -> None:
    Draft202012Validator.check_schema(map_schema())


@pytest.mark.parametrize("loader", [yaml.SafeLoader, yaml.BaseLoader])
def test_a_sound_map_is_accepted_whatever_an_editor_takes_its_texts_for(
    lamp: str, loader: type[yaml.SafeLoader]
) -> None:
    """YAML 1.1 turns ``no`` and ``0:06`` into a switch and a number; a base loader keeps text."""
    plain = json.loads(json.dumps(yaml.load(lamp, Loader=loader)))  # noqa: S506 - both are safe

    assert list(Draft202012Validator(map_schema()).iter_errors(plain)) == []
    assert (
        list(Draft202012Validator(map_schema()).iter_errors({**plain, "shots": "shots.csv"})) == []
    )


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("film: The", "flim: The"),
        ("footage: nominal", "footage: normal"),
        ("footage: nominal", "footage:"),
        ("first: 24\n", "first: -24\n"),
        ("speed: 24 fps", "speed: 0"),
        ("speed: 24 fps", "speed: [24]"),
        ("phase: per-shot", "phase: per-reel"),
        ("shot: 13}", "shot: 13, speed: 20}"),
        ("at least: 4 s", "at-least: 4 s"),
        ("at most: 0:06", "at-most: 0:06"),
    ],
)
def test_an_editor_marks_what_the_reader_would_refuse(old: str, new: str, lamp: str) -> None:
    assert old in lamp
    plain = json.loads(json.dumps(yaml.safe_load(lamp.replace(old, new, 1))))

    assert list(Draft202012Validator(map_schema()).iter_errors(plain))


def test_the_command_prints_the_schema_of_the_map(capsys: pytest.CaptureFixture[str]) -> None:
    schema("map")

    assert map_schema() == json.loads(capsys.readouterr().out)


def test_the_command_names_the_formats_there_are() -> None:
    with pytest.raises(CommandError, match='no format "mop"; known are map'):
        schema("mop")
