"""The program run in this process, by the clock as well as by the processor."""

from __future__ import annotations

import io
import signal
import sys
from contextlib import contextmanager, redirect_stderr, redirect_stdout
from typing import TYPE_CHECKING

from retime.cli.main import run

if TYPE_CHECKING:
    from collections.abc import Iterator
    from types import FrameType

__all__ = ["LAMP", "retime"]

_LONGEST = 60  # seconds of a machine that may be busy

LAMP = """\
format: retime-map/1
film: Lamp
gauge: 35mm
reels:
  - reel: 1
    scan: lamp.mkv
    first: 0
    last: 23
shots:
  - {reel: 1, first: 0, last: 11, shot: 1}
  - {reel: 1, first: 12, last: 23, shot: 2, kind: title}
versions:
  slow: {speed: 18 fps}
deliverables:
  master:
    version: slow
    profile: ffv1-master
    rate: 24
"""
"""A sound map of one reel of 24 frames."""


class WaitedError(AssertionError):
    """The program waited for something that may never come."""


def retime(*arguments: object) -> tuple[int, str]:
    """Run a command as a user would; return its exit code and all that it said."""
    said, before = io.StringIO(), sys.argv
    handlers = {one: signal.getsignal(one) for one in (signal.SIGINT, signal.SIGTERM)}
    sys.argv = ["retime", *map(str, arguments)]
    code: object = None
    try:
        with _not_for_ever(), redirect_stdout(said), redirect_stderr(said):
            run()
    except SystemExit as ended:
        code = ended.code
    finally:
        sys.argv = before
        for one, handler in handlers.items():
            signal.signal(one, handler)
    assert isinstance(code, int)
    return code, said.getvalue()


@contextmanager
def _not_for_ever() -> Iterator[None]:
    """Stop what waits: a pipe that nobody writes into takes no time of the processor."""
    before = signal.signal(signal.SIGALRM, _stop)
    signal.setitimer(signal.ITIMER_REAL, _LONGEST)
    try:
        yield
    finally:
        signal.setitimer(signal.ITIMER_REAL, 0)
        signal.signal(signal.SIGALRM, before)


def _stop(_signal: int, _frame: FrameType | None) -> None:
    raise WaitedError
