"""A cluster whose scheduler or workers are lost: told, and gone on with once they are back."""

from __future__ import annotations

import json
import signal
import subprocess
import sys
import time
from contextlib import contextmanager, suppress
from importlib.util import find_spec
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest
from piecemeal import DELIVERABLES, a_long_film, command, known, left_over
from rendering import retime

from retime.errors import CommandError, RetimeError
from retime.render import cluster
from retime.render.cluster import Cluster
from retime.render.piece_work import Task
from retime.render.pieces import Piece

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

PATIENCE = 120.0
LOOKS = 1000
SMALL = ("--pieces", "4")  # more of them than are finished between two looks
OWED = "".join(f"{line}\n" for line in DELIVERABLES.splitlines() if "blend" not in line)
needs_dask = pytest.mark.skipif(
    find_spec("distributed") is None, reason="the extra cluster is not installed"
)


@pytest.fixture(scope="module")
def film(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a folder with a film, and what is made of it here."""
    folder = tmp_path_factory.mktemp("faults")
    (folder / "here").mkdir()
    done = retime(
        *("render", a_long_film(folder, OWED), "-o", folder / "here"),
        *(*SMALL, "--workers", "1"),
    )
    assert 0 == done.code, done.messages
    return folder


def until(so: Callable[[], bool]) -> None:
    last = time.monotonic() + PATIENCE
    while not so():
        assert time.monotonic() < last
        time.sleep(0.01)


class Processes:
    """A scheduler and workers, started by Dask's own program."""

    def __init__(self, folder: Path) -> None:
        """Start none yet."""
        self.folder = folder
        self.file = folder / "scheduler.json"
        self.all: list[subprocess.Popen[bytes]] = []

    def _dask(self, *arguments: object) -> subprocess.Popen[bytes]:
        beside = Path(sys.executable).with_name("dask")
        program = [str(beside)] if beside.exists() else [sys.executable, "-m", "dask"]
        self.all.append(
            subprocess.Popen(
                [*program, *map(str, arguments)],
                stdout=subprocess.DEVNULL,
                stderr=subprocess.DEVNULL,
                cwd=self.folder,
                start_new_session=True,
            )
        )
        return self.all[-1]

    def scheduler(self) -> subprocess.Popen[bytes]:
        """Start a scheduler, and wait until it has written where it is."""
        self.file.unlink(missing_ok=True)
        started = self._dask(
            *("scheduler", "--host", "127.0.0.1", "--port", "0", "--no-dashboard", "--no-jupyter"),
            *("--scheduler-file", self.file),
        )
        until(lambda: self.file.is_file() and self.file.read_text().strip().endswith("}"))
        return started

    def worker(self) -> subprocess.Popen[bytes]:
        """Start a worker."""
        name = f"w{len(self.all)}"
        return self._dask(
            *("worker", "--scheduler-file", self.file, "--nthreads", "1", "--no-nanny"),
            *("--no-dashboard", "--name", name, "--local-directory", self.folder / name),
        )

    def stop(self) -> None:
        """End all that is still there."""
        for one in self.all:
            if one.poll() is None:
                one.kill()
            one.wait(PATIENCE)


@contextmanager
def processes(folder: Path) -> Iterator[Processes]:
    folder.mkdir()
    started = Processes(folder)
    try:
        yield started
    finally:
        started.stop()


def finished(out: Path) -> int:
    for path in out.glob(".*.pieces/journal.json"):
        with suppress(OSError, ValueError):
            return len(json.loads(path.read_text(encoding="utf-8"))["pieces"])
    return 0


@needs_dask
def test_a_worker_lost_and_then_the_scheduler_and_both_back_it_comes_out_as_here(
    film: Path, tmp_path: Path
) -> None:
    """Both are lost while pieces are still to be made; the same command is given again."""
    out = tmp_path / "out"
    out.mkdir()
    with processes(tmp_path / "cluster") as started:
        scheduler = started.scheduler()
        workers = [started.worker(), started.worker()]
        arguments = command(film / "map.yaml", out, "--cluster", started.file, *SMALL)
        with subprocess.Popen(arguments, stderr=subprocess.PIPE, text=True) as running:
            try:
                until(lambda: finished(out) >= 1 or running.poll() is not None)
                workers[0].send_signal(signal.SIGKILL)
                before = finished(out)
                until(lambda: finished(out) > before or running.poll() is not None)
                scheduler.send_signal(signal.SIGKILL)
                kept = finished(out)
                _, told = running.communicate(timeout=PATIENCE)
            finally:
                running.kill()

        assert kept >= 1, "it was to be lost in the middle"
        assert 3 == running.returncode, told
        assert "is gone, or let go of our pieces" in told.splitlines()[-1]
        assert "the same command goes on from there" in told
        assert "Traceback" not in told
        assert {} == known(out)
        assert 1 == len(left_over(out))

        gone = subprocess.run(
            arguments, capture_output=True, text=True, check=False, timeout=PATIENCE
        )
        assert 2 == gone.returncode, gone.stderr
        assert "no scheduler answers at " in gone.stderr.splitlines()[-1]
        assert finished(out) >= kept

        workers[1].kill()
        started.scheduler()
        started.worker()
        started.worker()
        until(lambda: _workers(started.file) == 2)
        again = subprocess.run(
            arguments, capture_output=True, text=True, check=False, timeout=PATIENCE
        )
        assert 0 == again.returncode, again.stderr
        went_on = next(line for line in again.stderr.splitlines() if line.startswith("goes on: "))
        there, of_all = (int(word) for word in went_on.split() if word.isdecimal())
        # The worker that was left may have made all that it had been handed by then.
        assert kept <= there <= of_all
        assert known(film / "here") == known(out)
        assert [] == left_over(out)


def _workers(file: Path) -> int:
    """Ask a scheduler how many workers it has, from a process of its own."""
    ask = "import sys; from distributed import Client; "
    ask += "print(len(Client(scheduler_file=sys.argv[1], timeout=30).nthreads()))"
    done = subprocess.run(
        [sys.executable, "-c", ask, str(file)], capture_output=True, text=True, check=False
    )
    return int(done.stdout or 0)


@needs_dask
@pytest.mark.parametrize("text", ["", "{", "[]", "{}", '{"address": 5}', '{"address": ""}'])
def test_what_no_scheduler_has_written_is_told(text: str, film: Path, tmp_path: Path) -> None:
    (tmp_path / "out").mkdir()
    (tmp_path / "scheduler.json").write_text(text, encoding="utf-8")
    ran = retime(
        *("render", film / "map.yaml", "-o", tmp_path / "out", *SMALL),
        *("--cluster", tmp_path / "scheduler.json"),
    )

    assert 2 == ran.code, ran.messages
    assert "scheduler.json: is no file that a scheduler has written; " in ran.messages
    assert [] == list((tmp_path / "out").iterdir())


class Pending:
    """A task that nobody makes."""

    status = "pending"


class Failed:
    """A task that has failed in a way that nobody thought of."""

    status = "error"

    def result(self, **_: Any) -> Any:
        """Raise what the task has raised."""
        raise OSError(5, "Input/output error")


class Deserted:
    """Stands for a client of a scheduler that takes everything and has nobody to do it."""

    def __init__(self) -> None:
        """Be heard by nobody yet."""
        self.looks = 0
        self.hears: Callable[[Any], None] = lambda _: None
        self.future: Callable[[], Any] = Pending

    @property
    def status(self) -> str:
        """Whether it goes on; not for ever, so that no test does."""
        self.looks += 1
        return "running" if self.looks < LOOKS else "closed"

    def run(self, function: Callable[..., Any], *told: Any, **_: Any) -> dict[str, Any]:
        """Do what all workers are to do, as one of them."""
        return {"tcp://a:1": function(*told)}

    def subscribe_topic(self, _: str, hears: Callable[[Any], None]) -> None:
        """Take who is to hear of events."""
        self.hears = hears

    def submit(self, *_: Any, **__: Any) -> Any:
        """Take a task."""
        return self.future()

    def nthreads(self) -> dict[str, int]:
        """Return workers and their threads, of which there are none."""
        return {}

    def cancel(self, *_: Any, **__: Any) -> None:
        """Take it."""

    def close(self, **_: Any) -> None:
        """Take it."""


class Counting:
    """Counts pictures, and ends the waiting once it has heard of any."""

    def __init__(self) -> None:
        """Begin with none."""
        self.pictures = 0

    def start(self, pictures: int, note: str) -> None:
        """Ignore it."""

    def advance(self, pictures: int) -> None:
        """Count."""
        self.pictures += pictures

    def finish(self) -> None:
        """Ignore it."""


TASK = Task(number=0, piece=Piece(number=1, runs={}, outputs={}, whole=True))


@pytest.fixture
def deserted(monkeypatch: pytest.MonkeyPatch) -> Deserted:
    client = Deserted()
    monkeypatch.setattr(cluster, "_client", lambda _: client)
    monkeypatch.setattr(cluster, "_look", lambda _: {})
    monkeypatch.setattr(cluster, "_LOOK", 0.0)
    monkeypatch.setattr(cluster, "_ASK", 0.0)
    monkeypatch.setattr(cluster, "_DESERTED", 0.0)
    return client


@pytest.mark.usefixtures("deserted")
def test_nobody_waits_for_ever_for_workers_that_do_not_come_back(tmp_path: Path) -> None:
    crew = Cluster(b"", tmp_path, "tcp://there:1")
    crew.begin([TASK])

    with pytest.raises(RetimeError, match="the cluster at tcp://there:1 has no workers any more"):
        list(crew.ended(Counting()))
    crew.close()
    assert [] == list(tmp_path.iterdir())


@needs_dask
def test_nobody_waits_for_ever_for_a_task_that_has_failed(
    deserted: Deserted, tmp_path: Path
) -> None:
    deserted.future = Failed
    crew = Cluster(b"", tmp_path, "tcp://there:1")
    crew.begin([TASK])

    with pytest.raises(OSError, match="Input/output error"):
        list(crew.ended(Counting()))
    crew.close()


def test_pictures_of_a_piece_that_is_made_again_count_once(
    deserted: Deserted, tmp_path: Path
) -> None:
    """Or a render would be told to have more pictures than there are, and time below none left."""
    crew, counted = Cluster(b"", tmp_path, "tcp://there:1"), Counting()
    crew.begin([TASK])
    for piece, pictures in (("0-1", 20), ("0-1", 45), ("0-2", 10), ("0-1", 15), ("0-1", 50)):
        deserted.hears((0.0, (piece, pictures)))

    with pytest.raises(RetimeError):
        list(crew.ended(counted))
    assert 50 + 10 == counted.pictures
    crew.close()


@pytest.mark.usefixtures("deserted")
def test_a_disk_that_is_gone_disturbs_no_closing(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    crew = Cluster(b"", tmp_path, "tcp://there:1")

    def gone(self: Path, **_: bool) -> None:
        raise OSError(5, "Input/output error", str(self))

    monkeypatch.setattr(Path, "unlink", gone)
    crew.close()


def test_an_address_without_a_scheduler_s_file_is_told(tmp_path: Path) -> None:
    with pytest.raises(CommandError, match="there is no such file; name a scheduler"):
        cluster._written(tmp_path / "s.json")  # noqa: SLF001 - Dask need not be there for it
