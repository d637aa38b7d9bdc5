"""The JSON report has the shape that its schema promises."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import jsonschema
import pytest
import yaml

from retime.edition.join import join
from retime.profile.schema import profile_schema
from retime.profile.shelf import shipped_folder
from retime.report.schema import report_schema
from retime.report.values import report_values

DEMO = Path(__file__).parents[2] / "demo_media" / "tidewatcher.yaml"


@pytest.fixture(scope="module")
def values() -> dict[str, Any]:
    return json.loads(json.dumps(report_values(join(DEMO))))  # type: ignore[no-any-return]


def test_the_demo_report_is_valid_by_its_schema(values: dict[str, Any]) -> None:
    jsonschema.validate(values, report_schema())


def test_the_schema_refuses_a_report_that_lacks_something(values: dict[str, Any]) -> None:
    del values["deliverables"][0]["drift"]["end_ms"]

    with pytest.raises(jsonschema.ValidationError, match="end_ms"):
        jsonschema.validate(values, report_schema())


def test_a_report_has_the_keys_that_the_format_promises(values: dict[str, Any]) -> None:
    deliverable = values["deliverables"][0]

    assert values["format"] == "retime-report/1"
    assert deliverable["name"] == "restrained-24"
    assert deliverable["conform_at"] == "24"
    assert deliverable["run_change"] == "1"
    reels = deliverable["reels"]
    assert reels[0]["output_first"] == 0
    assert reels[-1]["output_last"] == deliverable["output_frames"] - 1
    shown = deliverable["source_frames"] - deliverable["dropped"]
    assert deliverable["output_frames"] == shown + deliverable["repeated"] + deliverable["held"]


@pytest.mark.parametrize("path", sorted(shipped_folder().glob("*.yaml")), ids=lambda one: one.stem)
def test_every_shipped_profile_is_valid_by_the_profile_schema(path: Path) -> None:
    jsonschema.validate(yaml.safe_load(path.read_text(encoding="utf-8")), profile_schema())
