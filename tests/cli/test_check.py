"""``retime check`` as its users run it: formats, fingerprints, and what is no deliverable."""

from __future__ import annotations

import json
import shutil
from pathlib import Path
from typing import TYPE_CHECKING
from xml.etree import ElementTree as ET

import jsonschema
import pytest
import yaml
from numbered import write_scan
from running import program

from retime.report.check_schema import check_schema

if TYPE_CHECKING:
    from running import Program

pytest_plugins = ["at_the_desk"]
pytestmark = pytest.mark.usefixtures("the_systems_program")

MAP = """\
format: retime-map/1
film: Numbers
gauge: 35mm
reels: [{reel: 1, scan: scan.mkv}]
versions: {v: {speed: 20 fps}}
deliverables:
  exact: {version: v, profile: ffv1-master, rate: 24}
  viewing: {version: v, profile: h264-viewing, rate: 25}
"""


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Give a folder with a map, its scan, and what was made of both."""
    folder = tmp_path_factory.mktemp("checked")
    write_scan(folder / "scan.mkv", 40, pix_fmt="yuv420p")
    (folder / "map.yaml").write_text(MAP)
    (folder / "out").mkdir()
    ran = program("render", folder / "map.yaml", "-o", folder / "out")
    assert 0 == ran.code, ran.said
    return folder


@pytest.fixture
def copy(made: Path, tmp_path: Path) -> Path:
    """Give a copy of it to spoil."""
    return Path(shutil.copytree(made, tmp_path / "copy"))


def swap(folder: Path) -> None:
    """Put the viewing copy's place under another file."""
    (folder / "out" / "Numbers-viewing.mp4").write_bytes(b"no film")


def test_a_correct_edition_has_nothing_to_be_found(made: Path, retime: Program) -> None:
    ran = retime("check", made / "map.yaml", "-o", made / "out")

    assert 0 == ran.code, ran.said
    assert "nothing was found" in ran.out


def test_json_is_of_its_schema(copy: Path, retime: Program) -> None:
    swap(copy)
    ran = retime("check", copy / "map.yaml", "-o", copy / "out", "--format", "json")

    told = json.loads(ran.out)
    jsonschema.validate(told, check_schema())
    assert 1 == ran.code
    assert [[], ["damaged"]] == [
        [found["rule"] for found in one["findings"]] for one in told["deliverables"]
    ]


def test_junit_has_a_case_a_deliverable(copy: Path, retime: Program) -> None:
    swap(copy)
    ran = retime("check", copy / "map.yaml", "-o", copy / "out", "--format", "junit")

    suite = ET.fromstring(ran.out).find("testsuite")  # noqa: S314 - our own words
    assert suite is not None
    cases = {case.get("name"): case.find("failure") is not None for case in suite}
    assert {"exact": False, "viewing": True} == cases
    assert ("2", "1") == (suite.get("tests"), suite.get("failures"))


def test_an_annotation_is_one_line_whatever_is_in_it(copy: Path, retime: Program) -> None:
    swap(copy)
    ran = retime("check", copy / "map.yaml", "-o", copy / "out", "--format", "annotations")

    (line,) = ran.out.splitlines()
    assert line.startswith("::error file=")
    assert ",title=damaged::" in line


def test_a_file_that_is_not_there_is_told(copy: Path, retime: Program) -> None:
    (copy / "out" / "Numbers-exact.mkv").unlink()
    ran = retime("check", copy / "map.yaml", "exact", "-o", copy / "out")

    assert 1 == ran.code
    assert "there is no such file; render it first" in ran.out


def test_another_film_is_told_once(copy: Path, retime: Program) -> None:
    write_scan(copy / "scan.mkv", range(0xA5A5A5, 0xA5A5A5 + 40), pix_fmt="yuv420p")
    ran = retime("check", copy / "map.yaml", "-o", copy / "out")

    assert 1 == ran.code
    assert 2 == ran.out.count("hardly any picture in it is one of this film's")


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        ([], "-o is missing"),
        (["-o", "nowhere"], "is no folder"),
        (["-o", "out", "--chart", "c.svg"], "--chart is for flashes"),
        (["--flashes", "-o", "out"], "-o is not for --flashes"),
        (["-o", "out", "--against", "map.yaml"], "unknown key"),
        (["nothing", "-o", "out"], "the map has no deliverable 'nothing'"),
        (["-o", "out", "--record", "map.yaml"], "is one of the inputs"),
    ],
)
def test_bad_input_ends_with_2_and_loses_nothing(
    arguments: list[str], words: str, copy: Path, retime: Program, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(copy)
    ran = retime("check", "map.yaml", *arguments)

    assert 2 == ran.code
    assert words in ran.said
    assert "Traceback" not in ran.said
    assert MAP == (copy / "map.yaml").read_text()


# Fingerprints


@pytest.fixture
def fingerprint(copy: Path, retime: Program) -> Path:
    """Give the fingerprint of what was made."""
    path = copy / "clips.yaml"
    ran = retime("check", copy / "map.yaml", "-o", copy / "out", "--record", path)
    assert 0 == ran.code, ran.said
    return path


def against(fingerprint: Path, retime: Program, *arguments: str) -> list[str]:
    """Return the rules of what differs."""
    folder = fingerprint.parent
    ran = retime(
        *("check", folder / "map.yaml", *arguments, "-o", folder / "out"),
        *("--against", fingerprint, "--format", "json"),
    )
    told = json.loads(ran.out)["deliverables"]
    return [found["rule"] for one in told for found in one["findings"]]


def test_what_has_not_changed_is_as_its_fingerprint(fingerprint: Path, retime: Program) -> None:
    assert [] == against(fingerprint, retime)


def test_a_fingerprint_is_not_overwritten_unasked(fingerprint: Path, retime: Program) -> None:
    kept, folder = fingerprint.read_text(), fingerprint.parent
    ran = retime("check", folder / "map.yaml", "-o", folder / "out", "--record", fingerprint)

    assert 2 == ran.code
    assert "exists already; use --force" in ran.said
    assert kept == fingerprint.read_text()


@pytest.mark.parametrize(
    ("changed", "rules"),
    [
        ("rate: 25}", {"plan", "timing"}),  # the same pictures in the same order, longer
        ("speed: 18 fps", {"plan", "timing"}),
        ("first: 20", {"plan", "order"}),  # what is left is not where it was
    ],
)
def test_what_changed_is_named(
    changed: str, rules: set[str], fingerprint: Path, retime: Program
) -> None:
    folder = fingerprint.parent
    before, after = {
        "rate: 25}": ("rate: 24}", changed),
        "speed: 18 fps": ("speed: 20 fps", changed),
        "first: 20": ("scan: scan.mkv", f"scan: scan.mkv, {changed}"),
    }[changed]
    (folder / "map.yaml").write_text(MAP.replace(before, after, 1))
    assert 0 == retime("render", folder / "map.yaml", "exact", "-o", folder / "out", "--force").code

    assert rules <= set(against(fingerprint, retime, "exact"))


def test_pictures_in_another_order_are_told_as_such(fingerprint: Path, retime: Program) -> None:
    document = yaml.safe_load(fingerprint.read_text())
    lines = document["deliverables"][0]["pictures"].splitlines()
    lines[3], lines[4] = lines[4], lines[3]
    document["deliverables"][0]["pictures"] = "\n".join(lines) + "\n"
    fingerprint.write_text(yaml.safe_dump(document, sort_keys=False, width=1000))

    assert ["order"] == against(fingerprint, retime, "exact")


def test_other_versions_of_libraries_are_a_warning(fingerprint: Path, retime: Program) -> None:
    fingerprint.write_text(fingerprint.read_text().replace("numpy: ", "numpy: 0."))
    folder = fingerprint.parent
    ran = retime(
        "check", folder / "map.yaml", "exact", "-o", folder / "out", "--against", fingerprint
    )

    assert 0 == ran.code
    assert "the fingerprint was made with numpy 0." in ran.err


def test_a_fingerprint_of_another_clip_says_so(fingerprint: Path, retime: Program) -> None:
    fingerprint.write_text(fingerprint.read_text().replace("name: exact", "name: other"))

    assert ["fingerprint"] == against(fingerprint, retime, "exact")


def test_a_spoilt_fingerprint_is_told_at_its_line(fingerprint: Path, retime: Program) -> None:
    text = fingerprint.read_text()
    at = text.index("pictures: |") + len("pictures: |\n")
    fingerprint.write_text(f"{text[:at]}    nonsense\n{text[at:]}")
    folder = fingerprint.parent
    ran = retime("check", folder / "map.yaml", "-o", folder / "out", "--against", fingerprint)

    assert 2 == ran.code
    assert "these are no pictures" in ran.said
    assert f"{fingerprint}:" in ran.said
