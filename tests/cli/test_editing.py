"""Maps changed by commands: shown, written whole or not at all, and kept as they were kept."""

from __future__ import annotations

import os
from typing import TYPE_CHECKING

import pytest

from retime.cli import rewriting

if TYPE_CHECKING:
    from pathlib import Path

    from running import Program

    from retime.speedmap.manuscript import FileChange

pytest_plugins = ["at_the_desk"]

MAP = """\
# by hand
format: retime-map/1
film: Lamp
gauge: 35mm
reels:
  - {reel: 1, scan: lamp.mkv, frames: 24}
shots: shots.csv
versions:
  slow:
    speed: 18 fps   # as the counter says
    shots: {1/1-1/3: 17 fps}
"""
TABLE = "reel,first,last,shot\r\n1,0,5,1\r\n1,6,11,2\r\n1,12,23,3\r\n"


@pytest.fixture
def desk(tmp_path: Path, own_home: Path) -> Path:  # noqa: ARG001
    """Return a map with a table of shots, in a folder of their own."""
    (tmp_path / "lamp.yaml").write_text(MAP, encoding="utf-8")
    (tmp_path / "shots.csv").write_bytes(TABLE.encode())
    return tmp_path / "lamp.yaml"


def test_a_change_is_shown_as_a_diff_and_written(desk: Path, retime: Program) -> None:
    ran = retime("set", desk, "--version", "slow", "20 fps")

    assert 0 == ran.code
    assert [
        f"--- {desk}",
        f"+++ {desk}",
        "@@ -7,5 +7,5 @@",
        " shots: shots.csv",
        " versions:",
        "   slow:",
        "-    speed: 18 fps   # as the counter says",
        "+    speed: 20 fps   # as the counter says",
        "     shots: {1/1-1/3: 17 fps}",
    ] == ran.out.splitlines()
    assert f"{desk} is changed\n" == ran.err
    assert MAP.replace("18 fps", "20 fps") == desk.read_text(encoding="utf-8")
    assert ["lamp.yaml", "shots.csv"] == sorted(one.name for one in desk.parent.iterdir())


COMMANDS = [
    ("set", "--version", "slow", "20 fps"),
    ("set", "--version", "slow", "--shots", "1/2", "20 fps"),
    ("set", "--version", "slow", "--reel", "1", "20 fps"),
    ("set", "--version", "slow", "--titles", "20 fps"),
    ("merge-shots", "1/1-1/2"),
    ("split-shot", "1/3", "--at", "20"),
]


@pytest.mark.parametrize("asked", COMMANDS, ids=" ".join)
def test_a_dry_run_shows_the_same_and_writes_nothing(
    asked: tuple[str, ...], desk: Path, retime: Program
) -> None:
    command, *rest = asked
    shown = retime(command, desk, *rest, "--dry-run")

    assert 0 == shown.code, shown.said
    assert "a dry run: nothing is written" in shown.err
    assert desk.read_text(encoding="utf-8") == MAP
    assert TABLE.encode() == (desk.parent / "shots.csv").read_bytes()
    assert shown.out == retime(command, desk, *rest).out
    assert retime("lint", desk).code in {0, 1}


def test_the_table_is_changed_with_the_map_and_keeps_its_line_ends(
    desk: Path, retime: Program
) -> None:
    assert 0 == retime("split-shot", desk, "1/3", "--at", "20", "--names", "3, 4").code

    table = TABLE.replace("1,12,23,3\r\n", "1,12,19,3\r\n1,20,23,4\r\n")
    assert table.encode() == (desk.parent / "shots.csv").read_bytes()
    assert MAP.replace("1/1-1/3", "1/1-1/4") == desk.read_text(encoding="utf-8")


def test_a_map_keeps_its_mode_its_mark_and_its_link(desk: Path, retime: Program) -> None:
    kept = desk.with_name("kept.yaml")
    kept.write_bytes(b"\xef\xbb\xbf" + MAP.replace("\n", "\r\n").encode())
    kept.chmod(0o640)
    link = desk.with_name("link.yaml")
    link.symlink_to(kept.name)

    assert 0 == retime("set", link, "--version", "slow", "20").code

    assert link.is_symlink()
    assert 0o640 == kept.stat().st_mode & 0o777
    expected = MAP.replace("18 fps", "20").replace("\n", "\r\n").encode()
    assert b"\xef\xbb\xbf" + expected == kept.read_bytes()


def test_a_speed_is_written_on_one_line_whatever_it_is_given_as(
    desk: Path, retime: Program
) -> None:
    assert 0 == retime("set", desk, "--version", "slow", " 16 fps\t->\n18 fps ").code

    assert MAP.replace("18 fps", "16 fps -> 18 fps", 1) == desk.read_text(encoding="utf-8")


def test_nothing_to_change_is_said_and_nothing_written(desk: Path, retime: Program) -> None:
    before = desk.stat()

    ran = retime("set", desk, "--version", "slow", "18 fps")

    assert (0, "") == (ran.code, ran.out)
    assert "nothing to change" in ran.err
    assert before.st_mtime_ns == desk.stat().st_mtime_ns


REFUSED = [
    (("set", "--version", "slow"), "Missing argument 'SPEED'"),
    (("set", "20 fps"), "Missing option '--version'"),
    (("set", "--version", "slow", "--titles", "--reel", "1", "20"), "are three things; give one"),
    (("set", "--version", "fast", "20"), "the map has no version 'fast'; there are slow"),
    (("set", "--version", "slow", "20 fpm"), "'20 fpm' is no speed"),
    (("set", "--version", "slow", "20\n  x: y"), "is no speed"),
    (("set", "--version", "slow", "9 m/min"), "the map would be wrong, and stays as it is:\n"),
    (("set", "--version", "slow", "--shots", "1/9", "20"), 'the map has no shot "1/9"'),
    (("merge-shots", "1/1-1/2", "--name", "3"), "there is a shot 1/3 already"),
    (("merge-shots", "1/1-1/2", "--name", "a\nb"), "holds the control character U+000A"),
    (("merge-shots", "1/1-1/2", "--name", "\udc80"), "holds the control character U+DC80"),
    (("merge-shots", "1/1-1/2", "--name", ""), "the text is empty"),
    (("split-shot", "1/3", "--at", "20", "--names", "a,b,c"), "takes two names that differ"),
    (("split-shot", "1/3", "--at", "20", "--names", "3,x/y"), 'the name "x/y" holds a slash'),
    (("merge-shots", "1/1"), "1/1 is one shot already"),
    (("split-shot", "1/3", "--at", "12"), "cannot be split before frame 12"),
    (("split-shot", "1/3", "--at", "x"), "Invalid value for '--at'"),
    (("split-shot", "1/3", "--at", "20", "--names", "3"), "takes two names that differ"),
]


@pytest.mark.parametrize(("asked", "told"), REFUSED, ids=str)
def test_what_is_refused_leaves_the_files_alone(
    asked: tuple[str, ...], told: str, desk: Path, retime: Program
) -> None:
    command, *rest = asked
    ran = retime(command, desk, *rest)

    assert 2 == ran.code, ran.said
    assert told in ran.err
    assert "Traceback" not in ran.said
    assert desk.read_text(encoding="utf-8") == MAP
    assert TABLE.encode() == (desk.parent / "shots.csv").read_bytes()


def test_a_map_that_is_wrong_already_is_told_so(desk: Path, retime: Program) -> None:
    desk.write_text(MAP.replace("1/1-1/3", "1/1-1/4"), encoding="utf-8")

    ran = retime("set", desk, "--version", "slow", "20")

    assert 2 == ran.code
    assert f'{desk}:11:13: there is no shot "1/4"' in ran.err


def test_a_map_that_is_not_there_is_told_so(desk: Path, retime: Program) -> None:
    ran = retime("merge-shots", desk.with_name("no.yaml"), "1/1-1/2")

    assert 2 == ran.code
    assert "the file cannot be read" in ran.err


def test_a_map_that_changes_meanwhile_is_left_as_it_is(
    desk: Path, retime: Program, monkeypatch: pytest.MonkeyPatch
) -> None:
    table = desk.parent / "shots.csv"
    prepared = rewriting._prepared  # noqa: SLF001 - somebody else writes between two steps

    def meanwhile(change: FileChange) -> tuple[Path, Path]:
        table.write_text("changed", encoding="utf-8")
        return prepared(change)

    monkeypatch.setattr(rewriting, "_prepared", meanwhile)
    ran = retime("split-shot", desk, "1/3", "--at", "20")

    assert 2 == ran.code
    assert "shots.csv: has changed meanwhile; give the command again" in ran.err
    assert desk.read_text(encoding="utf-8") == MAP
    assert table.read_text(encoding="utf-8") == "changed"
    assert ["lamp.yaml", "shots.csv"] == sorted(one.name for one in desk.parent.iterdir())


def test_a_file_that_cannot_be_written_leaves_both_as_they_are(
    desk: Path, retime: Program, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(os, "access", lambda _path, mode: mode != os.W_OK)

    ran = retime("split-shot", desk, "1/3", "--at", "20")

    assert 2 == ran.code
    assert "is protected against writing" in ran.err
    assert desk.read_text(encoding="utf-8") == MAP
    assert ["lamp.yaml", "shots.csv"] == sorted(one.name for one in desk.parent.iterdir())
