"""Files of scanned pictures made by the encoder and the writer, and how the program sees them."""

from __future__ import annotations

import re
import subprocess
from fractions import Fraction
from typing import TYPE_CHECKING

import av
import imageio_ffmpeg
import numpy as np

from retime.film.scanning import Scanning
from retime.film.speed import Rate
from retime.light.format import PictureFormat
from retime.media.encoder import EncoderSettings, PictureEncoder
from retime.media.movie_writer import MovieSettings, MovieWriter
from retime.picture.weave import weave
from retime.profile.codecs import CODECS
from retime.profile.options import joined

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator
    from pathlib import Path

__all__ = ["KINDS", "encoded", "fields_in_time", "moving_frames", "program", "raster", "settings"]

# Codec, variant, pixel format, what an encoder is told besides, and what it is put into.
KINDS: dict[str, tuple[str, str | None, str, dict[str, str], tuple[str, ...]]] = {
    "ffv1": ("ffv1", None, "yuv422p10le", {"slices": "4"}, ("mkv",)),
    "ffv1-420": ("ffv1", None, "yuv420p", {"slices": "4"}, ("mkv",)),
    "prores": ("prores", "hq", "yuv422p10le", {}, ("mov",)),
    "dnxhd": ("dnxhd", "1080-120", "yuv422p", {}, ("mov", "mxf")),
    "dnxhd-10": ("dnxhd", "1080-185x", "yuv422p10le", {}, ("mov", "mxf")),
    "mpeg2": (
        *("mpeg2", None, "yuv420p"),
        {"b": "6M", "g": "12", "bf": "2"},
        ("mkv", "mov", "mxf"),
    ),
    "h264": ("h264", None, "yuv420p", {"crf": "18"}, ("mkv", "mov", "mp4")),
}
RATE = Rate(Fraction(25))


def raster(kind: str) -> tuple[int, int]:
    """Return the raster of a kind's pictures, a small one where the codec leaves the choice."""
    return (1920, 1080) if kind.startswith("dnxhd") else (160, 96)


def settings(kind: str, container: str, scanning: Scanning, rate: Rate = RATE) -> EncoderSettings:
    """Return what the encoder of a kind is told."""
    codec, variant, pixel_format, besides, _ = KINDS[kind]
    row = CODECS[codec]
    of_variant = row.variants[variant] if variant else None
    width, height = raster(kind)
    options = joined(
        row.options,
        row.container_options.get(container, {}),
        of_variant.options if of_variant else {},
        besides,
    )
    return EncoderSettings(
        encoder=row.encoder,
        options=tuple(options.items()),
        tag=of_variant.tag if of_variant else None,
        threads=2,
        picture=PictureFormat(width=width, height=height, pixel_format=pixel_format),
        rate=rate,
        scanning=scanning,
    )


def encoded(  # noqa: PLR0913 - a test names the few that it is about
    path: Path,
    kind: str,
    scanning: Scanning,
    frames: Iterable[av.VideoFrame],
    *,
    rate: Rate = RATE,
    timecode: str | None = None,
) -> Path:
    """Write pictures, in the kind's own format, to a file whose ending is its container."""
    container = path.suffix[1:]
    told = settings(kind, container, scanning, rate)
    encoder = PictureEncoder(told, path)
    writer = MovieWriter(
        MovieSettings(
            path=path,
            container=container,
            rate=rate,
            sample_aspect=None,
            tag=told.tag,
            raster=(told.picture.width, told.picture.height),
            timecode=timecode,
        ),
        encoder.template,
    )
    for frame in frames:
        for packet in encoder.encode(frame):
            writer.write(packet)
    for packet in encoder.finish():
        writer.write(packet)
    writer.finish()
    encoder.close()
    return path


def fields_in_time(kind: str, count: int) -> Iterator[av.VideoFrame]:
    """Yield pictures of upright bars that move sideways, one for every field, as whole frames."""
    width, height = raster(kind)
    random = np.random.default_rng(7)
    bars = np.repeat(random.integers(40, 216, width), 8).astype(np.uint8)
    for number in range(count):
        moved = np.tile(bars[5 * number : 5 * number + width], (height, 1))
        yield av.VideoFrame.from_ndarray(moved, format="gray").reformat(format=KINDS[kind][2])


def moving_frames(kind: str, scanning: Scanning, count: int) -> Iterator[av.VideoFrame]:
    """Yield frames of the moving bars, woven where they are interlaced."""
    if not scanning.interlaced:
        yield from fields_in_time(kind, count)
        return
    fields = fields_in_time(kind, 2 * count)
    for first, second in zip(fields, fields, strict=True):
        yield weave(first, second, top_first=scanning is Scanning.TOP_FIRST)


def program(path: Path, *options: str) -> str:
    """Return what the ffmpeg program says of a file while it decodes it whole."""
    command = [imageio_ffmpeg.get_ffmpeg_exe(), "-nostdin", "-nostats", "-hide_banner"]
    command += ["-i", str(path), "-map", "0:v:0", *options, "-f", "null", "-"]
    done = subprocess.run(command, capture_output=True, check=True, text=True)
    assert not re.search(r"\b(error|invalid|corrupt)", done.stderr, re.IGNORECASE), done.stderr
    return done.stderr
