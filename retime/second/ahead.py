"""Pictures taken from the program as soon as it has them, by a thread.

Other streams that it writes come when they come: older versions write some pictures more before
they tell the digest of the first, and would wait for somebody to take them.
"""

from __future__ import annotations

from contextlib import suppress
from queue import Full, Queue
from threading import Event, Thread
from typing import IO, TYPE_CHECKING, Self

if TYPE_CHECKING:
    from collections.abc import Iterator
    from types import TracebackType

__all__ = ["Ahead"]

_MOST = 32
_PATIENCE = 0.1  # seconds


class Ahead:
    """Reads blocks of ``size`` bytes from a stream; leave the block to stop."""

    def __init__(self, out: IO[bytes], size: int) -> None:
        """Begin to read, at most 32 blocks ahead."""
        self._out, self._size = out, size
        self._read: Queue[bytes | None] = Queue(_MOST)
        self._stopped = Event()
        self._thread = Thread(target=self._take, daemon=True)
        self._thread.start()

    def __iter__(self) -> Iterator[bytes]:
        """Yield the blocks; a last one that is cut short is none."""
        while (block := self._read.get()) is not None:
            yield block

    def _take(self) -> None:
        with suppress(OSError, ValueError):  # the program is gone, or its pipe is closed
            while len(block := self._out.read(self._size)) == self._size:
                if not self._put(block):
                    return
        self._put(None)

    def _put(self, block: bytes | None) -> bool:
        while not self._stopped.is_set():
            with suppress(Full):
                self._read.put(block, timeout=_PATIENCE)
                return True
        return False

    def __enter__(self) -> Self:
        """Return the reader."""
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        """Stop reading; the thread goes once the program writes no more."""
        self._stopped.set()
