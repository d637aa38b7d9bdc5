"""Scans whose frame n shows the number n, so that what a file shows can be read back.

A picture is a grid of 10 x 6 cells that fills it. The outer ring is white. Inside are four rows
of eight cells, white for 1 and dark for 0: three rows hold the number's 24 bits, most
significant first, and the last row their CRC-8 (polynomial 0x07). The ring lets ``read`` find
the picture inside black bars; the cells are measured by their middles, so that a picture may be
scaled, stretched, cut down to one field, or coded at low quality. A cell that is neither dark
nor white, as in a blend of two pictures, makes the picture unreadable: ``read`` gives None.

Cells should be at least 16 x 16 pixels where a lossy codec with halved chroma is used, and at
least 4 x 4 after scaling: ``SIZE`` is the smallest raster that gives the former.

``draw`` and ``write_scan`` make pictures and files; ``read`` reads one picture, ``read_movie``
and ``read_sequence`` whole files with PyAV, ``read_with_program`` with the ffmpeg program, so
that a mistake in the one reader cannot hide in itself.
"""

from __future__ import annotations

import subprocess
from fractions import Fraction
from typing import TYPE_CHECKING, Any, cast

import av
import imageio_ffmpeg
import numpy as np
from av.video.codeccontext import VideoCodecContext
from av.video.stream import VideoStream

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping
    from pathlib import Path

    from numpy.typing import NDArray

__all__ = [
    "LARGEST",
    "SIZE",
    "draw",
    "draw_grey",
    "encode_files",
    "read",
    "read_frame",
    "read_movie",
    "read_sequence",
    "read_with_program",
    "write_scan",
]

SIZE = (160, 96)
LARGEST = (1 << 24) - 2  # all ones is left out: every picture has a dark cell to measure against

_COLUMNS, _ROWS = 10, 6
_DATA_ROWS, _BITS = 3, 24
_DARK, _WHITE = 0.08, 0.90  # of full scale: away from both ends, so that no range change clips
_DARK_BELOW, _WHITE_ABOVE = 0.20, 0.80  # of the distance between darkest and brightest
_LEAST_CONTRAST = 0.25  # of full scale


def draw_grey(number: int, width: int, height: int) -> NDArray[np.uint8]:
    """Return the picture of a number, 0..LARGEST, as an array of shape (height, width)."""
    if not 0 <= number <= LARGEST:
        raise ValueError(number)
    white, dark = round(_WHITE * 255), round(_DARK * 255)
    cells = np.full((_ROWS, _COLUMNS), white, np.uint8)
    cells[1:-1, 1:-1] = np.where(_cells(number), white, dark)
    rows = np.arange(height) * _ROWS // height
    columns = np.arange(width) * _COLUMNS // width
    return cells[np.ix_(rows, columns)]


def draw(
    number: int, width: int = SIZE[0], height: int = SIZE[1], pixel_format: str = "gray"
) -> av.VideoFrame:
    """Return the picture of a number in any pixel format that FFmpeg can convert grey to."""
    frame = av.VideoFrame.from_ndarray(draw_grey(number, width, height), format="gray")
    return frame if pixel_format == "gray" else frame.reformat(format=pixel_format)


def read(grey: NDArray[Any]) -> int | None:
    """Return the number that a picture shows, None where it shows none for certain.

    ``grey`` has the shape (height, width), of unsigned integers at full scale or of floats from
    0 to 1; black bars around the picture are allowed.
    """
    scale = float(np.iinfo(grey.dtype).max) if grey.dtype.kind == "u" else 1.0
    picture = grey.astype(np.float64) / scale
    darkest, brightest = float(picture.min()), float(picture.max())
    if brightest - darkest < _LEAST_CONTRAST:
        return None
    levels = (_within_bars(picture, (darkest + brightest) / 2) - darkest) / (brightest - darkest)
    cells = _middles(levels)
    if cells is None or not np.all((cells < _DARK_BELOW) | (cells > _WHITE_ABOVE)):
        return None
    bits = cells > _WHITE_ABOVE
    ring = np.concatenate([bits[0], bits[-1], bits[:, 0], bits[:, -1]])
    number = int("".join("1" if bit else "0" for bit in bits[1 : 1 + _DATA_ROWS, 1:-1].flat), 2)
    told = (
        bool(ring.all()) and number <= LARGEST and np.array_equal(_cells(number), bits[1:-1, 1:-1])
    )
    return number if told else None


def read_frame(frame: av.VideoFrame) -> int | None:
    """Return the number that a decoded frame shows, None where it shows none for certain."""
    return read(frame.to_ndarray(format="gray"))


def read_movie(path: Path) -> list[int | None]:
    """Return the numbers that a movie's pictures show, decoded by PyAV."""
    with av.open(str(path)) as container:
        return [read_frame(frame) for frame in container.decode(video=0)]


def read_sequence(paths: Iterable[Path]) -> list[int | None]:
    """Return the numbers that single-picture files show, decoded by PyAV one by one."""
    return [number for path in paths for number in read_movie(path)]


def read_with_program(path: Path, *, before: Iterable[str] = ()) -> list[int | None]:
    """Return the numbers that a movie shows, decoded by the ffmpeg program picture by picture.

    ``before`` are options for the input, for example ``-start_number 1`` for a sequence.
    """
    width, height = SIZE
    command = [imageio_ffmpeg.get_ffmpeg_exe(), "-nostdin", "-v", "error", *before]
    command += ["-i", str(path), "-map", "0:v:0", "-fps_mode", "passthrough"]
    command += ["-vf", f"scale={width}:{height}:flags=area", "-pix_fmt", "gray"]
    command += ["-f", "rawvideo", "-"]
    done = subprocess.run(command, capture_output=True, check=True)
    pictures = np.frombuffer(done.stdout, np.uint8).reshape(-1, height, width)
    return [read(picture) for picture in pictures]


def write_scan(  # noqa: PLR0913, PLR0917 - a test names the few that it is about
    path: Path,
    count: int | Iterable[int],
    codec: str = "ffv1",
    pix_fmt: str = "gray",
    options: Mapping[str, str] | None = None,
    size: tuple[int, int] = SIZE,
    *,
    rate: Fraction = Fraction(18),
    container_format: str | None = None,
    container_options: Mapping[str, str] | None = None,
    start_number: int = 0,
    attributes: Mapping[str, object] | None = None,
) -> Path:
    """Write a movie, or numbered files where the path has a ``%``, and return the path.

    ``count`` is how many frames (shown numbers 0, 1, 2...) or the very numbers to show.
    ``attributes`` are set on the encoder, for example ``sample_aspect_ratio``, ``color_trc``.
    """
    numbers = range(count) if isinstance(count, int) else count
    frames = (draw(number, *size, pix_fmt) for number in numbers)
    if "%" in path.name:
        path.parent.mkdir(parents=True, exist_ok=True)
        for place, data in enumerate(encode_files(frames, codec, options)):
            path.with_name(path.name % (start_number + place)).write_bytes(data)
        return path
    with av.open(
        str(path), "w", format=container_format, options=dict(container_options or {})
    ) as container:
        stream = container.add_stream(codec, rate=rate, options=dict(options or {}))
        assert isinstance(stream, VideoStream)
        stream.width, stream.height = size
        stream.pix_fmt = pix_fmt
        for name, value in (attributes or {}).items():
            setattr(stream.codec_context, name, value)
        for frame in frames:
            container.mux(stream.encode(frame))
        container.mux(stream.encode(None))
    return path


def encode_files(
    frames: Iterable[av.VideoFrame], codec: str, options: Mapping[str, str] | None = None
) -> Iterator[bytes]:
    """Yield one whole file per frame, for codecs whose coded picture is a file (dpx, tiff...)."""
    for frame in frames:
        context = cast("VideoCodecContext", av.CodecContext.create(codec, "w"))
        assert isinstance(context, VideoCodecContext)
        context.width, context.height = frame.width, frame.height
        context.pix_fmt = frame.format.name
        context.time_base = Fraction(1, 18)
        context.options = dict(options or {})
        yield b"".join(bytes(packet) for packet in [*context.encode(frame), *context.encode(None)])


def _cells(number: int) -> NDArray[np.bool_]:
    """Return the inner cells of a number, shape (4, 8), true for white."""
    data = number.to_bytes(_BITS // 8, "big")
    packed = np.frombuffer(data + bytes([_crc8(data)]), np.uint8)
    return np.unpackbits(packed).reshape(-1, 8).astype(bool)


def _crc8(data: bytes) -> int:
    value = 0
    for byte in data:
        value ^= byte
        for _ in range(8):
            value = (value << 1) ^ (0x107 if value & 0x80 else 0)
    return value


def _within_bars(picture: NDArray[np.float64], middle: float) -> NDArray[np.float64]:
    """Return the part of a picture that its white ring bounds."""
    rows = np.flatnonzero((picture > middle).any(axis=1))
    columns = np.flatnonzero((picture > middle).any(axis=0))
    return picture[rows[0] : rows[-1] + 1, columns[0] : columns[-1] + 1]


def _middles(picture: NDArray[np.float64]) -> NDArray[np.float64] | None:
    """Return the mean of each cell's middle, shape (6, 10); None for too small a picture."""
    height, width = picture.shape
    if height < 3 * _ROWS or width < 3 * _COLUMNS:
        return None
    rows = [_middle(row, _ROWS, height) for row in range(_ROWS)]
    columns = [_middle(column, _COLUMNS, width) for column in range(_COLUMNS)]
    sums = np.add.reduceat(picture, np.ravel(rows), axis=0)[::2]
    sums = np.add.reduceat(sums, np.ravel(columns), axis=1)[:, ::2]
    means: NDArray[np.float64] = sums / np.outer(np.ptp(rows, axis=1), np.ptp(columns, axis=1))
    return means


def _middle(cell: int, cells: int, pixels: int) -> tuple[int, int]:
    """Return first and stop of the middle third of a cell, at least one pixel."""
    first = (6 * cell + 2) * pixels // (6 * cells)
    stop = (6 * cell + 4) * pixels // (6 * cells)
    return first, max(stop, first + 1)
