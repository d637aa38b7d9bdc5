"""A disk that is full, or read-only: told clearly, nothing spoilt, gone on with afterwards."""

from __future__ import annotations

import errno
import json
import os
import shutil
import subprocess
from contextlib import contextmanager
from typing import TYPE_CHECKING

import pytest
from piecemeal import a_long_film, known, left_over
from rendering import retime

from retime.errors import OutputError
from retime.render import journal
from retime.render.journal import Journal
from retime.render.piece_files import Made
from retime.render.store import file_digest

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping
    from pathlib import Path

    from piecemeal import Known

PIECES = 13
SMALL = ("--pieces", "9", "--skip-space-check")
ALONE = (*SMALL, "--workers", "1")
FULL = "the disk is full; make room and render again"
READ_ONLY = "is on a disk that is read-only; render to another folder"
KEPT = "pieces are finished and kept: the same command goes on from there"
ROOM = 100_000_000


@pytest.fixture(scope="module")
def film(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a folder with a film, and what comes of it on a disk with room."""
    folder = tmp_path_factory.mktemp("disk")
    (folder / "undisturbed").mkdir()
    done = retime("render", a_long_film(folder), "-o", folder / "undisturbed", *ALONE)
    assert 0 == done.code, done.messages
    return folder


@pytest.fixture(scope="module")
def undisturbed(film: Path) -> dict[str, Known]:
    return known(film / "undisturbed")


def tool(name: str, *arguments: object) -> int:
    """Run a program of the system's; skip where there is none."""
    found = shutil.which(name)
    if found is None:
        pytest.skip(f"there is no {name} here")
    command = [found, *map(str, arguments)]
    return subprocess.run(command, capture_output=True, check=False).returncode


@contextmanager
def a_disk(folder: Path, size: int) -> Iterator[Path]:
    """Give a folder that is a disk of ``size`` bytes; skip where none can be made."""
    if os.geteuid() != 0:
        pytest.skip("only root can make a small disk")
    folder.mkdir()
    if tool("mount", "-t", "tmpfs", "-o", f"size={size}", "tmpfs", folder):
        pytest.skip("no disk can be mounted here")
    try:
        yield folder
    finally:
        assert 0 == tool("umount", folder)


def nothing_is_spoilt(disk: Path) -> int:
    """Hold all that is kept against the journal; return how many pieces that is."""
    assert {} == known(disk)
    pieces = 0
    for path in disk.glob(".*.pieces/journal.json"):
        for made in json.loads(path.read_text(encoding="utf-8"))["pieces"].values():
            pieces += 1
            for name, digest in made["digests"].items():
                assert digest == file_digest(path.parent / name)
    return pieces


@pytest.mark.parametrize(
    ("size", "workers"),
    [(40_000, "1"), (900_000, "2"), (3_000_000, "2"), (7_500_000, "1")],
    ids=["at the copy", "at the first pieces", "at later pieces", "at joining"],
)
def test_wherever_a_disk_runs_full_it_is_told_and_gone_on_with(
    size: int, workers: str, film: Path, undisturbed: Mapping[str, Known], tmp_path: Path
) -> None:
    """And called again while it is full still, the command tells the same and loses nothing."""
    more = (*SMALL, "--workers", workers)
    with a_disk(tmp_path / "disk", size) as disk:
        for _ in range(2):
            full = retime("render", film / "map.yaml", "-o", disk, *more)
            assert 2 == full.code, full.messages
            assert FULL == full.messages.splitlines()[-1].partition(": ")[2]
            kept = nothing_is_spoilt(disk)
            assert (f"{kept} of {PIECES} {KEPT}" in full.messages) is (kept > 0)
            assert kept or [] == left_over(disk)
        assert 0 == tool("mount", "-o", f"remount,size={ROOM}", disk)
        again = retime("render", film / "map.yaml", "-o", disk, *more)

        assert 0 == again.code, again.messages
        assert (f"goes on: {kept} of {PIECES} pieces" in again.messages) is (kept > 0)
        assert undisturbed == known(disk)
        assert [] == left_over(disk)


@pytest.mark.parametrize("more", [(), ALONE], ids=["in one", "in pieces"])
def test_a_read_only_folder_is_told_before_anything_is_made(
    more: tuple[str, ...], film: Path, tmp_path: Path
) -> None:
    with a_disk(tmp_path / "disk", ROOM) as disk:
        assert 0 == tool("mount", "-o", "remount,ro", disk)
        ran = retime("render", film / "map.yaml", "-o", disk, *more)

        assert 2 == ran.code
        assert READ_ONLY == ran.messages.splitlines()[-1].partition(": ")[2]
        assert [] == list(disk.iterdir())


def test_a_disk_that_became_read_only_keeps_what_is_finished(
    film: Path, undisturbed: Mapping[str, Known], tmp_path: Path
) -> None:
    with a_disk(tmp_path / "disk", 4_500_000) as disk:
        assert 2 == retime("render", film / "map.yaml", "-o", disk, *ALONE).code
        kept = nothing_is_spoilt(disk)
        assert kept
        assert 0 == tool("mount", "-o", f"remount,ro,size={ROOM}", disk)
        ran = retime("render", film / "map.yaml", "-o", disk, *ALONE)

        assert 2 == ran.code
        assert READ_ONLY == ran.messages.splitlines()[-1].partition(": ")[2]
        assert kept == nothing_is_spoilt(disk)

        assert 0 == tool("mount", "-o", "remount,rw", disk)
        again = retime("render", film / "map.yaml", "-o", disk, *ALONE)
        assert 0 == again.code, again.messages
        assert f"goes on: {kept} of {PIECES} pieces" in again.messages
        assert undisturbed == known(disk)


def test_a_piece_that_the_journal_could_not_take_is_not_counted_as_kept(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(path: Path) -> None:
        raise OSError(errno.ENOSPC, "No space left on device", str(path))

    told = Journal(tmp_path / ".x.pieces", {"the map": "1"})
    told.open()
    told.add("0-0", Made())
    with monkeypatch.context() as patch:
        patch.setattr(journal, "flush_to_disk", full)
        with pytest.raises(OutputError, match=FULL):
            told.add("0-1", Made())

    assert {"0-0"} == set(told.pieces)
    assert {"0-0"} == set(Journal(tmp_path / ".x.pieces", {"the map": "1"}).pieces)
