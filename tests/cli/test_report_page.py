"""``retime report`` as the whole program: where its table, its JSON and its page go."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING

import pytest
from running import contents, unfinished

if TYPE_CHECKING:
    from pathlib import Path

    from running import Program

pytest_plugins = ["at_the_desk"]


def test_a_page_is_written_into_the_file_that_is_named(work: Path, retime: Program) -> None:
    ran = retime("report", work / "lamp.yaml", "--format", "html", "-o", work / "lamp.html")

    assert 0 == ran.code, ran.said
    assert "" == ran.out
    assert "lamp.html: written" in ran.said
    assert (work / "lamp.html").read_text(encoding="utf-8").startswith("<!DOCTYPE html>")
    assert [] == unfinished(work)


def test_a_page_goes_to_standard_output_where_no_file_is_named(work: Path, retime: Program) -> None:
    ran = retime("report", work / "lamp.yaml", "--format", "html")

    assert 0 == ran.code, ran.said
    assert ran.out.startswith("<!DOCTYPE html>")
    assert ran.out.endswith("</html>\n")


def test_json_and_table_go_into_a_file_as_well(work: Path, retime: Program) -> None:
    printed = retime("report", work / "lamp.yaml", "--format", "json")
    retime("report", work / "lamp.yaml", "--format", "json", "-o", work / "lamp.json")
    retime("report", work / "lamp.yaml", "-o", work / "lamp.txt")

    assert printed.out == (work / "lamp.json").read_text(encoding="utf-8")
    assert "retime-report/1" == json.loads(printed.out)["format"]
    assert "side by side" in (work / "lamp.txt").read_text(encoding="utf-8")


def test_what_exists_is_overwritten_only_by_force(work: Path, retime: Program) -> None:
    page = work / "lamp.html"
    page.write_text("mine")
    refused = retime("report", work / "lamp.yaml", "--format", "html", "-o", page)

    assert 2 == refused.code
    assert "exists already; use --force to overwrite it" in refused.said
    assert "mine" == page.read_text()
    assert 0 == retime("report", work / "lamp.yaml", "--format", "html", "-o", page, "--force").code
    assert "mine" != page.read_text(encoding="utf-8")


@pytest.mark.parametrize("name", ["lamp.yaml", "lamp.mkv", "out", "nowhere/lamp.html"])
def test_an_input_a_folder_and_a_place_that_is_not_there_are_refused(
    name: str, work: Path, retime: Program
) -> None:
    before = contents(work)
    ran = retime("report", work / "lamp.yaml", "--format", "html", "-o", work / name, "--force")

    assert 2 == ran.code
    assert str(work / name) in ran.said
    assert before == contents(work)
