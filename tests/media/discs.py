"""Small streams as discs have them, and what the ffmpeg program reads in their headers."""

from __future__ import annotations

import re
import subprocess
from fractions import Fraction
from typing import TYPE_CHECKING

import av
import imageio_ffmpeg
import numpy as np
from numbered import draw, read

from retime.film.scanning import Scanning
from retime.film.speed import Rate
from retime.light.format import PictureFormat
from retime.media.encoder import EncoderSettings, PictureEncoder
from retime.media.flagged_encoder import FlaggedEncoder, Showing
from retime.media.movie_writer import MovieSettings, MovieWriter
from retime.plan.repeat_flags import groups

if TYPE_CHECKING:
    from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
    from pathlib import Path

__all__ = [
    "AVC_OPTIONS",
    "MPEG2_OPTIONS",
    "RATE_525",
    "RATE_625",
    "avc",
    "flagged",
    "headers",
    "moving",
    "mpeg2",
    "run_program",
    "shown_fields",
]

WIDTH, HEIGHT = 160, 96
RATE_525, RATE_625 = Rate(Fraction(30000, 1001)), Rate(Fraction(25))
MPEG2_OPTIONS = {"b": "3000000", "maxrate": "5000000", "bufsize": "1835008", "bf": "2"}
CLOSED = {"g": "18", "flags": "+cgop", "sc_threshold": "1000000000"}
AVC_OPTIONS = {
    "b": "2000000",
    "maxrate": "3000000",
    "bufsize": "2000000",
    "g": "24",
    "profile": "high",
    "level": "4.1",
    "forced-idr": "1",
    "x264-params": "log=0:bluray-compat=1:slices=4:open-gop=0:nal-hrd=vbr:pic-struct=1:aud=1"
    ":force-cfr=1",
}


def settings(  # noqa: PLR0913 - a test names the few that it is about
    encoder: str,
    options: Mapping[str, str],
    rate: Rate,
    *,
    size: tuple[int, int] = (WIDTH, HEIGHT),
    sample_aspect: Fraction = Fraction(4, 5),
    scanning: Scanning = Scanning.PROGRESSIVE,
) -> EncoderSettings:
    """Return what an encoder of small pictures is told; as they stand they are shown at 4:3."""
    return EncoderSettings(
        encoder=encoder,
        options=tuple(options.items()),
        tag=None,
        threads=2,
        picture=PictureFormat(
            width=size[0], height=size[1], pixel_format="yuv420p", sample_aspect=sample_aspect
        ),
        rate=rate,
        scanning=scanning,
    )


def flagged(  # noqa: PLR0913 - a test names the few that it is about
    path: Path,
    runs: Sequence[int],
    rate: Rate = RATE_525,
    *,
    frames: Iterable[av.VideoFrame] | None = None,
    top_first: bool = True,
    starts: Collection[int] = (),
    most_fields: int = 36,
    options: Mapping[str, str] = MPEG2_OPTIONS,
    told: EncoderSettings | None = None,
    first_frame: int = 0,
    drop_frame: bool = False,
) -> list[tuple[int | None, int | None, int | None]]:
    """Write film frames by repeat flags; return what times their packets were given, in fields."""
    showing = Showing(
        runs=runs,
        top_first=top_first,
        starts=groups(runs, most_fields, starts),
        first_frame=first_frame,
        drop_frame=drop_frame,
    )
    told = told or settings("mpeg2video", options, rate)
    encoder = FlaggedEncoder(told, showing, path)
    writer = _writer(path, encoder.settings, encoder)
    times = []
    size = (told.picture.width, told.picture.height)
    for frame in frames or (draw(number, *size, "yuv420p") for number in range(len(runs))):
        for packet in encoder.encode(frame):
            times.append((packet.pts, packet.dts, packet.duration))
            writer.write(packet)
    for packet in encoder.finish():
        times.append((packet.pts, packet.dts, packet.duration))
        writer.write(packet)
    writer.finish()
    encoder.close()
    return times


def mpeg2(  # noqa: PLR0913 - a test names the few that it is about
    path: Path,
    count: int,
    rate: Rate = RATE_525,
    scanning: Scanning = Scanning.TOP_FIRST,
    *,
    starts: Collection[int] = frozenset(),
    options: Mapping[str, str] = CLOSED,
) -> Path:
    """Write numbered pictures as MPEG-2, frame by frame."""
    told = settings("mpeg2video", {**MPEG2_OPTIONS, **options}, rate, scanning=scanning)
    return _written(path, told, count, starts)


def avc(  # noqa: PLR0913 - a test names the few that it is about
    path: Path,
    count: int,
    rate: Rate = RATE_625,
    scanning: Scanning = Scanning.TOP_FIRST,
    *,
    starts: Collection[int] = frozenset(),
    options: Mapping[str, str] = AVC_OPTIONS,
    size: tuple[int, int] = (WIDTH, HEIGHT),
    sample_aspect: Fraction = Fraction(40, 33),
) -> Path:
    """Write numbered pictures as H.264."""
    told = settings(
        "libx264", options, rate, size=size, sample_aspect=sample_aspect, scanning=scanning
    )
    return _written(path, told, count, starts)


def _written(path: Path, told: EncoderSettings, count: int, starts: Collection[int]) -> Path:
    encoder = PictureEncoder(told, path, starts)
    writer = _writer(path, told, encoder)
    for number in range(count):
        for packet in encoder.encode(
            draw(number, told.picture.width, told.picture.height, "yuv420p")
        ):
            writer.write(packet)
    for packet in encoder.finish():
        writer.write(packet)
    writer.finish()
    encoder.close()
    return path


def _writer(
    path: Path, told: EncoderSettings, encoder: PictureEncoder | FlaggedEncoder
) -> MovieWriter:
    assert told.rate is not None
    made = MovieSettings(
        path=path,
        container=path.suffix[1:],
        rate=told.rate,
        sample_aspect=told.picture.sample_aspect,
        tag=None,
        raster=(told.picture.width, told.picture.height),
    )
    return MovieWriter(made, encoder.template)


def moving(count: int, size: tuple[int, int], noise: float) -> Iterator[av.VideoFrame]:
    """Yield pictures that are hard to code: bars that move, and noise from halfway on."""
    random = np.random.default_rng(11)
    bars = np.indices((size[1], size[0])).sum(0)
    for number in range(count):
        much = noise if number >= count // 2 else noise / 5
        grey = (bars + 7 * number) % 220 + 16 + random.normal(0, much, bars.shape)
        picture = np.clip(grey, 0, 255).astype(np.uint8)
        yield av.VideoFrame.from_ndarray(picture, format="gray").reformat(format="yuv420p")


def run_program(*arguments: object) -> tuple[bytes, str]:
    """Run the ffmpeg program; return what it writes, and what it says from warnings on."""
    command = [imageio_ffmpeg.get_ffmpeg_exe(), "-nostdin", "-nostats", "-v", "warning"]
    done = subprocess.run([*command, *map(str, arguments)], capture_output=True, check=True)
    return done.stdout, done.stderr.decode()


def shown_fields(path: Path) -> tuple[list[tuple[int | None, int | None]], str]:
    """Return what top and bottom field of every frame show, repeats carried out by the program.

    With them comes what the program warned of. Its filter puts a field that it repeats into the
    next frame; times are made anew, as those of the frames between are not its business.
    """
    pictures, said = run_program(
        *("-i", path, "-vf", "repeatfields,setpts=N", "-fps_mode", "passthrough"),
        *("-enc_time_base", "1:1", "-pix_fmt", "gray", "-f", "rawvideo", "-"),
    )
    frames = np.frombuffer(pictures, np.uint8).reshape(-1, HEIGHT, WIDTH)
    return [(read(frame[0::2]), read(frame[1::2])) for frame in frames], said


_TOLD = re.compile(r"\] \d+ +([a-z]\w*)(?:\[[\d\]\[]*)? +[01]+ = (-?\d+)$", re.MULTILINE)
_PACKET = re.compile(r"\] Packet: (\d+) bytes")


def headers(path: Path) -> list[tuple[int, dict[str, int]]]:
    """Return the size of every coded picture, and its headers as the program's trace filter reads.

    Of a field that comes several times, the first is told.
    """
    command = [imageio_ffmpeg.get_ffmpeg_exe(), "-nostdin", "-nostats", "-hide_banner"]
    command += ["-i", str(path), "-c", "copy", "-bsf:v", "trace_headers", "-f", "null", "-"]
    done = subprocess.run(command, capture_output=True, check=True)
    _, *parts = _PACKET.split(done.stderr.decode())
    return [
        (int(size), {name: int(value) for name, value in reversed(_TOLD.findall(told))})
        for size, told in zip(parts[::2], parts[1::2], strict=True)
    ]
