"""How much is fuzzed, and what no reader may take: ten seconds, a gigabyte, another's error.

``RETIME_FUZZ_SECONDS`` is how long all fuzzing of text together may take, roughly: it scales the
numbers of examples, by what one costs. Unasked it is little, and the examples are the same every
time; asked for more, they are new ones in every run.
"""

from __future__ import annotations

import os
import resource
import signal
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

from hypothesis import HealthCheck, settings

from retime.errors import DocumentError, RetimeError

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator
    from types import FrameType

__all__ = ["SECONDS", "budget", "ended_well", "held_to_limits", "many"]

_USUAL = 20.0
SECONDS = float(os.environ.get("RETIME_FUZZ_SECONDS", _USUAL))
_LONGEST = 10.0  # seconds of the processor, not of the clock: other programs may run beside this
_MOST_MEMORY = 1 << 30
_FEWEST = 10
_PAGE = resource.getpagesize()


class TookTooLongError(AssertionError):
    """A reader went on for more than ten seconds."""


def many(share: float, milliseconds: float) -> int:
    """Return how many examples of so many milliseconds a share of the whole time has room for."""
    return max(_FEWEST, int(SECONDS * 1000 * share / milliseconds))


def budget(share: float, milliseconds: float) -> settings:
    """Return Hypothesis's settings for a share of the whole time."""
    return settings(
        max_examples=many(share, milliseconds),
        deadline=None,
        derandomize=SECONDS <= _USUAL,
        database=None,
        suppress_health_check=list(HealthCheck),
    )


@contextmanager
def held_to_limits() -> Iterator[None]:
    """Stop what runs inside after ten seconds, or where it wants a gigabyte more than there was."""
    soft, hard = resource.getrlimit(resource.RLIMIT_AS)
    now = int(Path("/proc/self/statm").read_text("ascii").split()[0]) * _PAGE
    before = signal.signal(signal.SIGPROF, _stop)
    signal.setitimer(signal.ITIMER_PROF, _LONGEST)
    resource.setrlimit(resource.RLIMIT_AS, (now + _MOST_MEMORY, hard))
    try:
        yield
    finally:
        signal.setitimer(signal.ITIMER_PROF, 0)
        signal.signal(signal.SIGPROF, before)
        resource.setrlimit(resource.RLIMIT_AS, (soft, hard))


def ended_well(read: Callable[[bytes], object], data: bytes) -> RetimeError | None:
    """Read; return our own error that it ended in, None where it ended in a value.

    Any other exception passes through. What is told can be printed, a finding in one line, and
    says where it is.
    """
    refused: RetimeError | None = None
    try:
        with held_to_limits():
            read(data)
    except RetimeError as error:
        refused = error
    if refused is not None:
        _hold(refused)
    return refused


def _hold(refused: RetimeError) -> None:
    """Hold what is told against its law."""
    said = str(refused)
    assert said.encode()
    if isinstance(refused, DocumentError):
        assert refused.findings
        for finding in refused.findings:
            assert str(finding.place)
            assert finding.text
            assert len(str(finding).splitlines()) == 1, str(finding)


def _stop(_signal: int, _frame: FrameType | None) -> None:
    raise TookTooLongError
