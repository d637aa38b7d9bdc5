"""Has a growing file written to disk while it grows, so that its last flush finds little to do.

Left alone, the system keeps gigabytes in memory and writes them when the file is flushed, with
everybody waiting. Measured: a copy of 2 GB took 10.3 s without this and 5.3 to 6.8 s with it.
An Event would not do: an interrupt that strikes inside its set() leaves it locked.
"""

from __future__ import annotations

import os
from queue import SimpleQueue
from threading import Thread
from typing import TYPE_CHECKING

from retime.interrupts import uninterrupted

if TYPE_CHECKING:
    from pathlib import Path

__all__ = ["Writeback"]

_EVERY = 128_000_000  # bytes


class Writeback:
    """Flushes one file from a thread, whenever ``every`` bytes more have been added to it."""

    def __init__(self, path: Path, every: int = _EVERY) -> None:
        """Take the file's path; nothing is opened before there is something to flush."""
        self._path, self._every = path, every
        self._unflushed = 0
        self._due: SimpleQueue[None] = SimpleQueue()
        self._ended = False
        self._thread: Thread | None = None

    def add(self, count: int) -> None:
        """Take that ``count`` more bytes went into the file."""
        self._unflushed += count
        if self._unflushed < self._every:
            return
        self._unflushed = 0
        if self._thread is None:
            with uninterrupted():
                self._thread = Thread(target=self._run, name="writeback", daemon=True)
                self._thread.start()
        self._due.put(None)

    def _run(self) -> None:
        try:
            handle = os.open(self._path, os.O_RDONLY)
        except OSError:
            return  # whoever writes the file is told, and so is whoever flushes it last
        try:
            while True:
                self._due.get()
                if self._ended:
                    return
                os.fdatasync(handle)
        except OSError:
            return
        finally:
            os.close(handle)

    def stop(self) -> None:
        """End the thread; what is not flushed yet is left to the last flush."""
        self._ended = True
        self._due.put(None)
        if self._thread is not None:
            self._thread.join()
