"""``retime-weighing/1``: the shape that its schema promises, exact where it was read."""

from __future__ import annotations

import json
from fractions import Fraction
from math import exp, log
from typing import TYPE_CHECKING, Any

import jsonschema
import numpy as np
import pytest
from weighings import FRAMES, everything, evidence, instruction, runtime, speed_item, weighed

from retime.evidence.quantity import within
from retime.report.weighing_schema import weighing_schema
from retime.report.weighing_values import weighing_values

if TYPE_CHECKING:
    from retime.evidence.model import Evidence


def values_of(told: Evidence) -> dict[str, Any]:
    """Return the values as they come back from JSON."""
    written = json.dumps(weighing_values(told, weighed(told)), allow_nan=False)
    return json.loads(written)  # type: ignore[no-any-return]


@pytest.fixture(scope="module")
def values() -> dict[str, Any]:
    return values_of(everything())


def test_a_weighing_is_valid_by_its_schema(values: dict[str, Any]) -> None:
    jsonschema.Draft202012Validator.check_schema(weighing_schema())
    jsonschema.validate(values, weighing_schema())


def test_a_weighing_of_one_candidate_and_one_item_is_valid_too() -> None:
    values = values_of(evidence(instruction(), candidates=(20,)))

    jsonschema.validate(values, weighing_schema())
    assert values["answers"][0]["factor"] is None
    assert values["text"] is None


@pytest.mark.parametrize(
    "path",
    [
        ("text",),
        ("answers", 0, "curve", 0, "density"),
        ("answers", 1, "ranges", "50"),
        ("items", 0, "says", 0, "should_say", 0, "fits"),
        ("items", 3, "score", "sections", 0, "apart"),
    ],
    ids=str,
)
def test_the_schema_refuses_a_weighing_that_lacks_something(path: tuple[str | int, ...]) -> None:
    values: Any = values_of(everything())
    inner = values
    for step in path[:-1]:
        inner = inner[step]
    del inner[path[-1]]

    with pytest.raises(jsonschema.ValidationError, match=str(path[-1])):
        jsonschema.validate(values, weighing_schema())


def test_the_curve_has_a_point_every_tenth_of_a_frame_and_holds_all_support(
    values: dict[str, Any],
) -> None:
    for answer in values["answers"]:
        speeds = [point["speed"] for point in answer["curve"]]
        density = [point["density"] for point in answer["curve"]]

        assert [round(12 + place / 10, 1) for place in range(181)] == speeds
        assert 1 == pytest.approx(np.trapezoid(density, speeds), rel=0.02)


def test_what_was_read_is_exact(values: dict[str, Any]) -> None:
    letter = next(one for one in values["items"] if one["id"] == "letter")
    (says,) = letter["says"]

    # 80 ft/min within 4 are 64/3 fps, from 304/15 to 112/5; at 18 fps it would be 67.5 ft/min.
    assert ("64/3", "304/15", "112/5") == tuple(
        says["speed"][key] for key in ("value", "low", "high")
    )
    assert {"speed": "18", "figure": "135/2", "text": "67.5 ft/min", "fits": False} == says[
        "should_say"
    ][0]
    assert "ft/min" == says["measure"]
    assert str(FRAMES) == values["length"]["value"]


def test_support_is_what_the_normal_distribution_of_the_logarithm_gives() -> None:
    values = values_of(evidence(instruction(), candidates=(20, 24)))
    (answer,) = values["answers"]
    u = 1 / 20 / 3**0.5  # 4 in 80 ft/min, a rectangle
    expected = {fps: exp(-(log(fps / (64 / 3)) ** 2) / (2 * u**2)) for fps in (20, 24)}

    for one in answer["candidates"]:
        assert expected[int(one["speed"])] == pytest.approx(one["support"], rel=1e-3)
    (pair,) = answer["pairs"]
    assert expected[20] / expected[24] == pytest.approx(pair["factor"], rel=1e-9)


def test_a_candidate_beyond_the_span_that_is_weighed_has_no_more_than_all_support() -> None:
    told = evidence(speed_item("letter", within(Fraction(10), Fraction(1))), candidates=(10, 40))
    values = values_of(told)
    (answer,) = values["answers"]

    jsonschema.validate(values, weighing_schema())
    assert [1, 0] == pytest.approx([one["support"] for one in answer["candidates"]], abs=1e-9)


def test_what_is_told_of_conflicts_is_exact_and_in_words(values: dict[str, Any]) -> None:
    found = {(one["slower"], one["faster"]): one for one in values["conflicts"]}
    one = found["notice", "memoir"]

    assert ("64/3", "80/3") == (one["below"], one["above"])
    assert "5.3 fps apart" in one["text"]
    assert "memoir" == values["suspect"]


def test_sections_that_stick_out_are_told_in_frames(values: dict[str, Any]) -> None:
    score = next(one for one in values["items"] if one["id"] == "score")["score"]
    third = score["sections"][2]

    assert "missing" == third["standing"]
    assert Fraction(4_800) == pytest.approx(float(Fraction(third["apart"]["value"])), rel=1e-6)
    assert score["runs"] is None


def test_a_figure_of_more_than_a_hundred_digits_says_that_it_is_rounded() -> None:
    lasts = runtime("notice", 80, 4)
    values = values_of(evidence(lasts, candidates=(Fraction(10**60 + 1, 10**59 - 1),)))
    (says,) = values["items"][0]["says"]

    assert "exact" not in says["speed"]
    assert says["should_say"][0]["exact"] is False
