"""What was rendered past damage is held against its list, and damage without a list is found.

Where output frames are due is taken from ``retime frames``; the second reader is the ffmpeg
program, which leaves damaged frames out, or conceals what is damaged in them.
"""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Any
from xml.etree import ElementTree as ET

import jsonschema
import numpy as np
import pytest
from hurt import HELD, HURT, a_hurt_film, hurt_files, hurt_movie, runs_showing
from numbered import write_scan
from PIL import Image
from rendering import made, retime, write_map

from retime.check.damage import listing_of
from retime.edition.join import join
from retime.report.check_schema import check_schema

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from retime.edition.edition import Edition
    from retime.findings import Finding

OWED = """\
  exact: {version: v, profile: ffv1-master, rate: 24, head: {black: 0.2 s}}
  viewing: {version: v, profile: h264-viewing, rate: 25}
  woven: {version: v, profile: ffv1-master, rate: 25, scanning: top-first}"""
NAMES = {"exact": "mkv", "viewing": "mp4", "woven": "mkv"}


@pytest.fixture(params=["1.mkv", "r1/%04d.tif"])
def film(request: pytest.FixtureRequest, tmp_path: Path) -> Path:
    """Return a map of a scan of which some frames are damaged."""
    return a_hurt_film(tmp_path, str(request.param), OWED)


@pytest.fixture
def one(tmp_path: Path) -> Path:
    """Return a map of such a movie with one deliverable, which is rendered, frames being held."""
    film = a_hurt_film(tmp_path, "1.mkv", OWED.splitlines()[0])
    rendered(film)
    return film


@pytest.fixture(scope="module")
def listed(tmp_path_factory: pytest.TempPathFactory) -> tuple[Edition, str]:
    """Return such a movie's edition, and the list of what was rendered of it."""
    film = a_hurt_film(tmp_path_factory.mktemp("listed"), "1.mkv", OWED.splitlines()[0])
    rendered(film)
    return join(film, scans_needed=True), list_of(film, "exact").read_text()


def rendered(film: Path, means: str = "hold") -> None:
    made(film, film.parent / "out", "--damaged", means)


def checked(film: Path, code: int) -> dict[str, dict[str, Any]]:
    """Return what is told of each deliverable."""
    ran = retime("check", film, "-o", film.parent / "out", "--format", "json")
    assert code == ran.code, ran.messages
    told = json.loads(ran.result)
    jsonschema.validate(told, check_schema())
    return {deliverable["name"]: deliverable for deliverable in told["deliverables"]}


def list_of(film: Path, name: str) -> Path:
    """Return the list beside a deliverable."""
    return film.parent / "out" / f"Numbers-{name}.{NAMES[name]}.damage.json"


def altered(film: Path, change: Callable[[dict[str, Any]], object]) -> None:
    """Change the list of the exact deliverable."""
    path = list_of(film, "exact")
    told = json.loads(path.read_text())
    change(told)
    path.write_text(json.dumps(told))


@pytest.mark.parametrize("means", ["hold", "black"])
def test_what_stands_in_as_listed_is_right_and_is_told(means: str, film: Path) -> None:
    """Whatever follows a frame of which the program gives no picture is at its place too."""
    rendered(film, means)
    told = checked(film, 0)

    for name, deliverable in told.items():
        listed = json.loads(list_of(film, name).read_text())["damaged"]
        assert [] == deliverable["findings"]
        assert listed == deliverable["damaged"]
        assert list(HURT) == [one["frame"] for one in listed]
    black = {"hold": 0, "black": 6}[means] + 5  # and the head: it has no samples to be the same
    exact = told["exact"]
    assert 6 == sum(
        run["last"] - run["first"] + 1 for one in exact["damaged"] for run in one["outputs"]
    )
    assert exact["planned"] - black == exact["exact"]


def test_table_and_junit_tell_the_damaged_frames(one: Path) -> None:
    out = one.parent / "out"
    table = retime("check", one, "-o", out)
    junit = retime("check", one, "-o", out, "--format", "junit")

    said = "".join(table.result.split())
    case = ET.fromstring(junit.result).find("testsuite/testcase")  # noqa: S314 - our own words
    assert case is not None
    assert case.find("failure") is None
    lines = (case.findtext("system-out") or "").splitlines()
    assert len(HURT) == len(lines)
    for frame, line in zip(HURT, lines, strict=True):
        assert f", reel 1, frame {frame}: damaged (a slice does not match its checksum)," in line
        assert line.endswith(f"frame {HELD[frame]} of the scan is held, as listed")
        assert "".join(line.split()) in said
    assert "nothing was found but what is listed as damaged" in table.result


def test_without_a_list_damaged_frames_are_found_where_they_should_be_shown(film: Path) -> None:
    """Nothing else is: what cannot be known of these is neither right nor wrong."""
    rendered(film)
    for name in NAMES:
        list_of(film, name).unlink()
    told = checked(film, 1)

    for name, deliverable in told.items():
        assert [] == deliverable["damaged"]
        assert ["damaged scan"] * 2 == [found["rule"] for found in deliverable["findings"]]
        for frame, found in zip((7, 18), deliverable["findings"], strict=True):
            assert runs_showing(film, name, frame)[0][0] == found["output"]
            assert f"reel 1, frame {frame}" == found["film"]
        assert "and 2 more in a row, are damaged (" in deliverable["findings"][1]["text"]


def test_an_empty_file_does_not_end_the_reading(tmp_path: Path) -> None:
    """The program takes it for the end of a sequence."""
    film = a_hurt_film(tmp_path, "r1/%04d.tif", OWED.splitlines()[0])
    hurt_files(tmp_path / "r1" / "%04d.tif", [25, 30], 0)
    rendered(film)
    exact = checked(film, 0)["exact"]

    assert [*HURT, 25, 30] == [one["frame"] for one in exact["damaged"]]
    assert exact["planned"] - 5 == exact["exact"]


def test_a_frame_that_is_damaged_beside_those_that_are_listed_is_found(one: Path) -> None:
    hurt_movie(one.parent / "1.mkv", [30])
    exact = checked(one, 1)["exact"]

    (found,) = exact["findings"]
    assert "damaged scan" == found["rule"]
    assert runs_showing(one, "exact", 30)[0][0] == found["output"]
    assert len(HURT) == len(exact["damaged"])


def test_another_picture_than_the_listed_one_is_found(one: Path) -> None:
    altered(one, lambda told: told["damaged"][0].update(held=3))
    exact = checked(one, 1)["exact"]

    (found,) = exact["findings"]
    assert "wrong frame" == found["rule"]
    assert runs_showing(one, "exact", 7)[0][0] == found["output"]


def test_what_was_repaired_since_is_a_warning(one: Path) -> None:
    """The deliverable shows what its list says: it is not wrong, and could be better."""
    write_scan(one.parent / "1.mkv", 40, "ffv1", "gray", {"g": "1"})
    exact = checked(one, 0)["exact"]

    (found,) = exact["findings"]
    assert ("damage list", "warning") == (found["rule"], found["severity"])
    assert "is listed as damaged, with 3 more, and decodes now" in found["text"]


def _elsewhere(told: dict[str, Any]) -> None:
    told["damaged"][1]["outputs"][0]["last"] += 1


def _unknown(told: dict[str, Any]) -> None:
    told["damaged"].append(told["damaged"][0] | {"frame": 90, "scan_frame": 90})


@pytest.mark.parametrize(
    ("change", "words"),
    [
        (_elsewhere, "and by the plan that is output frame 29"),
        (_unknown, "the plan shows no such frame"),
        (lambda told: told.update(deliverable="y"), 'this is the list of "y"'),
        (lambda told: told.update(film="Lamps"), 'of the film "Lamps"'),
        (lambda told: told.pop("map_sha256"), '"map_sha256" is missing'),
        (lambda told: told["damaged"][0].update(held=18), "is held, and is damaged too"),
        (lambda told: told["damaged"][0].update(shows="black"), "what is held is told where"),
        (lambda told: told["damaged"][0]["outputs"][0].update(last=2), "end before they begin"),
        (lambda told: told["damaged"][0].update(frame=-1), "greater than or equal to 0"),
        (lambda told: told.update(damaged=[]), "at least 1 item"),
    ],
)
def test_a_list_that_is_not_of_this_file_is_found(
    change: Callable[[dict[str, Any]], object],
    words: str,
    listed: tuple[Edition, str],
    tmp_path: Path,
) -> None:
    told = json.loads(listed[1])
    change(told)

    (found,) = findings(listed[0], json.dumps(told), tmp_path)
    assert "damage list" == found.rule
    assert words in found.text


def findings(edition: Edition, text: str, folder: Path) -> tuple[Finding, ...]:
    """Return what is wrong with a list beside a deliverable."""
    path = folder / "Numbers-exact.mkv"
    (folder / f"{path.name}.damage.json").write_text(text)
    return listing_of(edition, edition.makings[0], path).findings


def test_the_list_that_was_written_is_of_its_file(
    listed: tuple[Edition, str], tmp_path: Path
) -> None:
    assert () == findings(*listed, tmp_path)


@pytest.mark.parametrize("text", ["", "{", "[]", "no list", '"\\', "\x00", "{" * 100])
def test_a_list_that_is_none_is_told(
    text: str, listed: tuple[Edition, str], tmp_path: Path
) -> None:
    (found,) = findings(listed[0], text, tmp_path)

    assert "damage list" == found.rule
    assert "the list of damaged frames cannot be read: " in found.text


def test_where_a_list_is_none_the_check_goes_on(one: Path) -> None:
    list_of(one, "exact").write_text("no list")
    rules = [found["rule"] for found in checked(one, 1)["exact"]["findings"]]

    assert ["damage list", "damaged scan", "damaged scan"] == rules


def test_a_film_frame_that_is_joined_is_listed_with_the_scan_frame_that_is_damaged(
    tmp_path: Path,
) -> None:
    """Of four frames A B C D over ten fields, C has its fields in the third frame and the fourth.

    That is 2:3 pulldown as SMPTE RP 201 has it, from memory: AA BB BC CD DD.
    """
    write_scan(tmp_path / "film.mkv", 40, "ffv1", "gray")
    woven = "  w: {version: v, profile: ffv1-master, rate: 29.97, scanning: top-first, "
    before = write_map(
        tmp_path, "  - {reel: 1, scan: film.mkv}", woven + "pulldown: '2:3'}", "  v: {speed: 24}"
    )
    transfer = made(before, tmp_path / "transfer")["w"]
    hurt_movie(transfer, [13, 20])  # the fourth frame of the third five, and the first of the fifth
    reels = f"  - {{reel: 1, scan: '{transfer}', cadence: '2:3 fields top-first from 0'}}"
    film = write_map(tmp_path, reels, OWED.splitlines()[0])
    rendered(film)
    exact = checked(film, 0)["exact"]

    told = [(one["frame"], one["scan_frame"], one["held"]) for one in exact["damaged"]]
    assert [(12, 13, 12), (20, 20, 19)] == told
    for one in exact["damaged"]:
        runs = [(run["first"], run["last"]) for run in one["outputs"]]
        assert runs_showing(film, "exact", one["frame"]) == runs


def test_a_file_whose_checksum_alone_tells_of_its_damage_is_as_any_other(tmp_path: Path) -> None:
    """The program decodes a deflated TIFF that holds other bytes than were deflated."""
    chance = np.random.default_rng(5)
    for number in range(8):
        path = tmp_path / f"r{number:04}.tif"
        noise = chance.integers(0, 256, (96, 160, 3), np.uint8)  # stored, for it cannot be deflated
        Image.fromarray(noise).save(path, compression="tiff_adobe_deflate")
    path = tmp_path / "r0005.tif"
    data = bytearray(path.read_bytes())
    data[len(data) // 2] ^= 1
    path.write_bytes(data)
    film = write_map(tmp_path, "  - {reel: 1, scan: r%04d.tif}", OWED.splitlines()[0])
    rendered(film)

    assert [5] == [one["frame"] for one in checked(film, 0)["exact"]["damaged"]]
    list_of(film, "exact").unlink()
    (finding,) = checked(film, 1)["exact"]["findings"]
    assert "the scan's frame is damaged (a strip does not match its checksum)" in finding["text"]
