"""``retime new``: a first map from scans, end to end."""

from __future__ import annotations

import csv
import re
import shutil
import signal
import subprocess
import time
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
import pytest
from numbered import write_scan
from PIL import Image
from running import command, contents, program, unfinished

if TYPE_CHECKING:
    from collections.abc import Callable

    from running import Program, Ran

pytest_plugins = ["at_the_desk"]

DEMO = Path(__file__).parents[2] / "demo_media"
REELS = (DEMO / "tidewatcher-reel-1.mkv", DEMO / "tidewatcher-reel-2.mkv")
FILM = "The Tidewatcher's Lamp"
MAP = "the-tidewatchers-lamp.yaml"
WRITTEN = [MAP, "contact-sheet.html", "contact-sheet.png", "shots.csv"]


def rows(path: Path) -> list[dict[str, str]]:
    with path.open(encoding="utf-8", newline="") as table:
        return list(csv.DictReader(table))


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Ran]:
    """Make the demo film's first map, the reels named the wrong way round."""
    folder = tmp_path_factory.mktemp("new") / "map"
    ran = program("new", *reversed(REELS), "-o", folder, "--gauge", "35mm", "--film", FILM)
    return folder, ran


def test_map_table_and_contact_sheets_are_written_and_told(made: tuple[Path, Ran]) -> None:
    folder, ran = made

    assert 0 == ran.code, ran.err
    assert sorted(WRITTEN) == sorted(path.name for path in folder.iterdir())
    assert {str(folder / name) for name in WRITTEN} == set(ran.out.splitlines())
    assert "1 is tidewatcher-reel-1.mkv, 2 is tidewatcher-reel-2.mkv" in ran.err


def test_what_was_found_is_told_in_a_sentence(made: tuple[Path, Ran]) -> None:
    drawn = [row["kind"] for row in rows(DEMO / "shots.csv")]
    found = f"{len(drawn)} shots found, {drawn.count('title')} of them titles; no speed is decided"

    assert found in made[1].err


def test_a_single_shot_is_told_as_one(tmp_path: Path) -> None:
    write_scan(tmp_path / "one.mkv", 8)
    ran = program("new", tmp_path / "one.mkv", "-o", tmp_path / "map", "--gauge", "35mm")

    assert "1 shot found, no title; no speed is decided yet" in ran.err, ran.said


def test_the_table_of_shots_is_that_of_the_film_but_for_names(made: tuple[Path, Ran]) -> None:
    drawn = [{**row, "name": ""} for row in rows(DEMO / "shots.csv")]

    assert drawn == rows(made[0] / "shots.csv")


def test_lint_says_that_no_speed_is_decided_and_nothing_else(made: tuple[Path, Ran]) -> None:
    ran = program("lint", made[0] / MAP)

    assert 1 == ran.code
    assert 1 == len(ran.out.splitlines())
    assert re.match(r".*the-tidewatchers-lamp\.yaml:\d+:\d+: warning: no speed is decided", ran.out)


def test_the_example_in_the_comments_is_a_sound_decision(made: tuple[Path, Ran]) -> None:
    """With its marks taken away the map has nothing to find fault with, and can be reported."""
    text = (made[0] / MAP).read_text(encoding="utf-8")
    begin = text.index("# versions:")
    decided = made[0].parent / "map" / "decided.yaml"
    decided.write_text(
        text[:begin] + re.sub(r"^# ?", "", text[begin:], flags=re.MULTILINE), encoding="utf-8"
    )

    lint, report = program("lint", decided), program("report", decided)
    decided.unlink()

    assert 0 == lint.code, lint.said
    assert 0 == report.code, report.said
    assert "restrained-24" in report.out


def test_comments_say_what_was_found(made: tuple[Path, Ran]) -> None:
    text = (made[0] / MAP).read_text(encoding="utf-8")

    assert "first: 18    # head leader: white 0-3" in text
    assert "an odd frame 13" in text
    assert "8 shots, 4 titles, 7 cuts" in text


def test_the_contact_page_lets_nothing_in_and_labels_every_shot(made: tuple[Path, Ran]) -> None:
    page = (made[0] / "contact-sheet.html").read_text(encoding="utf-8")

    assert "default-src 'none'; img-src data:" in page
    assert "<script" not in page
    assert 16 == page.count('<img src="data:image/jpeg;base64,')
    assert "unsafe-inline" not in page
    assert ["#reel-1", "#reel-2"] == re.findall(r'(?:src|href)="(?!data:)([^"]*)', page)
    assert "prefers-color-scheme: dark" in page
    assert "@media print" in page
    assert "The Tidewatcher&#39;s Lamp" in page
    assert 'alt="Shot 1/6, a title"' in page


def test_the_contact_picture_shows_sixteen_shots(made: tuple[Path, Ran]) -> None:
    with Image.open(made[0] / "contact-sheet.png") as sheet:
        tones = np.asarray(sheet.convert("L"))

    assert tones.shape[0] > 3 * 144
    assert tones.shape[1] > 6 * 192 - 1
    assert tones.std() > 20


# What exists, and what is at fault.


@pytest.fixture
def scan(tmp_path: Path) -> Path:
    """Write a scan of 24 frames."""
    return write_scan(tmp_path / "film" / "reel-1.mkv", 24)


@pytest.fixture(autouse=True)
def film_folder(tmp_path: Path) -> Path:
    folder = tmp_path / "film"
    folder.mkdir()
    return folder


def test_nothing_that_exists_is_overwritten_unasked(
    scan: Path, tmp_path: Path, retime: Program
) -> None:
    out = tmp_path / "map"
    assert 0 == retime("new", scan, "-o", out, "--gauge", "35mm").code
    (out / "shots.csv").write_text("mine\n")
    before = contents(out)

    again = retime("new", scan, "-o", out, "--gauge", "35mm")

    assert 2 == again.code
    assert "exists already; use --force" in again.err
    assert before == contents(out)
    assert 0 == retime("new", scan, "-o", out, "--gauge", "35mm", "--force").code
    assert (out / "shots.csv").read_text().startswith("reel,first")


def test_the_films_title_is_its_folders_name_and_is_told(
    scan: Path, tmp_path: Path, retime: Program
) -> None:
    ran = retime("new", scan, "-o", tmp_path / "map", "--gauge", "16mm")

    assert 0 == ran.code
    assert "the film is called 'film' by its folder" in ran.err
    assert "film: film\ngauge: 16mm\n" in (tmp_path / "map" / "film.yaml").read_text()


def test_numbered_files_with_a_hole_say_so(tmp_path: Path, retime: Program) -> None:
    pattern = write_scan(tmp_path / "film" / "%06d.png", 12, codec="png")
    (tmp_path / "film" / "000005.png").unlink()

    ran = retime("new", pattern, "-o", tmp_path / "map", "--gauge", "35mm")
    text = (tmp_path / "map" / "film.yaml").read_text()

    assert 0 == ran.code, ran.err
    assert "frames: 12" in text
    assert "1 file is missing" in text
    assert 1 == program("lint", tmp_path / "map" / "film.yaml").code


def test_scans_of_different_sizes_are_reels_of_one_film(
    scan: Path, tmp_path: Path, retime: Program
) -> None:
    other = write_scan(tmp_path / "film" / "reel-2.mkv", 12, size=(320, 192))

    ran = retime("new", scan, other, "-o", tmp_path / "map", "--gauge", "35mm")

    assert 0 == ran.code, ran.err
    assert {"1", "2"} == {row["reel"] for row in rows(tmp_path / "map" / "shots.csv")}


def cut_short(folder: Path) -> Path:
    path = write_scan(folder / "short.mkv", 24)
    path.write_bytes(path.read_bytes()[:-4000])
    return path


def written(name: str, data: bytes) -> Callable[[Path], Path]:
    def write(folder: Path) -> Path:
        (folder / name).write_bytes(data)
        return folder / name

    return write


BAD_SCANS: dict[str, tuple[Callable[[Path], Path], str]] = {
    "missing": (lambda folder: folder / "none.mkv", "is not there"),
    "in a missing folder": (lambda folder: folder / "no" / "none.mkv", "there is no folder"),
    "empty": (written("empty.mkv", b""), "is empty"),
    "text": (written("text.mkv", b"a film, truly\n" * 50), "no movie"),
    "a playlist": (written("list.mkv", b"ffconcat version 1.0\nfile a.mkv\n"), "no movie"),
    "noise": (written("noise.mov", bytes(range(256)) * 64), "no movie"),
    "a folder": (lambda folder: folder, "is a folder"),
    "a single picture": (written("one.png", b"\x89PNG\r\n\x1a\n"), "is a single picture"),
    "cut short": (cut_short, "short.mkv"),
    "no file matches": (lambda folder: folder / "%06d.dpx", "no file matches"),
    "two numbers": (lambda folder: folder / "%d-%d.dpx", "is no pattern"),
    "no pictures' ending": (written("1.txt", b"x"), "1.txt"),
    "a sequence of texts": (
        lambda folder: written("000001.dpx", b"x" * 3000)(folder).with_name("%06d.dpx"),
        "000001.dpx",
    ),
}


@pytest.mark.parametrize("what", BAD_SCANS)
def test_what_is_no_scan_is_refused_and_leaves_nothing(
    what: str, film_folder: Path, retime: Program
) -> None:
    make, said = BAD_SCANS[what]
    out = film_folder.parent / "map"

    ran = retime("new", make(film_folder), "-o", out, "--gauge", "35mm")

    assert 2 == ran.code, ran.said
    assert said in ran.err
    assert "Traceback" not in ran.err
    assert not out.exists()


BAD_OPTIONS: dict[str, tuple[tuple[str, ...], str]] = {
    "no gauge": ((), "--gauge"),
    "an unknown gauge": (("--gauge", "36mm"), "36mm"),
    "a film's name with a slash": (("--gauge", "35mm", "--film", "a/b"), "holds a slash"),
    "a film without a name": (("--gauge", "35mm", "--film", ""), "--film"),
    "a film's name that leads out": (("--gauge", "35mm", "--film", "../up"), "--film"),
}


@pytest.mark.parametrize("what", BAD_OPTIONS)
def test_bad_options_are_refused(what: str, scan: Path, tmp_path: Path, retime: Program) -> None:
    options, said = BAD_OPTIONS[what]

    ran = retime("new", scan, "-o", tmp_path / "map", *options)

    assert 2 == ran.code, ran.said
    assert said in ran.err
    assert "Traceback" not in ran.err
    assert not (tmp_path / "map").exists()


def test_a_scan_that_is_named_twice_is_refused(scan: Path, tmp_path: Path, retime: Program) -> None:
    ran = retime("new", scan, scan, "-o", tmp_path / "map", "--gauge", "35mm")

    assert (2, True) == (ran.code, "named twice" in ran.err)


def test_an_output_that_is_a_file_is_refused(scan: Path, tmp_path: Path, retime: Program) -> None:
    (tmp_path / "map").write_text("mine\n")

    ran = retime("new", scan, "-o", tmp_path / "map", "--gauge", "35mm")

    assert (2, True) == (ran.code, "is no folder" in ran.err)
    assert "mine\n" == (tmp_path / "map").read_text()


def test_an_interrupt_leaves_nothing_behind(tmp_path: Path) -> None:
    for number, reel in enumerate(REELS * 4):
        shutil.copy(reel, tmp_path / "film" / f"reel-{number}.mkv")
    scans = sorted((tmp_path / "film").iterdir())
    asked = command("new", *scans, "-o", tmp_path / "map", "--gauge", "35mm")
    with subprocess.Popen(asked, stderr=subprocess.PIPE, text=True) as running:
        assert running.stderr is not None
        for line in running.stderr:
            if "looking for shots" in line:
                break
        time.sleep(0.3)
        running.send_signal(signal.SIGINT)
        told = running.stderr.read()
        code = running.wait(timeout=60)

    assert 130 == code, told
    assert not (tmp_path / "map").exists()
    assert not unfinished(tmp_path)
