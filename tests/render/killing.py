"""Renders that are killed, with nobody left at work for them."""

from __future__ import annotations

import os
import signal
import subprocess
import time
from contextlib import suppress
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

__all__ = ["killed"]

PATIENCE = 60.0  # seconds in which workers end that nobody wants any more


def killed(
    arguments: Sequence[str], after: float, environment: Mapping[str, str] | None = None
) -> bool:
    """Run a command, kill it after so many seconds, and await its workers' end.

    False where it had come to its end before.
    """
    with subprocess.Popen(
        arguments,
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
        env={**os.environ, **(environment or {})},
    ) as running:
        with suppress(subprocess.TimeoutExpired):
            assert 0 == running.wait(after)
            return False
        workers = _children(running.pid)
        running.send_signal(signal.SIGKILL)
        running.wait(PATIENCE)
    until = time.monotonic() + PATIENCE
    while any(_lives(one) for one in workers):
        assert time.monotonic() < until, "workers go on though nobody wants their work"
        time.sleep(0.02)
    return True


def _children(pid: int) -> list[int]:
    with suppress(OSError):
        return [int(one) for one in Path(f"/proc/{pid}/task/{pid}/children").read_text().split()]
    return []


def _lives(pid: int) -> bool:
    """Tell whether a process does more than wait for its parent, or init, to note its end."""
    with suppress(OSError):
        return Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()[0] != "Z"
    return False
