"""``retime preview`` as the whole program: what it makes, what it refuses, and what it says."""

from __future__ import annotations

import json
import os
import subprocess
import time
from typing import TYPE_CHECKING, Any

import pytest
from numbered import write_scan
from running import LAMP, command, unfinished

if TYPE_CHECKING:
    from pathlib import Path

    from running import Program

pytest_plugins = ["at_the_desk"]

QUICK = ("--speeds", "18", "--rates", "24")


def values(folder: Path) -> dict[str, Any]:
    """Return the page's data, as it is recorded beside it."""
    told: dict[str, Any] = json.loads((folder / "preview.json").read_text())
    return dict(told["values"])


def test_a_map_becomes_a_page(work: Path, retime: Program) -> None:
    ran = retime("preview", work / "lamp.yaml", "-o", work / "look", *QUICK)

    assert (0, f"{work / 'look' / 'index.html'}\n") == (ran.code, ran.out), ran.said
    assert "<html" in (work / "look" / "index.html").read_text()
    told = values(work / "look")
    assert ["Reel 1, shot 1", "Reel 1, shot 2"] == [one["title"] for one in told["excerpts"]]
    assert ["viewing", "viewing"] == [one["deliverable"] for one in told["delivered"]]
    assert "pictures in" in ran.err


def test_a_second_run_says_that_nothing_has_changed(work: Path, retime: Program) -> None:
    for _ in range(2):
        ran = retime("preview", work / "lamp.mov", "-o", work / "look", *QUICK, "--frames", "0-9")
        assert 0 == ran.code, ran.said

    assert "nothing has changed since it was made: only the page is written anew\n" == ran.err


def test_quiet_says_nothing_but_where_the_page_is(work: Path, retime: Program) -> None:
    ran = retime("--quiet", "preview", work / "lamp.mkv", "-o", work / "look", *QUICK)

    assert (0, "") == (ran.code, ran.err)


def test_a_bare_scan_needs_no_map_and_a_sequence_neither(work: Path, retime: Program) -> None:
    write_scan(work / "files" / "f.%04d.png", 12, "png")
    ran = retime(
        *("preview", work / "lamp.mkv", work / "files" / "f.%04d.png"),
        *("-o", work / "look", "--frames", "1/0-5,2/2-8", *QUICK),
    )

    assert 0 == ran.code, ran.said
    assert [("1", 6), ("2", 7)] == [
        (one["reel"], one["frames"]) for one in values(work / "look")["excerpts"]
    ]


WRONG = {
    "no-source": ((), "Missing argument"),
    "no-folder": (("lamp.yaml",), "Missing option '-o'"),
    "map-away": (("gone.yaml", "-o", "look"), "gone.yaml"),
    "scan-away": (("gone.mkv", "-o", "look"), "gone.mkv: is not there"),
    "no-film": (("words.mkv", "-o", "look"), "words.mkv: is no movie that can be read"),
    "a-folder": (("out", "-o", "look"), "out: is a folder"),
    "no-files": (("%04d.dpx", "-o", "look"), "no file matches"),
    "one-picture": (("one.png", "-o", "look"), "is a single picture"),
    "two-maps": (("lamp.yaml", "lamp.yaml", "-o", "look"), "a map stands alone"),
    "map-and-scan": (("lamp.mkv", "lamp.yaml", "-o", "look"), "a map stands alone"),
    "no-such-shot": (("lamp.yaml", "-o", "look", "--shots", "1/9"), 'there is no shot "1/9"'),
    "no-shot": (("lamp.yaml", "-o", "look", "--shots", "nine"), '"nine" names no shot'),
    "shots-backwards": (("lamp.yaml", "-o", "look", "--shots", "1/2-1/1"), "runs backwards"),
    "no-list": (("lamp.mkv", "-o", "look", "--shots", "1/1"), "there is no list of shots"),
    "no-such-reel": (("lamp.yaml", "-o", "look", "--frames", "2/0-9"), 'there is no reel "2"'),
    "beyond": (("lamp.yaml", "-o", "look", "--frames", "1/10-24"), "there is no frame 24"),
    "backwards": (("lamp.yaml", "-o", "look", "--frames", "1/9-3"), "write 3-9"),
    "no-frames": (("lamp.yaml", "-o", "look", "--frames", "1/x"), "is no run of frames"),
    "one-frame": (("lamp.yaml", "-o", "look", "--frames", "1/3-3"), "too few"),
    "which-reel": (("lamp.mkv", "lamp.mov", "-o", "look", "--frames", "0-9"), "of which reel"),
    "half-said": (("lamp.yaml", "-o", "look", "--frames", "1/0-9,"), "leaves something out"),
    "no-speeds": (("lamp.yaml", "-o", "look", "--speeds", ""), "--speeds is empty"),
    "no-speed": (("lamp.yaml", "-o", "look", "--speeds", "18,fast"), "'fast' is no speed"),
    "too-fast": (("lamp.yaml", "-o", "look", "--speeds", "18,500"), "'500' is no speed at which"),
    "too-slow": (("lamp.yaml", "-o", "look", "--speeds", "0.1"), "'0.1' is no speed at which"),
    "negative": (("lamp.yaml", "-o", "look", "--speeds", "-4"), "a speed is above 0"),
    "too-many": (("lamp.yaml", "-o", "look", "--speeds", "18," * 12 + "18"), "13 are too many"),
    "no-rates": (("lamp.yaml", "-o", "look", "--rates", " "), "--rates is empty"),
    "no-rate": (("lamp.yaml", "-o", "look", "--rates", "24,x"), "'x' is no rate"),
    "odd-rate": (("lamp.yaml", "-o", "look", "--rates", "1000"), "1000 is no rate"),
    "too-wide": (("lamp.yaml", "-o", "look", "--width", "100000"), "--width: 100000"),
    "too-long": (("lamp.yaml", "-o", "look", "--seconds", "0"), "--seconds: 0"),
    "no-gauge": (("lamp.mkv", "-o", "look", "--gauge", "34mm"), "the gauge '34mm' is not known"),
    "gauge-twice": (("lamp.yaml", "-o", "look", "--gauge", "35mm"), "--gauge is for bare scans"),
    "by-length": (("lamp.yaml", "-o", "look", "--speeds", "20 m/min"), "a metre holds"),
    "a-file": (("lamp.yaml", "-o", "lamp.mov"), "lamp.mov: is a file, not a folder"),
    "nowhere": (("lamp.yaml", "-o", "no/look"), "is in a folder that is not there"),
    "in-use": (("lamp.yaml", "-o", "full"), "full: holds something"),
    "the-scans": (("lamp.yaml", "-o", ".", "--force"), "a folder that an input is in"),
}


@pytest.mark.parametrize("case", WRONG)
def test_what_makes_no_sense_is_refused_in_words(
    case: str, work: Path, retime: Program, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(work)
    (work / "words.mkv").write_text("no film at all")
    (work / "one.png").write_text("one")
    (work / "full").mkdir()
    (work / "full" / "letter.txt").write_text("mine")
    arguments, words = WRONG[case]
    before = sorted(one.name for one in work.rglob("*"))
    ran = retime("preview", *arguments)

    assert 2 == ran.code, ran.said
    assert words in " ".join(ran.err.replace("│", " ").split()), ran.err
    assert "Traceback" not in ran.said
    assert "" == ran.out
    assert before == sorted(one.name for one in work.rglob("*"))


def test_a_scan_that_a_map_names_and_is_away_is_told_at_its_line(
    work: Path, retime: Program
) -> None:
    (work / "lamp.mkv").unlink()
    ran = retime("preview", work / "lamp.yaml", "-o", work / "look")

    assert 2 == ran.code
    assert "lamp.yaml:6:" in ran.err
    assert not (work / "look").exists()


def test_a_scan_that_is_cut_short_leaves_nothing(work: Path, retime: Program) -> None:
    whole = (work / "lamp.mov").read_bytes()
    (work / "cut.mov").write_bytes(whole[: len(whole) // 2])
    speed_map = work / "lamp.yaml"
    speed_map.write_text(LAMP.replace("lamp.mkv", "cut.mkv"))
    whole = (work / "lamp.mkv").read_bytes()
    (work / "cut.mkv").write_bytes(whole[: len(whole) // 2])
    for source in (speed_map, work / "cut.mov"):
        ran = retime("preview", source, "-o", work / "look", *QUICK)

        assert 2 == ran.code, ran.said
        assert not (work / "look").exists()


@pytest.mark.skipif(os.geteuid() == 0, reason="root may write anywhere")
def test_a_folder_that_may_not_be_written_is_told(work: Path, retime: Program) -> None:
    (work / "out").chmod(0o500)
    ran = retime("preview", work / "lamp.yaml", "-o", work / "out")

    assert 2 == ran.code
    assert "may not be written" in ran.err


HOSTILE = (
    "<script>alert(1)</script>",
    "\"quotes' and & more",
    "\u202edehsrever\u202c",
    "x" * 2000,
    "../../../etc/passwd",
)
FILES = (
    "<script>alert(1)<script>",
    "\"quotes' & more",
    "\u202edehsrever\u202c",
    "two\nlines",
    "x" * 240,
)


def held_within(look: Path) -> None:
    """Hold that files have plain names, and that nothing hostile stands in the page as it is."""
    made = {str(one.relative_to(look)) for one in look.rglob("*")}
    assert all(set(one) <= set("abcdefghijklmnopqrstuvwxyz0123456789-./") for one in made)
    assert "<script>alert" not in (look / "index.html").read_text()


@pytest.mark.parametrize("name", HOSTILE, ids=range(len(HOSTILE)))
def test_names_out_of_a_map_never_name_a_file(name: str, work: Path, retime: Program) -> None:
    path, look = work / "lamp.yaml", work / "look"
    film = name.replace("/", "").replace(".", "")[:80]  # what is longer a map refuses itself
    text = LAMP.replace("film: Lamp", f"film: {json.dumps(film)}")
    text = text.replace("  slow:", f"  {json.dumps(film)}:")
    text = text.replace("version: slow", f"version: {json.dumps(film)}")
    path.write_text(text.replace("shot: 1}", f"shot: 1, name: {json.dumps(name)}}}"))
    ran = retime("preview", path, "-o", look, *QUICK)

    assert 0 == ran.code, ran.said
    told = values(look)
    assert [film, film] == [told["film"], told["versions"][0]["name"]]
    assert name == told["excerpts"][0]["name"]
    held_within(look)


@pytest.mark.parametrize("name", FILES, ids=range(len(FILES)))
def test_names_of_scans_never_name_a_file(name: str, work: Path, retime: Program) -> None:
    (work / "lamp.mkv").rename(work / f"{name}.mkv")
    ran = retime("preview", work / f"{name}.mkv", "-o", work / "look", *QUICK)

    assert 0 == ran.code, ran.said
    assert f"{name}.mkv" == values(work / "look")["source"]
    held_within(work / "look")


def test_an_interrupt_leaves_nothing_and_ends_with_130(work: Path, own_home: Path) -> None:
    write_scan(work / "long.mkv", 150, size=(640, 384))
    look = work / "look"
    running = subprocess.Popen(
        command(
            *("preview", work / "long.mkv", "-o", look, "--frames", "0-149"),
            *("--seconds", "10"),
        ),
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        env={**os.environ, "XDG_CACHE_HOME": str(own_home)},
    )
    begun = time.monotonic()
    while not (look.exists() and unfinished(look)) and time.monotonic() - begun < 60:
        time.sleep(0.02)
    time.sleep(0.3)
    running.terminate()
    out, err = running.communicate(timeout=60)

    assert (130, "") == (running.returncode, out), err
    assert "interrupted; nothing unfinished is left behind" in err
    assert not look.exists()
