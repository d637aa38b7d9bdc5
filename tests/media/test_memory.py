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


@pytest.mark.skipif(platform.libc_ver()[0] != "glibc", reason="others are left as they are")
def test_pictures_take_the_memory_of_those_before_them() -> None:
    """80 pictures of 8 MB are 160,000 pages of 4 KiB, were each cleared by the system anew."""
    given_back, kept = (
        int(subprocess.check_output([sys.executable, "-c", PICTURES, *how], text=True))
        for how in ((), ("kept",))
    )

    assert kept < 5_000
    assert kept < given_back / 4
