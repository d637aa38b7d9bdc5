"""Previews made for tests: small numbered scans, and what the page would be told of them."""

from __future__ import annotations

import subprocess
from contextlib import contextmanager
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import imageio_ffmpeg
import numpy as np

from retime.preview.asked import asked
from retime.preview.folder import Folder, Record
from retime.preview.job import preview
from retime.preview.subject import subject_of
from retime.render.progress import Silent

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from numpy.typing import NDArray

    from retime.preview.asked import Asked
    from retime.render.progress import Progress

__all__ = ["Preview", "decoded", "expanded", "made", "program", "wanted"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Preview:
    """A preview that was made: its folder, the page's data, and what was said by the way."""

    folder: Path
    record: Record
    said: list[str]

    @property
    def values(self) -> Any:
        """What the page is told."""
        return self.record.values

    def delivered(self, **wanted: object) -> Any:
        """Return the one delivered excerpt with these values."""
        found = [
            one
            for one in self.values["delivered"]
            if all(one[name] == value for name, value in wanted.items())
        ]
        assert len(found) == 1, (wanted, found)
        return found[0]

    def pictures(self, key: str) -> list[Path]:
        """Return an excerpt's pictures, in order."""
        return sorted((self.folder / "pictures" / key).iterdir())


def wanted(**options: Any) -> Asked:
    """Return what is asked for, all that is not said as the command has it, but smaller."""
    said: dict[str, Any] = {
        "speeds": "16,20,24",
        "rates": "24,25,30",
        "shots": None,
        "frames": None,
        "blend": False,
        "width": 320,
        "seconds": 2,
    }
    return asked(**(said | options))


def made(
    *sources: Path,
    to: Path,
    force: bool = False,
    gauge: str | None = None,
    progress: Progress | None = None,
    **options: Any,
) -> Preview:
    """Make a preview of a map, or of scans, as the command does."""
    said: list[str] = []

    @contextmanager
    def shown() -> Iterator[Progress]:
        yield progress or Silent()

    asking = wanted(**options)
    subject = subject_of(sources, gauge)
    folder = Folder(to)
    scans = (scan.path for scan in subject.scans)
    folder.check((*sources, *subject.inputs, *scans), force=force)
    page = preview(subject, asking, folder, shown, said.append)
    record = folder.record()
    assert page == to / "index.html"
    assert record is not None
    return Preview(folder=to, record=record, said=said)


def expanded(shows: list[list[int]]) -> list[int]:
    """Return which film frame each output frame shows."""
    return [frame for frame, times in shows for _ in range(times)]


def program(*arguments: object) -> subprocess.CompletedProcess[bytes]:
    """Run the ffmpeg program, which must succeed."""
    command = [imageio_ffmpeg.get_ffmpeg_exe(), "-nostdin", "-hide_banner", *map(str, arguments)]
    done = subprocess.run(command, capture_output=True, check=False)
    assert done.returncode == 0, done.stderr.decode()
    return done


def decoded(path: Path, width: int, height: int) -> NDArray[np.uint8]:
    """Return red, green and blue of a file's first picture as the ffmpeg program decodes it."""
    done = program(
        *("-v", "error", "-i", path, "-frames:v", 1, "-pix_fmt", "rgb24"),
        *("-sws_flags", "accurate_rnd+full_chroma_int", "-f", "rawvideo", "-"),
    )
    return np.frombuffer(done.stdout, np.uint8).reshape(height, width, 3)
