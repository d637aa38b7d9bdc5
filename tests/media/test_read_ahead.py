"""Reading ahead ends whenever its taker is interrupted, wherever the interrupt strikes."""

from __future__ import annotations

import subprocess
import sys
from typing import TYPE_CHECKING

import pytest

from retime.media.ahead import read_ahead

if TYPE_CHECKING:
    from collections.abc import Generator

PATIENCE = 120.0  # seconds, after which the rounds below are taken to hang

ROUNDS = """
import random, signal, threading
from retime.interrupts import heed_signals
from retime.media.ahead import read_ahead

chance, struck = random.Random(1), 0
for number in range(2000):
    heed_signals()
    signal.signal(signal.SIGALRM, signal.getsignal(signal.SIGINT))
    try:
        signal.setitimer(signal.ITIMER_REAL, 0.0005 + 0.001 * chance.random())
        for _ in read_ahead((one for one in range(10**6)), lambda _: 1, 4):
            pass
    except KeyboardInterrupt:
        struck += 1
    assert not [one for one in threading.enumerate() if one.name == "read-ahead"]
print(struck)
"""


def test_a_taker_that_is_interrupted_anywhere_always_ends_the_thread() -> None:
    """A Condition in its place hangs here within some hundred rounds."""
    done = subprocess.run(
        [sys.executable, "-c", ROUNDS],
        capture_output=True,
        text=True,
        timeout=PATIENCE,
        check=False,
    )

    assert ("2000\n", "") == (done.stdout, done.stderr)


@pytest.mark.parametrize("bound", [1, 2, 3, 10])
@pytest.mark.parametrize("weight", [1, 2, 7])
def test_everything_comes_in_order_however_it_weighs(bound: int, weight: int) -> None:
    assert list(range(500)) == list(read_ahead(iter_of(500), lambda _: weight, bound))


@pytest.mark.parametrize("bound", [1, 4, 9])
def test_no_more_than_the_bound_and_one_is_made_before_it_is_wanted(bound: int) -> None:
    made = 0

    def counted() -> Generator[int]:
        nonlocal made
        for number in range(200):
            made += 1
            yield number

    seen = [made - taken for taken in read_ahead(counted(), lambda _: 1, bound)]

    # One more is in the thread's hands, one in the taker's, and half a bound may be untold yet.
    assert max(seen) <= bound + 2


def iter_of(count: int) -> Generator[int]:
    yield from range(count)
