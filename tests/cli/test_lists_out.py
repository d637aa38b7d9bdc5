"""``retime lists``: deliverables as lists, under names of their own, over nothing unasked."""

from __future__ import annotations

import csv
import io
import sys
from typing import TYPE_CHECKING

import pytest
from running import LAMP, contents, unfinished

if TYPE_CHECKING:
    from pathlib import Path

    from running import Program

pytest_plugins = ["at_the_desk"]

NAMES = {
    "edl": "Lamp-viewing-reel-001.edl",
    "edl-runs": "Lamp-viewing-reel-001-runs.edl",
    "otio": "Lamp-viewing.otio",
    "csv": "Lamp-viewing.csv",
}


def needed(form: str) -> None:
    """Skip what needs OpenTimelineIO where it is not there."""
    if form == "otio":
        pytest.importorskip("opentimelineio", reason="OpenTimelineIO has no wheel here")


@pytest.mark.parametrize("form", NAMES)
def test_a_list_is_written_and_is_overwritten_only_when_asked(
    form: str, work: Path, retime: Program
) -> None:
    needed(form)
    asked = ("lists", work / "lamp.yaml", "-o", work / "out", "--as", form)
    final = work / "out" / NAMES[form]
    first = retime(*asked)
    made = contents(work)
    second, third = retime(*asked), retime(*asked, "--force")

    assert (0, f"{final}\n", "") == (first.code, first.out, first.err)
    assert (2, f"{final}: exists already; use --force to overwrite it\n") == (
        second.code,
        second.err,
    )
    assert (0, f"{final}\n") == (third.code, third.out)
    assert made == contents(work)
    assert [] == unfinished(work / "out")


@pytest.mark.parametrize("form", NAMES)
def test_what_is_written_comes_back_as_the_maps_shots(
    form: str, work: Path, retime: Program
) -> None:
    needed(form)
    retime("lists", work / "lamp.yaml", "-o", work / "out", "--as", form)
    ran = retime("--quiet", "shots", work / "out" / NAMES[form], "--rate", "24", "--map",
                 work / "lamp.yaml")  # fmt: skip

    rows = "1,0,11,1,action,\n1,12,23,2,title,\n"
    assert (0, f"reel,first,last,shot,kind,name\n{rows}") == (ran.code, ran.out)


def test_an_edl_reads_as_the_trade_expects_it(work: Path, retime: Program) -> None:
    """12 film frames at 18 in 24 are 16 output frames."""
    retime("lists", work / "lamp.yaml", "-o", work / "out")
    lines = (work / "out" / NAMES["edl"]).read_text().splitlines()

    assert ["TITLE: Lamp viewing reel 1", "FCM: NON-DROP FRAME"] == lines[:2]
    assert "001  001      V     C         00:00:00:00 00:00:00:12 00:00:00:00 00:00:00:16" in lines
    assert "M2   001          018.0                00:00:00:12" in lines
    assert "* KIND: TITLE" in lines


def test_a_table_has_a_row_a_stretch_and_exact_fractions(work: Path, retime: Program) -> None:
    (work / "lamp.yaml").write_text(LAMP.replace("18 fps", "200/11"))
    retime("lists", work / "lamp.yaml", "-o", work / "out", "--as", "csv")
    rows = list(csv.DictReader(io.StringIO((work / "out" / NAMES["csv"]).read_text())))

    assert [("200/11", "25/33")] * 2 == [(row["speed"], row["per_output"]) for row in rows]
    assert ["0", "16"] == [row["output_first"] for row in rows]


def test_what_m2_cannot_say_is_told_on_the_terminal_too(work: Path, retime: Program) -> None:
    (work / "lamp.yaml").write_text(LAMP.replace("18 fps", "200/11"))
    ran = retime("lists", work / "lamp.yaml", "-o", work / "out")
    quiet = retime("--quiet", "lists", work / "lamp.yaml", "-o", work / "out", "--force")

    assert 0 == ran.code
    assert f"{NAMES['edl']}: 200/11 in 24, said as 18.2: 2 events, off by at most" in ran.err
    assert (0, "") == (quiet.code, quiet.err)


def test_the_folder_is_made_in_one_that_has_to_be_there(work: Path, retime: Program) -> None:
    missing = retime("lists", work / "lamp.yaml", "-o", work / "none" / "x")
    file = retime("lists", work / "lamp.yaml", "-o", work / "lamp.yaml")

    assert (2, f"{work / 'none'}: is not there; make that folder first\n") == (
        missing.code,
        missing.err,
    )
    assert (2, f"{work / 'lamp.yaml'}: is a file, not a folder; name a folder\n") == (
        file.code,
        file.err,
    )


@pytest.mark.parametrize(
    ("more", "form", "words"),
    [
        ("\n    method: blend", "edl-runs", "viewing is a blend"),
        ("", "edl-cuts", "edl-cuts"),
    ],
)
def test_what_cannot_be_listed_is_refused(
    more: str, form: str, words: str, work: Path, retime: Program
) -> None:
    text = LAMP.replace("gauge: 35mm", "gauge: 35mm\ntransfer: bt1886")
    (work / "lamp.yaml").write_text(text.replace("rate: 24", f"rate: 24{more}"))
    ran = retime("lists", work / "lamp.yaml", "-o", work / "out", "--as", form)

    assert 2 == ran.code
    assert words in ran.err
    assert [] == list((work / "out").iterdir())
    assert "Traceback" not in ran.said


def test_a_deliverable_that_is_not_there_is_refused(work: Path, retime: Program) -> None:
    ran = retime("lists", work / "lamp.yaml", "viewin", "-o", work / "out")

    assert 2 == ran.code
    assert "the map has no deliverable 'viewin'" in ran.err


def test_without_opentimelineio_it_is_said_what_to_install(
    work: Path, retime: Program, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setitem(sys.modules, "opentimelineio", None)
    ran = retime("lists", work / "lamp.yaml", "-o", work / "out", "--as", "otio")

    assert 2 == ran.code
    assert "OpenTimelineIO is not installed; install it with pip install 'retime[otio]'" in ran.err
    assert [] == list((work / "out").iterdir())
