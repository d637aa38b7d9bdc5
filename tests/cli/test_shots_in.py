"""``retime shots``: lists in, the map's table of shots out, and everything else told."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from running import LAMP

if TYPE_CHECKING:
    from pathlib import Path

    from running import Program

pytest_plugins = ["at_the_desk"]

EDL = """\
TITLE: LAMP
FCM: NON-DROP FRAME
001  001      V     C        00:00:00:00 00:00:00:12 01:00:00:00 01:00:00:12
* FROM CLIP NAME: the wall
002  001      V     D    006 00:00:00:12 00:00:01:00 01:00:00:12 01:00:01:00
"""
TABLE = "reel,first,last,shot,kind,name\n1,0,11,1,action,the wall\n1,12,23,2,action,\n"


@pytest.fixture
def edl(tmp_path: Path) -> Path:
    path = tmp_path / "cuts.edl"
    path.write_text(EDL)
    return path


def test_an_edl_becomes_the_maps_table(edl: Path, retime: Program, tmp_path: Path) -> None:
    ran = retime("shots", edl, "--rate", "24", "--reel", "001=1", "-o", tmp_path / "shots.csv")

    assert (0, "") == (ran.code, ran.out)
    assert TABLE == (tmp_path / "shots.csv").read_text()
    assert f"{edl}:5:6: warning: the dissolve of 6 frames" in ran.err
    assert f"{tmp_path / 'shots.csv'}: 2 shots" in ran.err


def test_without_a_file_the_table_is_printed(edl: Path, retime: Program) -> None:
    ran = retime("--quiet", "shots", edl, "--rate", "24", "--reel", "1")

    assert (0, TABLE, "") == (ran.code, ran.out, ran.err)


def test_a_map_says_the_reels_even_before_its_table_is_there(
    edl: Path, retime: Program, tmp_path: Path
) -> None:
    inline = LAMP[LAMP.index("shots:") : LAMP.index("versions:")]
    (tmp_path / "lamp.yaml").write_text(LAMP.replace(inline, "shots: shots.csv\n"))
    table = tmp_path / "shots.csv"
    ran = retime("shots", edl, "--rate", "24", "--map", tmp_path / "lamp.yaml", "-o", table)

    assert 0 == ran.code, ran.said
    assert TABLE == table.read_text()
    assert 0 == retime("shots", table, "--map", tmp_path / "lamp.yaml").code


def test_several_lists_make_one_table(edl: Path, retime: Program, tmp_path: Path) -> None:
    other = tmp_path / "second.txt"
    other.write_text("reel 2\n0 9 the sea\n10 19\n")
    ran = retime("shots", edl, other, "--rate", "24", "--reel", "001=1")

    assert f"{TABLE}2,0,9,1,action,the sea\n2,10,19,2,action,\n" == ran.out


def test_another_ending_is_read_as_it_is_said_to_be(retime: Program, tmp_path: Path) -> None:
    path = tmp_path / "cuts.dat"
    path.write_text("reel\tfirst\tlast\n1\t0\t11\n")
    ran = retime("shots", path, "--as", "tsv")

    assert "reel,first,last,shot,kind,name\n1,0,11,1,action,\n" == ran.out


def test_nothing_is_overwritten_unasked_and_no_input_ever(
    edl: Path, retime: Program, tmp_path: Path
) -> None:
    there = tmp_path / "shots.csv"
    there.write_text("mine")
    asked = ("shots", edl, "--rate", "24", "--reel", "1", "-o")
    refused, onto_input = retime(*asked, there), retime(*asked, edl, "--force")

    assert (2, f"{there}: exists already; use --force to overwrite it\n") == (
        refused.code,
        refused.err,
    )
    assert "mine" == there.read_text()
    assert (2, f"{edl}: is one of the inputs; write to another file\n") == (
        onto_input.code,
        onto_input.err,
    )
    assert EDL == edl.read_text()
    assert 0 == retime(*asked, there, "--force").code
    assert TABLE == there.read_text()


def test_faults_are_told_and_nothing_is_written(edl: Path, retime: Program, tmp_path: Path) -> None:
    edl.write_text(EDL.replace("00:00:00:12 00:00:01:00", "00:00:00:12 00:00:01:24"))
    ran = retime("shots", edl, "--rate", "24", "--reel", "1", "-o", tmp_path / "shots.csv")

    assert 2 == ran.code
    assert f"{edl}:5:42: '00:00:01:24' does not exist at 24" in ran.err
    assert "Traceback" not in ran.said
    assert not (tmp_path / "shots.csv").exists()


@pytest.mark.parametrize(
    ("options", "words"),
    [
        ((), "an EDL does not say its rate; say --rate 24"),
        (("--rate", "12.5"), "--rate: a rate of 25/2 has no labels"),
        (("--rate", "fast"), "--rate: 'fast' is no rate"),
        (("--rate", "24", "--reel", "="), "--reel '=' names no reel"),
        (("--rate", "24", "--reel", "1", "--reel", "2"), "--reel names two reels"),
        (("--rate", "24", "--reel", "1", "--reel", "A=2"), "--reel says both"),
        (("--rate", "24", "--start", "100"), "--start: '100' is no timecode"),
        (("--rate", "24", "--start", "25:00:00:00"), "--start: '25:00:00:00' does not exist"),
        (("--start", "01:00:00:00"), "--start needs --rate"),
        (("--rate", "24", "--zero", "first"), "--zero: 'first' is no frame"),
        (("--speed", "18"), "--speed needs --rate"),
        (("--rate", "24", "--speed", "75 ft/min"), "--speed: "),
        (("--gauge", "banana"), "--gauge: "),
        (("--rate", "24", "--as", "otio", "--times", "record"), "--times record is for EDLs"),
    ],
)
def test_options_that_do_not_go_together_are_refused(
    options: tuple[str, ...], words: str, edl: Path, retime: Program
) -> None:
    ran = retime("shots", edl, *options)

    assert 2 == ran.code
    assert words in ran.err
    assert "Traceback" not in ran.said


def test_a_reel_that_the_map_has_not_is_refused(edl: Path, retime: Program, tmp_path: Path) -> None:
    (tmp_path / "lamp.yaml").write_text(LAMP)
    asked = ("shots", edl, "--rate", "24", "--map", tmp_path / "lamp.yaml")
    wrong = retime(*asked, "--reel", "001=7")
    edl.write_text(EDL.replace("001      V", "TAPE9    V"))
    unknown = retime(*asked)

    assert (2, True) == (wrong.code, "--reel: the map has no reel '7'" in wrong.err)
    assert 2 == unknown.code
    assert f"{edl}:3:6: " in unknown.err
    assert "--reel TAPE9=NAME says which it is" in unknown.err


def test_a_list_that_is_not_there_is_told(retime: Program, tmp_path: Path) -> None:
    ran = retime("shots", tmp_path / "none.txt", "--reel", "1")

    assert 2 == ran.code
    assert "none.txt: the file cannot be read: no such file" in ran.err


def test_a_map_that_is_wrong_is_told(edl: Path, retime: Program, tmp_path: Path) -> None:
    (tmp_path / "lamp.yaml").write_text(LAMP.replace("reel: 1", "rell: 1"))
    ran = retime("shots", edl, "--rate", "24", "--map", tmp_path / "lamp.yaml")

    assert 2 == ran.code
    assert "lamp.yaml:5:" in ran.err
