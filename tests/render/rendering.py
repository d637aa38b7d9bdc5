"""Maps written, commands run, and what was made looked at by the second reader.

The second reader is the ffmpeg program: it shares no line with what the renderer reads and writes
by, so that a mistake of the one cannot hide in the other.
"""

from __future__ import annotations

import csv
import io
import json
import re
import signal
import subprocess
import sys
from contextlib import redirect_stderr, redirect_stdout
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path
from typing import Any

import imageio_ffmpeg
import numpy as np
from numbered import SIZE, read

from retime.cli.main import run

__all__ = [
    "Done",
    "Seen",
    "Tags",
    "ffmpeg",
    "look",
    "made",
    "picture_hashes",
    "reported",
    "retime",
    "shown",
    "write_map",
]


@dataclass(frozen=True, slots=True, kw_only=True)
class Done:
    """How a command went: its exit code, its result, its messages."""

    code: int
    result: str
    messages: str


def retime(*arguments: object) -> Done:
    """Run a command of retime's as a user would, in this process."""
    result, messages, before = io.StringIO(), io.StringIO(), sys.argv
    handler = signal.getsignal(signal.SIGTERM)
    sys.argv = ["retime", *map(str, arguments)]
    try:
        with redirect_stdout(result), redirect_stderr(messages):
            run()
    except SystemExit as ended:
        code = ended.code
    finally:
        sys.argv = before
        signal.signal(signal.SIGTERM, handler)
    assert isinstance(code, int)
    return Done(code=code, result=result.getvalue(), messages=messages.getvalue())


def made(speed_map: Path, output: Path, *arguments: str) -> dict[str, Path]:
    """Render a map's deliverables, or those named, and return them by name."""
    output.mkdir(exist_ok=True)
    done = retime("render", speed_map, *arguments, "-o", output)
    assert done.code == 0, done.messages
    paths = [Path(line) for line in done.result.splitlines()]
    return {path.name.split("-", 1)[1].split(".")[0]: path for path in paths}


def shown(speed_map: Path, deliverable: str) -> list[int | None]:
    """Return which film frame every output frame shows, as ``retime frames`` tells it."""
    return [int(row["frame"]) if row["frame"] else None for row in listed(speed_map, deliverable)]


def listed(speed_map: Path, deliverable: str) -> list[dict[str, str]]:
    """Return the rows of ``retime frames --format csv``."""
    done = retime("frames", speed_map, deliverable, "--format", "csv")
    assert done.code == 0, done.messages
    return list(csv.DictReader(io.StringIO(done.result)))


def reported(speed_map: Path) -> dict[str, Any]:
    """Return what ``retime report --format json`` tells."""
    done = retime("report", speed_map, "--format", "json")
    assert done.code == 0, done.messages
    told = json.loads(done.result)
    assert isinstance(told, dict)
    return told


def write_map(
    folder: Path,
    reels: str,
    deliverables: str,
    versions: str = "  v: {speed: 18 fps}",
    shots: str = "",
) -> Path:
    """Write a map of the film Numbers; the parts are YAML, indented as they go in."""
    text = "format: retime-map/1\nfilm: Numbers\ngauge: 35mm\n"
    text += f"reels:\n{reels}\n" + (f"shots:\n{shots}\n" if shots else "")
    text += f"versions:\n{versions}\ndeliverables:\n{deliverables}\n"
    path = folder / "map.yaml"
    path.write_text(text, encoding="utf-8")
    return path


def ffmpeg(*arguments: object, level: str = "error") -> subprocess.CompletedProcess[bytes]:
    """Run the ffmpeg program, which must succeed."""
    program = imageio_ffmpeg.get_ffmpeg_exe()
    command = [program, "-nostdin", "-nostats", "-v", level, *map(str, arguments)]
    done = subprocess.run(command, capture_output=True, check=False)
    assert done.returncode == 0, done.stderr.decode()
    return done


@dataclass(frozen=True, slots=True, kw_only=True)
class Tags:
    """How colours are told: FFmpeg's names, ``unknown`` where nothing is."""

    range: str
    matrix: str
    primaries: str
    transfer: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Seen:
    """What the second reader sees: the headers, and every picture.

    ``rate`` is the average rate to two decimals, ``exact_rate`` what is taken for the rate in
    full. ``times`` and ``durations`` are exact in seconds. ``numbers`` are what pictures show.
    """

    codec: str
    profile: str
    tag: str
    pixel_format: str
    tags: Tags
    raster: tuple[int, int]
    sample_aspect: Fraction | None
    rate: str
    exact_rate: Fraction
    times: tuple[Fraction, ...]
    durations: tuple[Fraction, ...]
    numbers: tuple[int | None, ...]

    @property
    def count(self) -> int:
        """How many pictures there are."""
        return len(self.numbers)


_STREAM = re.compile(
    r"Video: (?P<codec>\w+)(?: \((?P<profile>[^)/]*)\))?(?: \((?P<tag>.{4}) / 0x\w+\))?, "
    r"(?P<format>\w+)(?:\((?P<colour>[^)]*)\))?, (?P<width>\d+)x(?P<height>\d+)"
    r".*? (?P<rate>[\d.]+k?) fps"
)
_ASPECT = re.compile(r"\bSAR (\d+):(\d+)")
_CONFIGURED = re.compile(r"config in time_base: (\S+), frame_rate: (\S+)")
_PICTURE = re.compile(r" n: *\d+ pts: *(-?\d+) .*?duration: *(\d+)")
_RANGES = {"tv", "pc"}
_ORDERS = {"progressive", "top first", "bottom first"}


def look(path: Path) -> Seen:
    """Look at a movie, or a folder of numbered files, with the ffmpeg program."""
    width, height = SIZE
    done = ffmpeg(
        *("-i", _input(path), "-map", "0:v:0"),
        *("-vf", f"showinfo,scale={width}:{height}:flags=area", "-fps_mode", "passthrough"),
        *("-enc_time_base", "demux", "-pix_fmt", "gray", "-f", "rawvideo", "-"),
        level="info",
    )
    told = done.stderr.decode("utf-8", "replace")
    stream, configured = _STREAM.search(told), _CONFIGURED.search(told)
    assert stream, told
    assert configured, told
    aspect = _ASPECT.search(stream[0])
    tick, rate = map(Fraction, configured.groups())
    moments = [tuple(map(int, found)) for found in _PICTURE.findall(told)]
    pictures = np.frombuffer(done.stdout, np.uint8).reshape(-1, height, width)
    return Seen(
        codec=stream["codec"],
        profile=stream["profile"] or "",
        tag=stream["tag"] or "",
        pixel_format=stream["format"],
        tags=_tags(stream["colour"] or ""),
        raster=(int(stream["width"]), int(stream["height"])),
        sample_aspect=Fraction(*map(int, aspect.groups())) if aspect else None,
        rate=stream["rate"],
        exact_rate=rate,
        times=tuple(moment * tick for moment, _ in moments),
        durations=tuple(lasts * tick for _, lasts in moments),
        numbers=tuple(read(picture) for picture in pictures),
    )


def _tags(colour: str) -> Tags:
    """Read what FFmpeg puts in brackets: range; matrix, primaries, transfer or one for all."""
    parts = [part for part in colour.split(", ") if part and part not in _ORDERS]
    told = next((part for part in parts if part in _RANGES), "unknown")
    names = next((part for part in parts if part not in _RANGES), "unknown").split("/")
    matrix, primaries, transfer = names if len(names) > 1 else names * 3
    return Tags(range=told, matrix=matrix, primaries=primaries, transfer=transfer)


def picture_hashes(path: Path, pixel_format: str) -> list[str]:
    """Return a checksum of every decoded picture's samples, as the ffmpeg program decodes it."""
    done = ffmpeg(
        *("-i", _input(path), "-map", "0:v:0", "-fps_mode", "passthrough"),
        *("-pix_fmt", pixel_format, "-f", "framehash", "-hash", "md5", "-"),
    )
    lines = done.stdout.decode().splitlines()
    return [line.rpartition(",")[2].strip() for line in lines if not line.startswith("#")]


def _input(path: Path) -> Path:
    """Return what the ffmpeg program is given for a movie, a pattern, or a folder of files."""
    if not path.is_dir():
        return path
    first = min(one for one in path.iterdir() if one.suffix != ".json")
    return path / re.sub(r"\.0000000(\.\w+)$", r".%07d\1", first.name)
