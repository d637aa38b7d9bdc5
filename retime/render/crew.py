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
from retime.interrupts import uninterrupted
from retime.media.memory import keep_freed
from retime.render.piece_work import make_piece

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Sequence

    from retime.render.piece_work import Ended, Task
    from retime.render.progress import Progress

__all__ = ["Alone", "Crew", "Pool", "cores"]

_LOOK = 0.2  # seconds between two looks at how far workers are
_PATIENCE = 5.0  # seconds that workers have to stop before they are ended
_GONE = "a worker was ended from outside, perhaps for want of memory"


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
    """Processes of this machine, started anew so that they share nothing but what they are told.

    Where one of them is gone, the others are let go, and new ones make what is left. Nobody waits
    for a lock that one who is gone may have held.
    """

    def __init__(self, brief: bytes, workers: int, tell: Callable[[str], None]) -> None:
        """Start none yet; they heed no interrupt, which is this process's to heed.

        ``tell`` hears of workers that are gone.
        """
        self._brief, self._workers, self._say = brief, workers, tell
        self._seen = self._finished = 0
        self._left: dict[Future[Ended], Task] = {}
        self._others = set(multiprocessing.active_children())
        self._broken = False
        self._open()

    def _open(self) -> None:
        """Get ready to start processes, which have still to make what no piece is finished of."""
        context = multiprocessing.get_context("spawn")
        self._done, self._stop = context.Value("q", self._finished), context.RawValue("b", 0)
        with uninterrupted():
            self._executor = ProcessPoolExecutor(
                self._workers, context, _begin, (self._brief, self._done, self._stop)
            )

    def begin(self, tasks: Sequence[Task]) -> None:
        """Hand out what is to be made; raises RetimeError as ``ended``."""
        self._left.clear()
        try:
            with uninterrupted(), _unseen():  # processes are started as they are needed
                for task in tasks:
                    self._left[self._executor.submit(_make, task)] = task
        except BrokenProcessPool as error:
            self._begin_anew(tasks, error)

    def ended(self, progress: Progress) -> Iterator[Ended]:
        """Yield each task as it ends.

        Raises RetimeError where workers are gone for the second time since a piece was finished.
        """
        while self._left:
            with uninterrupted():
                ended, _ = wait(self._left, timeout=_LOOK, return_when=FIRST_COMPLETED)
            self._tell(progress)
            error = None
            for future in ended:
                try:
                    with uninterrupted():
                        made = future.result()
                except BrokenProcessPool as broken:
                    error = broken
                    continue
                self._finished += self._left.pop(future).piece.frames
                self._broken = False
                yield made
            if error is not None:
                self._begin_anew(list(self._left.values()), error)

    def _begin_anew(self, tasks: Sequence[Task], error: BrokenProcessPool) -> None:
        """Have new processes make what is left; no piece that takes all down is tried for ever."""
        if self._broken:
            raise RetimeError(f"{_GONE}: take fewer --workers") from error
        self._broken = True
        self._say(f"{_GONE}; what it was at is made again")
        with uninterrupted():  # between the two there would be nobody to let go
            self._let_go()
            self._open()
        self.begin(tasks)

    def _tell(self, progress: Progress) -> None:
        done = self._done.get_obj().value
        if done > self._seen:
            progress.advance(done - self._seen)
            self._seen = done

    def close(self) -> None:
        """Have workers stop at their next picture, and end those that do not."""
        self._let_go()

    def _let_go(self) -> None:
        """End all of them, and give back what was shared: Python tells of locks that are left."""
        self._stop.value = 1
        # It waits for the pool's own thread, and that for locks: not here, and not for ever.
        closing = Thread(
            target=self._executor.shutdown, kwargs={"cancel_futures": True}, daemon=True
        )
        with uninterrupted():
            closing.start()
            until = time.monotonic() + _PATIENCE
            for process in set(multiprocessing.active_children()) - self._others:
                process.join(max(0.0, until - time.monotonic()))
                if process.is_alive():
                    process.kill()
                    process.join()
            closing.join(_PATIENCE)
            del self._executor, self._done


@contextmanager
def _unseen() -> Iterator[None]:
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
    keep_freed()
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
