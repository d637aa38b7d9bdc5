"""The schema of an evidence file is one, and marks in an editor what the reader would refuse."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
import yaml
from jsonschema import Draft202012Validator

from retime.cli.schema import schema
from retime.evidence.document import SECTION_OF
from retime.evidence.model import Kind
from retime.evidence.schema import evidence_schema

DEMO = Path(__file__).resolve().parents[2] / "demo_media" / "evidence.yaml"


def faults(source: str, loader: type[yaml.SafeLoader] = yaml.SafeLoader) -> list[str]:
    plain = json.loads(json.dumps(yaml.load(source, Loader=loader)))  # noqa: S506 - both are safe
    return [error.message for error in Draft202012Validator(evidence_schema()).iter_errors(plain)]


def test_the_schema_is_one_by_its_own_standard() -> None:
    Draft202012Validator.check_schema(evidence_schema())


@pytest.mark.parametrize("loader", [yaml.SafeLoader, yaml.BaseLoader])
def test_the_demos_evidence_is_accepted_whatever_an_editor_takes_its_texts_for(
    loader: type[yaml.SafeLoader],
) -> None:
    """YAML 1.1 turns ``12:32`` and ``0.6`` into numbers; a base loader keeps text."""
    assert [] == faults(DEMO.read_text(encoding="utf-8"), loader)


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("film: The", "flim: The"),
        ("footage: nominal", "footage: normal"),
        ("candidates: [", "candidates: []\nlink2: ["),
        ("kind: programme", "kind: programm"),
        ("kind: programme", "kind: flicker"),
        ("trust: 0.6", "trust: 1.6"),
        ("trust: 0.6", "trust: -0.6"),
        ("    blades: 3\n", ""),
        ("    exposed: 1450 ft\n", ""),
        ("overture: 6 min", "overtime: 6 min"),
        ("{18 fps: 1, 20 fps: 6, 22 fps: 4, 24 fps: 1}", "{}"),
        ("votes: {18 fps: 1, 20 fps: 6, 22 fps: 4, 24 fps: 1}", "shares: {}"),
        ("votes: {18 fps: 1, 20 fps: 6, 22 fps: 4, 24 fps: 1}", "shares: {20 fps: [100 %]}"),
        ("    within: 1 fps ", "    screen: [60 Hz]\n    within: 1 fps "),
        ("  - id: cue-sheet\n", "  - speeds: 82\n    id: cue-sheet\n"),
        ("words: 14", "words: 0"),
        ("absent: 1/6", "absent: [[1/6]]"),
    ],
)
def test_an_editor_marks_what_the_reader_would_refuse(old: str, new: str) -> None:
    source = DEMO.read_text(encoding="utf-8")
    assert old in source

    assert faults(source.replace(old, new, 1))


@pytest.mark.parametrize("screen", ["59.94 Hz", "60"])
def test_an_editor_takes_shares_and_a_screen_as_the_reader_does(screen: str) -> None:
    source = DEMO.read_text(encoding="utf-8")
    votes = "votes: {18 fps: 1, 20 fps: 6, 22 fps: 4, 24 fps: 1}"
    shares = f"shares: {{18 fps: 0 %, 20 fps: 92.5 %, 22 fps: 7.5 %}}\n    screen: {screen}"
    assert votes in source

    assert [] == faults(source.replace(votes, shares))


def test_every_kind_has_a_shape_that_names_it() -> None:
    named = {
        kind: section.model_json_schema()["properties"]["kind"]["const"]
        for kind, section in SECTION_OF.items()
    }

    assert {kind: kind.value for kind in Kind} == named


def test_the_command_prints_the_schema_of_evidence(capsys: pytest.CaptureFixture[str]) -> None:
    schema("evidence")

    assert evidence_schema() == json.loads(capsys.readouterr().out)
