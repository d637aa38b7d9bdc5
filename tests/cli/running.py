"""What the tests of the commands share: the program run here or apart, and what a folder holds."""

from __future__ import annotations

import hashlib
import os
import subprocess
import sys
from collections.abc import Callable
from dataclasses import dataclass
from fractions import Fraction
from typing import TYPE_CHECKING

import av
import numpy as np
from av.video.stream import VideoStream

if TYPE_CHECKING:
    from collections.abc import Mapping
    from pathlib import Path

__all__ = [
    "LAMP",
    "NOISE",
    "Program",
    "Ran",
    "assert_told",
    "command",
    "contents",
    "program",
    "refused",
    "unfinished",
    "write_noise",
]

NOISE = (320, 192)
"""The raster of a scan of noise."""

LAMP = """\
format: retime-map/1
film: Lamp
gauge: 35mm
reels:
  - reel: 1
    scan: lamp.mkv
    first: 0
    last: 23
    frames: 24
shots:
  - {reel: 1, first: 0, last: 11, shot: 1}
  - {reel: 1, first: 12, last: 23, shot: 2, kind: title}
versions:
  slow:
    speed: 18 fps
deliverables:
  viewing:
    version: slow
    profile: h264-viewing
    rate: 24
"""
"""A sound map of an invented film: one reel of 24 frames, two shots, one deliverable."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Ran:
    """How a run of the program ended, and what it said."""

    code: int
    out: str
    err: str

    @property
    def said(self) -> str:
        """Both streams, the result first."""
        return self.out + self.err


Program = Callable[..., Ran]
"""The program as a function of its arguments."""


def command(*arguments: object) -> list[str]:
    """Return the command line that runs the program as users do."""
    return [sys.executable, "-m", "retime", *map(str, arguments)]


def program(*arguments: object, env: Mapping[str, str] | None = None) -> Ran:
    """Run the program in a process of its own."""
    done = subprocess.run(
        command(*arguments),
        capture_output=True,
        check=False,
        text=True,
        env={**os.environ, **(env or {})},
    )
    return Ran(code=done.returncode, out=done.stdout, err=done.stderr)


def contents(folder: Path) -> dict[str, str]:
    """Return every file, folder and link below a folder, with a digest of what it holds."""
    return {str(path.relative_to(folder)): _digest(path) for path in sorted(folder.rglob("*"))}


def write_noise(
    path: Path, count: int, codec: str, pixel_format: str, options: Mapping[str, str]
) -> None:
    """Write a scan that no codec makes small: a few pictures of noise, over and over."""
    noise = np.random.default_rng(0)
    width, height = NOISE
    with av.open(str(path), "w") as container:
        stream = container.add_stream(codec, rate=18, options=dict(options))
        assert isinstance(stream, VideoStream)
        stream.width, stream.height, stream.pix_fmt = width, height, pixel_format
        packets = []
        for _ in range(4):
            grey = noise.integers(0, 256, (height, width), np.uint8)
            picture = av.VideoFrame.from_ndarray(grey, format="gray")
            packets += stream.encode(picture.reformat(format=pixel_format))
        packets += stream.encode(None)
        for place in range(count):
            packet = packets[place % len(packets)]
            packet.time_base, packet.duration = Fraction(1, 18), 1
            packet.pts = packet.dts = place
            container.mux_one(packet)


def refused(source: str, work: Path, retime: Program) -> list[str]:
    """Return what is said of a map that cannot be rendered; nothing may be made of it."""
    path = work / "lamp.yaml"
    path.write_text(source)
    ran = retime("render", path, "-o", work / "out")

    assert 2 == ran.code, ran.said
    assert "Traceback" not in ran.said
    assert [] == list((work / "out").iterdir())
    return ran.said.replace(f"{work}/", "").splitlines()


def assert_told(said: list[str], place: str, words: str) -> None:
    """Hold that something is said of a place in the map, in words."""
    assert any(line.startswith(f"lamp.yaml:{place}: ") and words in line for line in said), (
        "\n".join(said)
    )


def unfinished(folder: Path) -> list[str]:
    """Return what has been begun and not finished in a folder."""
    return [path.name for path in folder.iterdir() if path.name.startswith(".")]


def _digest(path: Path) -> str:
    if path.is_symlink():
        return f"link to {path.readlink()}"
    return hashlib.sha256(path.read_bytes()).hexdigest() if path.is_file() else "folder"
