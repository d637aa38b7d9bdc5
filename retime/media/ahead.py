"""Has something read, or decoded, in a thread while what came before it is being used.

FFmpeg's own program does the one beside the other; from Python they would take turns. The thread
stops when it is a bound ahead, and ends with whoever takes from it.

An interrupt may strike whoever takes anywhere, so nothing that it does holds a lock: a Condition
whose taker is interrupted just after it has taken the lock would keep the thread, and then the
program, for ever. A SimpleQueue is whole at every moment.
"""

from __future__ import annotations

from contextlib import closing
from queue import SimpleQueue
from threading import Thread
from typing import TYPE_CHECKING, Generic, TypeVar

from retime.interrupts import uninterrupted

if TYPE_CHECKING:
    from collections.abc import Callable, Generator, Iterator

__all__ = ["read_ahead"]

_T = TypeVar("_T")


def read_ahead(source: Generator[_T], weigh: Callable[[_T], int], bound: int) -> Generator[_T]:
    """Yield what ``source`` yields, which runs in a thread of its own.

    No more than ``bound`` waits to be taken, in whatever ``weigh`` tells of a thing, but for the
    last one. An error of ``source`` is raised at its place.
    """
    ahead = _Ahead(source, weigh, bound)
    try:
        ahead.start()
        yield from ahead.taken()
    finally:
        ahead.stop()


class _Ahead(Generic[_T]):
    """Runs a generator in a thread, a bounded weight of things ahead."""

    def __init__(self, source: Generator[_T], weigh: Callable[[_T], int], bound: int) -> None:
        self._source = source
        self._weigh = weigh
        self._bound = bound
        self._ready: SimpleQueue[tuple[_T, int] | None] = SimpleQueue()
        self._freed: SimpleQueue[int] = SimpleQueue()
        self._started = self._stopped = False
        self._failure: BaseException | None = None
        # A daemon, so that not even an iterator that nobody closes keeps the program from ending.
        self._thread = Thread(target=self._read, name="read-ahead", daemon=True)

    def start(self) -> None:
        """Begin to read."""
        with uninterrupted():
            self._thread.start()
            self._started = True

    def _read(self) -> None:
        waiting = 0
        try:
            with closing(self._source) as source:
                for thing in source:
                    weight = self._weigh(thing)
                    while waiting >= self._bound and not self._stopped:
                        waiting -= self._freed.get()
                    if self._stopped:
                        return
                    waiting += weight
                    self._ready.put((thing, weight))
        except BaseException as failure:  # noqa: BLE001 - carried over and raised where it is read
            self._failure = failure
        finally:
            self._ready.put(None)

    def taken(self) -> Iterator[_T]:
        """Yield the things in order; raise what the thread raised, at its place.

        The thread is told of half a bound at a time, that the two need not take turns for each.
        """
        freed = 0
        while (one := self._ready.get()) is not None:
            thing, weight = one
            freed += weight
            if 2 * freed >= self._bound:
                self._freed.put(freed)
                freed = 0
            yield thing
        if self._failure is not None:
            raise self._failure

    def stop(self) -> None:
        """End the thread, whether it has read everything or not."""
        self._stopped = True
        self._freed.put(0)
        if self._started:
            self._thread.join()
