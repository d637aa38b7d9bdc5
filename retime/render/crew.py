"""Who makes pieces: this process itself, or a pool of processes beside it."""

from __future__ import annotations

import multiprocessing
import os
import signal
import time
from concurrent.futures import FIRST_COMPLETED, Future, ProcessPoolExecutor, wait
from concurrent.futures.process import BrokenProcessPool
from contextlib import contextmanager
from multiprocessing import resource_tracker
from threading import Thread
from typing import TYPE_CHECKING, Any, Protocol

from retime.errors import Interrupted, RetimeError
from retime.render.piece_work import make_piece

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from retime.render.piece_work import Ended, Task
    from retime.render.progress import Progress

__all__ = ["Alone", "Crew", "Pool", "cores"]

_LOOK = 0.2  # seconds between two looks at how far workers are
_PATIENCE = 5.0  # seconds that workers have to stop before they are ended


class Crew(Protocol):
    """Makes pieces."""

    def begin(self, tasks: Sequence[Task]) -> None:
        """Take what is to be made next, and begin with it where others do the work."""

    def ended(self, progress: Progress) -> Iterator[Ended]:
        """Yield each task as it ends, in whatever order; raises what goes wrong with any."""

    def close(self) -> None:
        """Stop what is under way, and let everybody go."""


def cores() -> int:
    """Return how many cores this process may use."""
    return len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1


class Alone:
    """This process, one piece after the other."""

    def __init__(self, brief: bytes) -> None:
        """Take what all pieces have in common."""
        self._brief = brief
        self._tasks: Sequence[Task] = ()

    def begin(self, tasks: Sequence[Task]) -> None:
        """Take what is to be made."""
        self._tasks = tasks

    def ended(self, progress: Progress) -> Iterator[Ended]:
        """Make one after the other, and yield each."""
        for task in self._tasks:
            yield make_piece(self._brief, task, progress)

    def close(self) -> None:
        """Nobody is to be let go."""


class Pool:
    """Processes of this machine, started anew so that they share nothing but what they are told."""

    def __init__(self, brief: bytes, workers: int) -> None:
        """Start none yet; they heed no interrupt, which is this process's to heed."""
        context = multiprocessing.get_context("spawn")
        self._done, self._stop = context.Value("q", 0), context.Value("b", 0)
        self._seen = 0
        self._left: set[Future[Ended]] = set()
        self._others = set(multiprocessing.active_children())
        self._executor = ProcessPoolExecutor(
            workers, context, _begin, (brief, self._done, self._stop)
        )

    def begin(self, tasks: Sequence[Task]) -> None:
        """Hand out what is to be made."""
        with _broken_told(), _uninterrupted():  # processes are started as they are needed
            self._left = {self._executor.submit(_make, task) for task in tasks}

    def ended(self, progress: Progress) -> Iterator[Ended]:
        """Yield each task as it ends; raises RetimeError where a worker is gone."""
        with _broken_told():
            while self._left:
                ended, self._left = wait(self._left, timeout=_LOOK, return_when=FIRST_COMPLETED)
                self._tell(progress)
                yield from (one.result() for one in ended)

    def _tell(self, progress: Progress) -> None:
        done = self._done.value
        if done > self._seen:
            progress.advance(done - self._seen)
            self._seen = done

    def close(self) -> None:
        """Have workers stop at their next picture, and end those that do not."""
        self._stop.value = 1
        self._executor.shutdown(wait=False, cancel_futures=True)
        until = time.monotonic() + _PATIENCE
        for process in set(multiprocessing.active_children()) - self._others:
            process.join(max(0.0, until - time.monotonic()))
            if process.is_alive():
                process.kill()
                process.join()


@contextmanager
def _broken_told() -> Iterator[None]:
    try:
        yield
    except BrokenProcessPool as error:
        raise RetimeError(
            "a worker was ended from outside, perhaps for want of memory: take fewer --workers"
        ) from error


@contextmanager
def _uninterrupted() -> Iterator[None]:
    """Hold interrupts back meanwhile; processes that are started then never see any."""
    resource_tracker.ensure_running()  # its start would let them through again
    before = signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGINT})
    try:
        yield
    finally:
        signal.pthread_sigmask(signal.SIG_SETMASK, before)


class _Counting:
    """Counts pictures where the process that leads sees them, and heeds its stopping."""

    def __init__(self, done: Any, stop: Any) -> None:
        self._done = done
        self._stop = stop

    def start(self, pictures: int, note: str) -> None:
        """Ignore it."""

    def advance(self, pictures: int) -> None:
        if self._stop.value:
            raise Interrupted("stopped by the render that this piece is of")
        with self._done.get_lock():
            self._done.value += pictures

    def finish(self) -> None:
        """Ignore it."""


_AT_WORK: tuple[bytes, _Counting] | None = None


def _begin(brief: bytes, done: Any, stop: Any) -> None:
    """Make a worker ready."""
    global _AT_WORK  # noqa: PLW0603 - what a pool's initialiser leaves to its tasks
    Thread(target=_end_with_parent, name="parent", daemon=True).start()
    _AT_WORK = brief, _Counting(done, stop)


def _end_with_parent() -> None:
    parent = multiprocessing.parent_process()
    if parent is not None:
        parent.join()
        os._exit(1)


def _make(task: Task) -> Ended:
    if _AT_WORK is None:
        raise AssertionError("the worker was not made ready")
    brief, counting = _AT_WORK
    return make_piece(brief, task, counting)
