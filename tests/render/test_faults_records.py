"""What workers have finished is not lost because who leads was busy, and was then killed."""

from __future__ import annotations

import signal
import subprocess
import sys
import time
from typing import TYPE_CHECKING

import pytest
from piecemeal import a_long_film, known, left_over
from rendering import retime

from retime.render.piece_files import Made
from retime.render.records import leave_record, mark_of, records_in

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping
    from pathlib import Path

    from piecemeal import Known

PATIENCE = 240.0
PIECES = 13
# A copy that takes as long as that of a feature does, in the process that leads.
BUSY = """\
import sys, time
from retime.render.copying import PacketCopy
PacketCopy.feed = lambda *_: time.sleep(600)
from retime.cli.main import program
sys.argv = ["retime", *sys.argv[1:]]
program()
"""


@pytest.fixture(scope="module")
def film(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a folder with a film, and what comes of it when nobody is busy."""
    folder = tmp_path_factory.mktemp("records")
    (folder / "undisturbed").mkdir()
    done = retime(
        *("render", a_long_film(folder), "-o", folder / "undisturbed"),
        *("--pieces", "9", "--workers", "1"),
    )
    assert 0 == done.code, done.messages
    return folder


@pytest.fixture(scope="module")
def undisturbed(film: Path) -> dict[str, Known]:
    return known(film / "undisturbed")


@pytest.fixture
def busy(film: Path, tmp_path: Path) -> Iterator[subprocess.Popen[str]]:
    """Give a render whose workers have finished all pieces, and that is busy with a copy."""
    arguments = ("render", film / "map.yaml", "-o", tmp_path, "--pieces", "9", "--workers", "2")
    with subprocess.Popen(
        [sys.executable, "-c", BUSY, *map(str, arguments)], stderr=subprocess.PIPE, text=True
    ) as running:
        try:
            until = time.monotonic() + PATIENCE
            while len(list(tmp_path.glob(".*.pieces/*.made"))) < PIECES:
                assert running.poll() is None, running.communicate()
                assert time.monotonic() < until
                time.sleep(0.02)
            yield running
        finally:
            running.kill()


def test_killed_while_it_copies_it_makes_no_piece_again(
    busy: subprocess.Popen[str], film: Path, undisturbed: Mapping[str, Known], tmp_path: Path
) -> None:
    busy.send_signal(signal.SIGKILL)
    busy.wait()
    again = retime("render", film / "map.yaml", "-o", tmp_path, "--pieces", "9", "--workers", "1")

    assert 0 == again.code, again.messages
    assert f"goes on: {PIECES} of {PIECES} pieces are there already" in again.messages
    assert undisturbed == known(tmp_path)
    assert [] == left_over(tmp_path)


def test_interrupted_while_it_copies_it_keeps_what_is_finished(
    busy: subprocess.Popen[str], tmp_path: Path
) -> None:
    busy.send_signal(signal.SIGINT)
    _, told = busy.communicate(timeout=PATIENCE)

    assert 130 == busy.returncode
    assert f"{PIECES} of {PIECES} pieces are finished and kept" in told
    assert {} == known(tmp_path)


def test_a_record_by_other_decisions_or_of_another_make_is_as_none(tmp_path: Path) -> None:
    ours, others = mark_of({"the map": "1"}), mark_of({"the map": "2"})
    leave_record(tmp_path, "0-1", Made(stores={"x": "0-1-0.packets"}), ours)
    leave_record(tmp_path, "0-2", Made(), others)
    (tmp_path / "0-3.made").write_text("{", encoding="utf-8")
    (tmp_path / "0-4.made").symlink_to(tmp_path / "0-1.made")

    assert {"0-1": Made(stores={"x": "0-1-0.packets"})} == records_in(tmp_path, ours)
    assert {} == records_in(tmp_path / "nowhere", ours)
