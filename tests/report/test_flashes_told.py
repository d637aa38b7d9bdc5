"""What the flash check finds, as a table, as JSON and as a chart."""

from __future__ import annotations

import io
import json
import re
import xml.etree.ElementTree as ET
from fractions import Fraction
from typing import TYPE_CHECKING, Any

import jsonschema
import pytest
from flickering import WHITE, coloured, dark_frames, metered
from msgspec.structs import replace
from rich.console import Console

from retime.report.flash_chart import flash_chart
from retime.report.flash_schema import flash_schema
from retime.report.flash_values import flash_values
from retime.report.flashes import flash_tables

if TYPE_CHECKING:
    from retime.check.flashes import FlashReport


@pytest.fixture(scope="module")
def reports() -> tuple[FlashReport, ...]:
    """Give a film of 3 s at two speeds: black on alternate frames of its second second at 24."""
    film = [*[WHITE] * 24, *dark_frames(2, 24), *[WHITE] * 24]
    fast = replace(metered(film, 24), name="brisk-24", version="brisk")
    slow = replace(metered(film, Fraction(5)), name="slow-5", version="slow")
    return fast, slow


def printed(reports: tuple[FlashReport, ...]) -> str:
    to = io.StringIO()
    Console(file=to, width=140, color_system=None, highlight=False).print(flash_tables(reports))
    return to.getvalue()


def values(reports: tuple[FlashReport, ...]) -> dict[str, Any]:
    return json.loads(json.dumps(flash_values(reports, None)))  # type: ignore[no-any-return]


def test_the_table_tells_every_question_and_where_a_film_fails(
    reports: tuple[FlashReport, ...],
) -> None:
    told = printed(reports)

    row = next(line for line in told.splitlines() if "general flashes, WCAG 2.2" in line)
    assert re.search(r"fails +12 +100 % of a field +0:00:01\.000", row)
    assert "too many flashes" in told
    assert re.search(r"0:00:01\.000 +0:00:01\.958 +12 +100 % of the picture", told)
    assert "red flashes, Rec. ITU-R BT.1702-3" in told


def test_versions_stand_side_by_side(reports: tuple[FlashReport, ...]) -> None:
    beside = printed(reports).split("side by side")[1]

    assert re.search(r"brisk-24 +brisk +24 +12 fails +0 passes +12 fails +0 passes", beside)
    # At five frames a second 24 alternations are 2.5 flashes a second.
    assert re.search(r"slow-5 +slow +5 +2\.5 passes +0 passes +2\.5 passes", beside)
    assert "side by side" not in printed(reports[:1])


def test_every_way_of_telling_has_the_cautions(reports: tuple[FlashReport, ...]) -> None:
    words = " ".join(printed(reports[1:]).split())
    told = " ".join(values(reports)["cautions"])
    for said in (words, told):
        assert "no certificate of safety" in said
        assert "Broadcasters and local rules decide" in said
        assert "photosensitive epilepsy" in said
        assert "Do not play a failing stretch" in said
    assert "screen of 1024 x 768" in words
    assert "200 cd/m2" in words
    assert "no certificate" in flash_chart(reports)


def test_the_values_are_valid_by_their_schema(reports: tuple[FlashReport, ...]) -> None:
    jsonschema.validate(values(reports), flash_schema())


def test_the_schema_refuses_values_that_lack_something(reports: tuple[FlashReport, ...]) -> None:
    told = values(reports)
    del told["checked"][0]["answers"][1]["passes"]

    with pytest.raises(jsonschema.ValidationError, match="passes"):
        jsonschema.validate(told, flash_schema())


def test_the_values_are_exact(reports: tuple[FlashReport, ...]) -> None:
    told = values(reports)
    fast, slow = told["checked"]
    general = fast["answers"][0]

    assert ("retime-flashes/1", False) == (told["format"], told["passes"])
    assert (False, True) == (fast["passes"], slow["passes"])
    assert {"seconds": "47/24", "text": "0:00:01.958"} == general["failing"][0]["stop"]
    assert {"seconds": "1", "text": "0:00:01.000"} == general["worst"]["start"]
    assert [0, 12, 0] == general["per_second"]
    assert ("wcag", "srgb", "field") == (
        general["standard"][:4].lower(),
        general["transfer"],
        general["area_of"],
    )
    assert "9/25" == fast["edges_apart"]


def test_the_chart_draws_each_second_the_limit_and_the_worst(
    reports: tuple[FlashReport, ...],
) -> None:
    chart = flash_chart(reports)
    words = [text.text for text in ET.fromstring(chart).iter("{http://www.w3.org/2000/svg}text")]  # noqa: S314 - our own

    assert "the limit, 3" in words
    assert "brisk-24, version brisk, 24 fps: fails" in words
    assert "slow-5, version slow, 5 fps: passes" in words
    marked = [word for word in words if word and "12 at 0:00:01.000" in word]
    assert 1 == len(marked)
    assert "general flashes" in marked[0]


def test_the_same_findings_give_the_same_chart(reports: tuple[FlashReport, ...]) -> None:
    assert flash_chart(reports) == flash_chart(reports)


def test_names_are_told_as_they_are_and_never_as_markup() -> None:
    film = [WHITE, coloured(255, 0, 0)] * 12
    report = replace(metered(film, 24), name="[bold]$x_1$ & <b>.mkv")

    assert "[bold]$x_1$ & <b>.mkv" in printed((report,))
    drawn = ET.fromstring(flash_chart((report,)))  # noqa: S314 - our own
    words = [text.text or "" for text in drawn.iter("{http://www.w3.org/2000/svg}text")]
    assert any(word.startswith("[bold]$x_1$ & <b>.mkv, 24 fps") for word in words)
