"""The ffmpeg program: where it is, and how it is run.

It is the system's if there is one, else the one that imageio-ffmpeg ships.
"""

from __future__ import annotations

import shutil
import subprocess
import tempfile
from contextlib import suppress
from functools import cache
from typing import IO, TYPE_CHECKING, Self

import imageio_ffmpeg

if TYPE_CHECKING:
    from collections.abc import Sequence
    from types import TracebackType

__all__ = ["Running", "program", "version"]

_QUIET = ("-nostdin", "-hide_banner", "-nostats")
_MOST_WORDS = 200_000


@cache
def program() -> str:
    """Return the path of the program."""
    return shutil.which("ffmpeg") or imageio_ffmpeg.get_ffmpeg_exe()


@cache
def version() -> str:
    """Return the version that the program tells of itself."""
    told = subprocess.run([program(), "-version"], capture_output=True, text=True, check=False)  # noqa: S603 - our own choice of program
    return told.stdout.split()[2] if told.returncode == 0 else "unknown"


class Running:
    """The program at work: its output as a stream, its words kept; gone when the block is left."""

    def __init__(
        self, arguments: Sequence[str], *, level: str = "error", fds: Sequence[int] = ()
    ) -> None:
        """Start the program; ``fds`` are file descriptors that it may write to."""
        self._log = tempfile.TemporaryFile()  # noqa: SIM115 - closed in __exit__
        command = [program(), *_QUIET, "-v", level, *arguments]
        self._process = subprocess.Popen(  # noqa: S603 - our own choice of program
            command, stdout=subprocess.PIPE, stderr=self._log, pass_fds=tuple(fds)
        )

    @property
    def out(self) -> IO[bytes]:
        """What the program writes."""
        stream = self._process.stdout
        if stream is None:
            raise TypeError("the program's output is no pipe")
        return stream

    def done(self) -> int:
        """Wait until the program ends; return its exit code."""
        return self._process.wait()

    def words(self) -> str:
        """Return what the program has said so far, at most 200,000 characters of it."""
        self._log.seek(0)
        return self._log.read(_MOST_WORDS).decode("utf-8", "replace")

    def __enter__(self) -> Self:
        """Return the program at work."""
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        """Stop the program if it still runs."""
        if self._process.poll() is None:
            self._process.kill()  # it only reads: nothing is left half done
            self._process.wait()
        with suppress(OSError):
            self.out.close()
        self._log.close()
