"""Memory that is freed is taken again without asking the system for it anew."""

from __future__ import annotations

import platform
import subprocess
import sys

import pytest

PICTURES = """
import resource, sys
import av
from retime.media.memory import keep_freed

if sys.argv[1:] == ["kept"]:
    keep_freed()

def made(count):
    for _ in range(count):
        kept = [av.VideoFrame(1920, 1080, "yuv422p10le") for _ in range(4)]
        for frame in kept:
            for plane in frame.planes:
                plane.update(bytes(plane.buffer_size))

made(5)
before = resource.getrusage(resource.RUSAGE_SELF).ru_minflt
made(20)
print(resource.getrusage(resource.RUSAGE_SELF).ru_minflt - before)
"""

# Each thread is alive while all others are, and takes and frees 24 MB when it is its turn.
IN_TURN = """
import ctypes, resource, sys, threading
from pathlib import Path
from retime.media.memory import keep_freed
from retime.render import crew

if sys.argv[1:] == ["worker"]:
    crew._begin(b"", None, None)
keep_freed()
library = ctypes.CDLL(None)
library.malloc.restype, library.malloc.argtypes = ctypes.c_void_p, [ctypes.c_size_t]
library.free.argtypes = [ctypes.c_void_p]
turns, ready = threading.Lock(), threading.Barrier(8)

def held():
    return int(Path("/proc/self/statm").read_text().split()[1]) * resource.getpagesize()

def take():
    library.free(library.malloc(64))
    ready.wait()
    with turns:
        blocks = [library.malloc(8_000_000) for _ in range(3)]
        for block in blocks:
            ctypes.memset(block, 1, 8_000_000)
        for block in blocks:
            library.free(block)

before = held()
threads = [threading.Thread(target=take) for _ in range(8)]
for thread in threads:
    thread.start()
for thread in threads:
    thread.join()
print(held() - before)
"""


@pytest.mark.skipif(platform.libc_ver()[0] != "glibc", reason="others are left as they are")
def test_pictures_take_the_memory_of_those_before_them() -> None:
    """80 pictures of 8 MB are 160,000 pages of 4 KiB, were each cleared by the system anew.

    A virtual machine's host takes some back meanwhile, a busy one 6,000 of them: the least of
    three times is what the program itself took.
    """
    given_back, *kept_each = (
        int(subprocess.check_output([sys.executable, "-c", PICTURES, *how], text=True))
        for how in ((), ("kept",), ("kept",), ("kept",))
    )
    kept = min(kept_each)

    assert kept < 5_000
    assert kept < given_back / 4


@pytest.mark.skipif(platform.libc_ver()[0] != "glibc", reason="others are left as they are")
@pytest.mark.parametrize("where", ["here", "worker"])
def test_threads_that_take_memory_in_turn_take_the_same(where: str) -> None:
    """Were it each thread's own, eight would hold 192 MB in the end.

    A worker of a pool has begun a thread of its own before its first piece.
    """
    held = int(subprocess.check_output([sys.executable, "-c", IN_TURN, where], text=True))

    assert 20_000_000 < held < 40_000_000
