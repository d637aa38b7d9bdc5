"""A film that takes every route, rendered in small pieces, and what shows that two are the same.

``same`` compares by what a player would notice: decoded pictures, when each is shown, decoded
sound, chapters and what the file says of itself, all as the ffmpeg program reads them, and for
numbered files their bytes.
"""

from __future__ import annotations

import re
import subprocess
import sys
from typing import TYPE_CHECKING, Any, TypeAlias

import imageio_ffmpeg
import numpy as np
from numbered import SIZE, write_scan
from rendering import ffmpeg, write_map
from sounds import RATE, Clicks, write_wav

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

__all__ = [
    "FRAMES",
    "INTRA",
    "At",
    "Known",
    "a_long_film",
    "command",
    "known",
    "left_over",
    "names",
]

FRAMES = 40, 30  # of the two reels
HD_TAGS = {"color_primaries": 1, "color_trc": 1, "colorspace": 1, "color_range": 1}
INTRA = {"level": "3", "g": "1", "slices": "4", "slicecrc": "1"}
DELIVERABLES = """\
  once-24: {version: v, profile: prores-mezzanine, rate: 24, sound: {file: s.wav, follows: 18 fps}}
  once-25: {version: v, profile: prores-mezzanine, rate: 25, chapters: reels}
  viewing: {version: v, profile: h264-viewing, rate: 24, sound: {file: s.wav, follows: 18 fps}}
  blend: {version: v, profile: ffv1-master, rate: 25, method: blend}
  files: {version: v, profile: dpx-sequence, rate: 24}
  copy: {version: v, profile: as-scanned, rate: 24}
"""
ENDINGS = {"once-24": ".mov", "once-25": ".mov", "viewing": ".mp4", "blend": ".mkv", "copy": ".mkv"}

Known: TypeAlias = dict[str, object]
"""By what a deliverable is known: the names of its sides, and what each is."""


def a_long_film(folder: Path, deliverables: str = DELIVERABLES) -> Path:
    """Write two reels, a recording and a map into a folder, and return the map."""
    first = 0
    for number, count in enumerate(FRAMES, 1):
        numbers = range(first, first + count)
        write_scan(
            folder / f"{number}.mkv",
            numbers,
            "ffv1",
            "yuv422p10le",
            INTRA,
            SIZE,
            attributes=HD_TAGS,
        )
        first += count
    clicks = Clicks([RATE * n // 3 for n in range(1, 12)]).read(0, 4 * RATE)
    write_wav(folder / "s.wav", np.rint(clicks * 32767).astype(np.int64))
    reels = "  - {reel: 1, scan: 1.mkv}\n  - {reel: 2, scan: 2.mkv}"
    shots = (
        f"  - {{reel: 1, first: 0, last: 24, shot: 1}}\n"
        f"  - {{reel: 1, first: 25, last: {FRAMES[0] - 1}, shot: 2}}\n"
        f"  - {{reel: 2, first: 0, last: {FRAMES[1] - 1}, shot: 1}}"
    )
    return write_map(folder, reels, deliverables, "  v: {speed: 18 fps}", shots)


def names(deliverables: str = DELIVERABLES) -> list[str]:
    """Return the names of the deliverables."""
    return re.findall(r"^  ([\w-]+):", deliverables, re.MULTILINE)


def command(speed_map: Path, output: Path, *more: object) -> list[str]:
    """Return the command that renders in small pieces, as a user would write it."""
    told = ("render", speed_map, "-o", output, "--pieces", "9", *more)
    return [sys.executable, "-m", "retime", *map(str, told)]


def known(output: Path) -> dict[str, Known]:
    """Return by what everything in a folder is known, by name; hidden names are left out."""
    return {
        path.name: _folder(path) if path.is_dir() else _file(path)
        for path in sorted(output.iterdir())
        if not path.name.startswith(".")
    }


def _folder(path: Path) -> Known:
    return {one.name: one.read_bytes() for one in sorted(path.iterdir())}


def _file(path: Path) -> Known:
    if path.suffix == ".txt":
        return {"text": path.read_text()}
    told = ffmpeg("-i", path, "-f", "ffmetadata", "-").stdout.decode()
    return {
        "pictures": _hashes(path, "v"),
        "luma": _Luma(path) if path.suffix == ".mp4" else None,
        "sound": _hashes(path, "a"),
        "about": sorted(line for line in told.splitlines() if not line.startswith(";")),
        "streams": _streams(path),
    }


def _hashes(path: Path, kind: str) -> list[str]:
    """Return a line for every decoded picture, or stretch of sound: its times and its checksum.

    H.264's pictures have no checksum: theirs are compared as ``_Luma``.
    """
    done = (
        ffmpeg(
            *("-i", path, "-map", f"0:{kind}?", "-fps_mode", "passthrough"),
            *("-enc_time_base", "demux", "-f", "framehash", "-hash", "md5", "-"),
        )
        if kind == "v"
        else ffmpeg("-i", path, "-map", "0:a?", "-f", "framehash", "-hash", "md5", "-")
    )
    lines = done.stdout.decode().splitlines()
    if kind == "v" and path.suffix == ".mp4":
        return [line if line.startswith("#") else line.rpartition(",")[0] for line in lines]
    return lines


class _Luma:
    """A film's luma, equal to another's to a code.

    Of some hundred encodings of the same pictures by libx264 alone one has a code more or less of
    chroma in a few blocks of a picture, and luma may follow in the pictures after it.
    """

    def __init__(self, path: Path) -> None:
        planes = ("-vf", "extractplanes=y", "-fps_mode", "passthrough", "-f", "rawvideo", "-")
        self.codes = np.frombuffer(ffmpeg("-i", path, *planes).stdout, np.uint8).astype(np.int16)

    def __eq__(self, other: object) -> bool:
        return (
            isinstance(other, _Luma)
            and self.codes.shape == other.codes.shape
            and int(np.abs(self.codes - other.codes).max()) <= 1
        )

    __hash__ = None  # type: ignore[assignment]


def _streams(path: Path) -> list[str]:
    """Return what the ffmpeg program tells of a file's streams, bit rates left out."""
    told = subprocess.run(
        [imageio_ffmpeg.get_ffmpeg_exe(), "-i", str(path)], capture_output=True, check=False
    ).stderr.decode("utf-8", "replace")
    lines = [line.strip() for line in told.splitlines() if "Stream #" in line]
    return [re.sub(r", \d+ kb/s|\[0x\w+\]", "", line) for line in lines]


def left_over(output: Path) -> list[str]:
    """Return the hidden names in a folder."""
    return sorted(path.name for path in output.iterdir() if path.name.startswith("."))


class At:
    """Listens to a render, and does something once so many pictures have gone by."""

    def __init__(self, pictures: int, what: Callable[[], Any]) -> None:
        """Take when, and what."""
        self._left = pictures
        self._what = what

    def start(self, pictures: int, note: str) -> None:
        """Ignore it."""

    def advance(self, pictures: int) -> None:
        """Count."""
        before, self._left = self._left, self._left - pictures
        if before > 0 >= self._left:
            self._what()

    def finish(self) -> None:
        """Ignore it."""
