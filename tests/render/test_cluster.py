"""A Dask cluster, started by its own command line tools, makes what this machine makes alone."""

from __future__ import annotations

import json
import os
import shutil
import signal
import subprocess
import sys
import time
from contextlib import contextmanager, suppress
from importlib.util import find_spec
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from piecemeal import DELIVERABLES, a_long_film, command, known, left_over
from rendering import retime

from retime.errors import CommandError, ScanError
from retime.render.cluster import compare

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Mapping

    from piecemeal import Known

pytestmark = pytest.mark.skipif(
    find_spec("distributed") is None, reason="the extra cluster is not installed"
)

PATIENCE = 60.0
OWED = "".join(f"{line}\n" for line in DELIVERABLES.splitlines() if "blend" not in line)


@pytest.fixture(scope="module")
def film(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a folder with a film, and what is made of it here."""
    folder = tmp_path_factory.mktemp("cluster")
    (folder / "here").mkdir()
    done = retime(
        *("render", a_long_film(folder, OWED), "-o", folder / "here"),
        *("--pieces", "9", "--workers", "1"),
    )
    assert 0 == done.code, done.messages
    return folder


@pytest.fixture(scope="module")
def here(film: Path) -> dict[str, Known]:
    return known(film / "here")


class Started:
    """A scheduler and workers, each a process of its own."""

    def __init__(self, folder: Path) -> None:
        """Start a scheduler, which writes where it is into a file."""
        self.file = folder / "scheduler.json"
        self._folder = folder
        self.workers: list[subprocess.Popen[bytes]] = []
        self.scheduler = self._dask(
            *("scheduler", "--host", "127.0.0.1", "--port", "0", "--no-dashboard", "--no-jupyter"),
            *("--scheduler-file", self.file),
        )
        _until(lambda: self.file.is_file() and bool(self.file.read_text().strip()))

    def _dask(self, *arguments: object, **more: str) -> subprocess.Popen[bytes]:
        return subprocess.Popen(
            [sys.executable, "-m", "dask", *map(str, arguments)],
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
            cwd=self._folder,
            env={**os.environ, **more},
            start_new_session=True,
        )

    def add_worker(self, **more: str) -> None:
        """Start a worker."""
        name = f"w{len(self.workers)}"
        self.workers.append(
            self._dask(
                *("worker", "--scheduler-file", self.file, "--nthreads", "1", "--no-nanny"),
                *("--no-dashboard", "--name", name, "--local-directory", self._folder / name),
                **more,
            )
        )

    def stop(self) -> None:
        """End all that is still there."""
        for one in (*self.workers, self.scheduler):
            if one.poll() is None:
                one.kill()
            one.wait(PATIENCE)


def _until(so: Callable[[], bool]) -> None:
    until = time.monotonic() + PATIENCE
    while not so():
        assert time.monotonic() < until
        time.sleep(0.02)


@contextmanager
def a_cluster(folder: Path, workers: int) -> Iterator[Started]:
    folder.mkdir()
    started = Started(folder)
    try:
        for _ in range(workers):
            started.add_worker()
        yield started
    finally:
        started.stop()


def _finished(out: Path) -> int:
    for path in out.glob(".*.pieces/journal.json"):
        with suppress(OSError):
            return len(json.loads(path.read_text())["pieces"])
    return 0


def test_two_workers_make_what_is_made_here_though_one_of_them_is_killed(
    film: Path, here: Mapping[str, Known], tmp_path: Path
) -> None:
    """And when the scheduler is lost, what is finished is kept and gone on with, here or there."""
    out = tmp_path / "out"
    out.mkdir()
    with a_cluster(tmp_path / "cluster", 2) as cluster:
        arguments = command(film / "map.yaml", out, "--cluster", cluster.file)
        with subprocess.Popen(arguments, stderr=subprocess.PIPE, text=True) as running:
            _until(lambda: _finished(out) > 0 or running.poll() is not None)
            cluster.workers[0].send_signal(signal.SIGKILL)
            _, told = running.communicate(timeout=PATIENCE)
        assert 0 == running.returncode, told
        assert here == known(out)
        assert [] == left_over(out)

        shutil.rmtree(out)
        out.mkdir()
        with subprocess.Popen(arguments, stderr=subprocess.PIPE, text=True) as running:
            _until(lambda: _finished(out) > 0 or running.poll() is not None)
            cluster.scheduler.send_signal(signal.SIGKILL)
            _, told = running.communicate(timeout=PATIENCE)
        assert 3 == running.returncode, told
        assert "is gone, or let go of our pieces" in told
        assert "the same command goes on from there" in told
        assert "Traceback" not in told, told
        assert {} == known(out)

    again = retime("render", film / "map.yaml", "-o", out, "--pieces", "9", "--workers", "1")
    assert 0 == again.code, again.messages
    assert "goes on: " in again.messages
    assert here == known(out)


def test_a_scheduler_that_is_not_there_is_told(film: Path, tmp_path: Path) -> None:
    ran = retime(
        *("render", film / "map.yaml", "-o", tmp_path, "--pieces", "9"),
        *("--cluster", tmp_path / "scheduler.json"),
    )

    assert 2 == ran.code
    assert "scheduler.json: there is no such file; name a scheduler" in ran.messages
    assert [] == list(tmp_path.iterdir())


def test_what_a_worker_sees_otherwise_is_told_by_worker_and_by_path() -> None:
    own = {"scan, /s/1.mkv": "100 abc", "folder, /out": "there: True"}
    alike = {"tcp://a:1": dict(own), "tcp://b:2": dict(own)}
    compare(own, alike, "sees another")

    other = alike | {"tcp://b:2": own | {"scan, /s/1.mkv": "100 abd"}}
    with pytest.raises(
        CommandError, match=r"worker tcp://b:2 sees another scan, /s/1\.mkv; workers"
    ):
        compare(own, other, "sees another")
    gone = alike | {"tcp://a:1": ScanError(Path("/s/1.mkv"), "is not there")}
    with pytest.raises(CommandError, match=r"worker tcp://a:1: /s/1\.mkv: is not there; see to it"):
        compare(own, gone, "sees another")
