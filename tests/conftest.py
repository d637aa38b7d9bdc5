"""What all tests run with: the program that the second reader starts.

It is the system's if there is one, and Debian's takes a core a tenth of a second to start: the
check of one small file starts five. Tests have the one that imageio-ffmpeg ships, which starts in a
seventh of that; those that hold the second reader itself against files (``tests/second``, and the
command's own) have the system's, as its users do.
"""

from __future__ import annotations

import os
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import TYPE_CHECKING

import imageio_ffmpeg
import pytest

from retime.second import program

if TYPE_CHECKING:
    from collections.abc import Iterator

SYSTEM = "RETIME_TESTS_SYSTEM_PATH"


def pytest_configure(config: pytest.Config) -> None:
    """Put the shipped program first of all, for what is imported later and for other processes."""
    found = os.environ.setdefault(SYSTEM, os.environ["PATH"])  # a worker is told by who began it
    folder = TemporaryDirectory(prefix="shipped-")
    (Path(folder.name) / "ffmpeg").symlink_to(imageio_ffmpeg.get_ffmpeg_exe())
    os.environ["PATH"] = os.pathsep.join((folder.name, found))
    config.add_cleanup(folder.cleanup)


@pytest.fixture(scope="module")
def the_systems_program() -> Iterator[None]:
    """Let a module's tests have the system's program."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("PATH", os.environ[SYSTEM])
        program.program.cache_clear()
        program.version.cache_clear()
        yield
    program.program.cache_clear()
    program.version.cache_clear()
