"""Has something read, or decoded, in a thread while what came before it is being used.

FFmpeg's own program does the one beside the other; from Python they would take turns. The thread
stops when it is a bound ahead, and ends with whoever takes from it.
"""

from __future__ import annotations

from collections import deque
from threading import Condition, Thread
from typing import TYPE_CHECKING, Generic, TypeVar

if TYPE_CHECKING:
    from collections.abc import Callable, Generator, Iterator

__all__ = ["read_ahead"]

_T = TypeVar("_T")


def read_ahead(source: Generator[_T], weigh: Callable[[_T], int], bound: int) -> Generator[_T]:
    """Yield what ``source`` yields, which runs in a thread of its own.

    No more than ``bound`` waits to be taken, in whatever ``weigh`` tells of a thing; as much
    again may be in the taker's hands. An error of ``source`` is raised at its place.
    """
    ahead = _Ahead(source, weigh, bound)
    try:
        yield from ahead.taken()
    finally:
        ahead.stop()


class _Ahead(Generic[_T]):
    """Runs a generator in a thread, a bounded weight of things ahead."""

    def __init__(self, source: Generator[_T], weigh: Callable[[_T], int], bound: int) -> None:
        self._source = source
        self._weigh = weigh
        self._bound = bound
        self._changed = Condition()
        self._ready: deque[_T] = deque()
        self._weight = 0
        self._ended = False
        self._stopped = False
        self._failure: BaseException | None = None
        # A daemon, so that not even an iterator that nobody closes keeps the program from ending.
        self._thread = Thread(target=self._read, name="read-ahead", daemon=True)
        self._thread.start()

    def _read(self) -> None:
        try:
            for thing in self._source:
                weight = self._weigh(thing)
                with self._changed:
                    while self._weight >= self._bound and not self._stopped:
                        self._changed.wait()
                    if self._stopped:
                        return
                    self._weight += weight
                    self._ready.append(thing)
                    self._changed.notify()
        except BaseException as failure:  # noqa: BLE001 - carried over and raised where it is read
            self._failure = failure
        finally:
            self._source.close()
            with self._changed:
                self._ended = True
                self._changed.notify()

    def taken(self) -> Iterator[_T]:
        """Yield the things in order; raise what the thread raised, at its place."""
        while batch := self._batch():
            yield from batch
        if self._failure is not None:
            raise self._failure

    def _batch(self) -> deque[_T]:
        """Wait for things and return all that are ready; empty when there will be no more."""
        with self._changed:
            while not self._ready and not self._ended:
                self._changed.wait()
            batch, self._ready, self._weight = self._ready, deque(), 0
            self._changed.notify()
            return batch

    def stop(self) -> None:
        """End the thread, whether it has read everything or not."""
        with self._changed:
            self._stopped = True
            self._changed.notify()
        self._thread.join()
