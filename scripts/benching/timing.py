"""Runs programs one after another, and takes their time and their peak memory."""

import os
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path
from time import perf_counter

__all__ = ["BenchError", "Run", "in_turn", "run", "settled", "tell"]

_RSS_UNIT = 1 if sys.platform == "darwin" else 1024  # bytes: getrusage(2) of each system
_SECONDS, _COUNTED = 3.0, 3  # short runs are repeated for so long, and any so often at least
_LONG = 15.0  # seconds: what memory costs is little of a run that takes so long; one counts


class BenchError(Exception):
    """A program that is measured failed, or did not do what is measured."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Run:
    """One run of a program.

    ``seconds`` is its own time, start and end included; ``flushed`` that with its files flushed to
    disk; ``busy`` what it had of all cores together; ``peak`` the most memory it held, in bytes;
    ``written`` the size of its files, in bytes.
    """

    seconds: float
    flushed: float
    busy: float
    peak: int
    written: int


def run(command: Sequence[str | Path], made: Callable[[], Sequence[Path]] = tuple) -> Run:
    """Run a program to its end and flush what it ``made``; raises BenchError if it fails.

    What earlier programs left to be written to disk is written before the clock starts.
    """
    os.sync()
    if (program := shutil.which(command[0])) is None:
        raise BenchError(f"there is no program {command[0]}")
    with tempfile.TemporaryFile() as complaint:
        started = perf_counter()
        process = subprocess.Popen(  # waited for below, where its memory is told as well
            [program, *(str(part) for part in command[1:])],
            stdin=subprocess.DEVNULL,
            stdout=subprocess.DEVNULL,
            stderr=complaint,
        )
        try:
            _, status, usage = os.wait4(process.pid, 0)
        except KeyboardInterrupt:
            process.kill()  # it writes into a folder that goes now
            process.wait()
            raise
        seconds = perf_counter() - started
        process.returncode = os.waitstatus_to_exitcode(status)
        if process.returncode != 0:
            complaint.seek(0)
            words = complaint.read().decode(errors="replace").strip()
            raise BenchError(f"{' '.join(map(str, command))}\nfailed: {words}")
    files = made()
    for path in files:
        _flush(path)
    return Run(
        seconds=seconds,
        flushed=perf_counter() - started,
        busy=usage.ru_utime + usage.ru_stime,
        peak=usage.ru_maxrss * _RSS_UNIT,
        written=sum(path.stat().st_size for path in files),
    )


def in_turn(name: str, runs: int, *sides: Callable[[], Run]) -> list[tuple[Run, ...]]:
    """Run all sides in turn, A B A B and so on; return each round's runs, one a side."""
    rounds = []
    for number in range(1, runs + 1):
        rounds.append(tuple(side() for side in sides))
        times = ", ".join(f"{one.flushed:.2f} s ({one.busy:.2f} s busy)" for one in rounds[-1])
        tell(f"{name}, {number} of {runs}: {times}")
    return rounds


def settled(side: Callable[[], Run]) -> Run:
    """Run a side that mostly takes memory: once uncounted, then three times or more.

    The middle run is what counts: by single ones the same share was -12, 8 and 12 % of a copy.
    A long one counts once: by three of each, a copy of 90 minutes took a quarter of an hour.

    Memory that lay idle for a few seconds a virtual machine may have given back to its host, and
    taking it again costs more than a copy itself (measured: 2 GB in 2.7 s, 5.4 s after a pause of
    20 s). The runs that count find what the first one gave free.
    """
    side()
    counted: list[Run] = []
    while len(counted) < _COUNTED or sum(one.flushed for one in counted) < _SECONDS:
        counted.append(side())
        if counted[-1].flushed > _LONG:
            return counted[-1]
    return sorted(counted, key=lambda one: one.flushed)[(len(counted) - 1) // 2]


def tell(text: str) -> None:
    """Say how far the work is."""
    print(text, file=sys.stderr, flush=True)


def _flush(path: Path) -> None:
    handle = os.open(path, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)
