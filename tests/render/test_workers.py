"""However many make the pieces, the result is the same, and an end of one is the end of all."""

from __future__ import annotations

import json
import os
import pickle
import signal
import subprocess
import time
from contextlib import closing, suppress
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from piecemeal import a_long_film, command, known, left_over
from rendering import retime

from retime.errors import RetimeError
from retime.render.crew import Pool
from retime.render.piece_work import Task
from retime.render.pieces import Piece
from retime.render.progress import Silent

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

    from piecemeal import Known

PATIENCE = 60.0
GONE = "a worker was ended from outside, perhaps for want of memory"


@pytest.fixture(scope="module")
def film(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a folder with a film, and what one worker makes of it."""
    folder = tmp_path_factory.mktemp("workers")
    (folder / "one").mkdir()
    done = retime(
        *("render", a_long_film(folder), "-o", folder / "one", "--pieces", "9", "--workers", "1")
    )
    assert 0 == done.code, done.messages
    return folder


@pytest.fixture(scope="module")
def one(film: Path) -> dict[str, Known]:
    return known(film / "one")


def test_two_workers_make_what_one_makes(
    film: Path, one: Mapping[str, Known], tmp_path: Path
) -> None:
    """Streams too, whose rate control would tell where one encoder ends and the next begins."""
    ran = retime("render", film / "map.yaml", "-o", tmp_path, "--pieces", "9", "--workers", "2")

    assert 0 == ran.code, ran.messages
    assert one == known(tmp_path)
    assert [] == left_over(tmp_path)
    assert " pictures in " in ran.messages


def started(film: Path, out: Path, *more: str) -> subprocess.Popen[str]:
    """Start a render with two workers in a group of processes of its own, as a shell does."""
    return subprocess.Popen(
        command(film / "map.yaml", out, "--workers", "2", *more),
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        start_new_session=True,
    )


def once(running: subprocess.Popen[str], so: Callable[[], bool]) -> None:
    """Wait until something is so, while a render goes on."""
    until = time.monotonic() + PATIENCE
    while not so():
        assert running.poll() is None, running.communicate()
        assert time.monotonic() < until
        time.sleep(0.01)


def some_finished(out: Path, before: int = 0) -> bool:
    """Tell whether a piece stands in the journal, more than there were before."""
    return finished(out) > before


def finished(out: Path) -> int:
    """Return how many pieces stand in the journal."""
    journals = out.glob(".*.pieces/journal.json")
    return sum(len(json.loads(path.read_text())["pieces"]) for path in journals)


def workers_of(pid: int) -> list[int]:
    """Return the processes that a render has started to make pieces."""
    with suppress(OSError):
        children = Path(f"/proc/{pid}/task/{pid}/children").read_text().split()
        return [int(one) for one in children if b"spawn_main" in _line(int(one))]
    return []


def _line(pid: int) -> bytes:
    with suppress(OSError):
        return Path(f"/proc/{pid}/cmdline").read_bytes()
    return b""


@pytest.mark.parametrize("number", [signal.SIGINT, signal.SIGTERM])
def test_an_interrupt_of_the_whole_group_is_heeded_once_and_ends_all(
    number: signal.Signals, film: Path, tmp_path: Path
) -> None:
    """A terminal sends Ctrl-C to every process of a group; workers leave it to who leads."""
    with started(film, tmp_path) as running:
        once(running, lambda: some_finished(tmp_path))
        workers = workers_of(running.pid)
        if number == signal.SIGINT:
            os.killpg(running.pid, number)
        else:
            running.send_signal(number)
        _, told = running.communicate(timeout=PATIENCE)

    assert 130 == running.returncode
    assert "Traceback" not in told
    assert "the same command goes on from there" in told
    assert "interrupted; nothing unfinished is left behind" == told.splitlines()[-1]
    assert len(workers) == 2
    assert not any(_line(one) for one in workers)
    assert {} == known(tmp_path)
    (folder,) = left_over(tmp_path)
    assert not list((tmp_path / folder).glob(".*"))


@pytest.mark.parametrize("times", [1, 2])
def test_workers_that_are_killed_are_told_each_time_and_the_render_goes_on(
    times: int, film: Path, one: Mapping[str, Known], tmp_path: Path
) -> None:
    """The second time not before the workers that were started anew have finished a piece."""
    there = 0
    with started(film, tmp_path) as running:
        for _ in range(times):
            once(running, partial(some_finished, tmp_path, there))
            there = finished(tmp_path) + 1  # one may have been on its way
            os.kill(workers_of(running.pid)[0], signal.SIGKILL)
        _, told = running.communicate(timeout=PATIENCE)

    assert 0 == running.returncode, told
    assert times == told.count(GONE)
    assert one == known(tmp_path)
    assert [] == left_over(tmp_path)


class Deadly:
    """What ends the process that unpickles it."""

    def __reduce__(self) -> tuple[Callable[[int], object], tuple[int]]:
        """Have it exit."""
        return os._exit, (9,)


def test_workers_that_always_die_are_told_and_given_up_when_no_piece_was_finished() -> None:
    """A machine without memory would kill them for ever."""
    told: list[str] = []
    tasks = [Task(number=0, piece=Piece(number=n, runs={}, outputs={})) for n in range(3)]
    with closing(Pool(pickle.dumps(Deadly()), 2, told.append)) as pool:
        pool.begin(tasks)
        with pytest.raises(RetimeError, match=f"{GONE}: take fewer --workers"):
            list(pool.ended(Silent()))

    assert [f"{GONE}; what it was at is made again"] == told


def test_two_renders_into_one_folder_refuse_each_other(film: Path, tmp_path: Path) -> None:
    with started(film, tmp_path) as running:
        once(running, lambda: some_finished(tmp_path))
        other = retime("render", film / "map.yaml", "once-25", "-o", tmp_path)
        running.send_signal(signal.SIGINT)
        running.communicate(timeout=PATIENCE)

    assert 2 == other.code
    assert f"{tmp_path}: is being rendered into; wait for the other render" in other.messages
    assert 0 == retime("render", film / "map.yaml", "once-25", "-o", tmp_path).code
