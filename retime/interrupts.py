"""When a signal that asks the program to end may strike.

Python lets a signal's handler run between any two steps of the main thread. One that raises
inside the standard library's pools may leave a lock taken that a thread then waits for, and the
program with it, for ever. What touches such locks is therefore done in ``uninterrupted()``.
"""

from __future__ import annotations

import signal
from contextlib import contextmanager
from threading import current_thread, main_thread
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterator
    from types import FrameType

__all__ = ["heed_signals", "uninterrupted"]


class _State:
    """How many hold signals back, and whether one has come meanwhile."""

    holding = 0
    waiting = False


def heed_signals() -> None:
    """Have an interrupt and a request to terminate stop the program in the same way."""
    signal.signal(signal.SIGINT, _stop)
    signal.signal(signal.SIGTERM, _stop)


def _heed_no_more(_signal: int, _frame: FrameType | None) -> None:
    """Do nothing: where a signal that is under way is told to be ignored, Python complains."""


def _stop(_signal: int, _frame: FrameType | None) -> None:
    """Interrupt what is going on, once: a second signal may not disturb the tidying up."""
    if signal.getsignal(signal.SIGINT) is _heed_no_more:
        return  # it came together with the first, and was waiting for its turn
    signal.signal(signal.SIGINT, _heed_no_more)
    signal.signal(signal.SIGTERM, _heed_no_more)
    if _State.holding:
        _State.waiting = True
    else:
        raise KeyboardInterrupt


@contextmanager
def uninterrupted() -> Iterator[None]:
    """Have a signal that comes meanwhile strike at the end, and soon; other threads see none."""
    if current_thread() is not main_thread():
        yield
        return
    _State.holding += 1
    try:
        yield
    finally:
        _State.holding -= 1
    if _State.waiting and not _State.holding:
        _State.waiting = False
        raise KeyboardInterrupt
