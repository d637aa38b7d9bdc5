"""Small real scans and deliverables of many kinds, and how their bytes are spoiled."""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING, Any, NamedTuple

import av
import numpy as np
from av.audio.stream import AudioStream
from numbered import write_scan

if TYPE_CHECKING:
    from collections.abc import Mapping
    from pathlib import Path
    from random import Random

__all__ = ["KINDS", "Kind", "map_of", "spoil", "write_kind", "write_sound"]

FRAMES = 8
_WIDE = (256, 144)  # FFmpeg's encoder of DNxHD takes nothing smaller
_MOST = 48_000  # bytes of a header that are hit oftener than others


class Kind(NamedTuple):
    """A kind of scan: its file's name, and what encodes it."""

    file: str
    codec: str
    pixel_format: str
    options: Mapping[str, str]
    size: tuple[int, int] = (160, 96)
    attributes: Mapping[str, Any] = {}


_INTRA = {"level": "3", "g": "1", "slices": "4", "slicecrc": "1"}
KINDS: dict[str, Kind] = {
    "ffv1": Kind("scan.mkv", "ffv1", "yuv420p", _INTRA),
    "ffv1-old": Kind("scan.avi", "ffv1", "yuv420p", {"level": "1", "g": "1"}),
    "prores": Kind("scan.mov", "prores_ks", "yuv422p10le", {"profile": "3"}),
    "h264": Kind("scan.mp4", "libx264", "yuv420p", {"g": "6", "bf": "2"}),
    "h264-ts": Kind("scan.ts", "libx264", "yuv420p", {"g": "6"}),
    "mpeg2": Kind("scan.mpg", "mpeg2video", "yuv420p", {"g": "6", "bf": "2"}),
    "mpeg2-ts": Kind("scan.ts", "mpeg2video", "yuv420p", {"g": "6"}),
    "mpeg2-stream": Kind("scan.m2v", "mpeg2video", "yuv420p", {"g": "6"}),
    "dnxhr-mxf": Kind("scan.mxf", "dnxhd", "yuv422p", {"profile": "dnxhr_hq"}, _WIDE),
    "dnxhr-mov": Kind("scan.mov", "dnxhd", "yuv422p", {"profile": "dnxhr_hq"}, _WIDE),
    "jpeg-mov": Kind("scan.mov", "mjpeg", "yuvj420p", {}),
    "dpx": Kind("scan/%06d.dpx", "dpx", "gbrp10be", {}),
    "tiff": Kind("scan/%06d.tif", "tiff", "rgb24", {}),
    "png": Kind("scan/%06d.png", "png", "gray16be", {}),
}
COPIES = frozenset({"ffv1", "prores", "dnxhr-mxf", "jpeg-mov", "dpx", "tiff", "png"})
RATES = {"dnxhr-mxf": 25, "mpeg2": 25, "mpeg2-ts": 25, "mpeg2-stream": 25}

MAP = """\
format: retime-map/1
film: Numbers
gauge: 35mm
reels: [{{reel: 1, scan: "{scan}"}}]
versions: {{v: {{speed: 18 fps}}}}
deliverables:
  master:
    version: v
    profile: ffv1-master
    rate: 24
"""
COPIED = "  copied: {version: v, profile: as-scanned, rate: 24}\n"
SOUND = "    sound: [{file: sound.wav, follows: v}]\n"


def write_kind(folder: Path, name: str) -> Path:
    """Write a sound scan of a kind into a folder; return its path or pattern."""
    kind = KINDS[name]
    return write_scan(
        folder / kind.file,
        FRAMES,
        kind.codec,
        kind.pixel_format,
        kind.options,
        kind.size,
        rate=Fraction(RATES.get(name, 18)),
    )


def write_sound(path: Path, codec: str) -> Path:
    """Write half a second of noise."""
    noise = np.random.default_rng(1).integers(-9000, 9000, (1, 24_000), np.int16)
    with av.open(str(path), "w") as container:
        stream = container.add_stream(codec, rate=48_000)
        assert isinstance(stream, AudioStream)
        frame = av.AudioFrame.from_ndarray(noise, format="s16", layout="mono")
        frame.sample_rate = 48_000
        container.mux(stream.encode(frame))
        container.mux(stream.encode(None))
    return path


def map_of(name: str) -> str:
    """Return a map of a kind's scan, which is copied too if it can be."""
    kind = KINDS.get(name)
    if kind is None:
        return MAP.format(scan=KINDS["ffv1"].file) + SOUND.replace("wav", name)
    return MAP.format(scan=kind.file) + (COPIED if name in COPIES else "")


def spoil(data: bytes, other: bytes, dice: Random) -> bytes:
    """Return the bytes of a file with one to three things done to them."""
    for _ in range(dice.choice((1, 1, 2, 3))):
        data = dice.choice(_WAYS)(data, other, dice)
    return data


def _place(data: bytes, dice: Random) -> int:
    """Return a place, in the head or the tail more often than in between."""
    part = dice.random()
    if part < 0.45:
        return dice.randrange(max(1, min(len(data), 400)))
    if part < 0.6:
        return dice.randrange(max(1, min(len(data), _MOST)))
    return (
        dice.randrange(max(1, len(data) - 600), max(2, len(data)))
        if part < 0.75
        else dice.randrange(max(1, len(data)))
    )


def _bits(data: bytes, _other: bytes, dice: Random) -> bytes:
    changed = bytearray(data)
    for _ in range(dice.choice((1, 3, 30, 300))):
        at = min(_place(data, dice), max(0, len(data) - 1))
        changed[at : at + 1] = bytes(one ^ 1 << dice.randrange(8) for one in changed[at : at + 1])
    return bytes(changed)


def _figure(data: bytes, _other: bytes, dice: Random) -> bytes:
    """Put an extreme number somewhere."""
    width = dice.choice((1, 2, 4, 8))
    number = dice.choice(
        (0, 1, (1 << 8 * width) - 1, 1 << (8 * width - 1), (1 << (8 * width - 1)) - 1)
    )
    at = _place(data, dice)
    return data[:at] + number.to_bytes(width, dice.choice(("big", "little"))) + data[at + width :]


def _truncate(data: bytes, _other: bytes, dice: Random) -> bytes:
    return data[: dice.choice((_place(data, dice), dice.randrange(len(data) + 1)))]


def _cut(data: bytes, _other: bytes, dice: Random) -> bytes:
    at = _place(data, dice)
    return data[:at] + data[at + dice.choice((1, 4, 100, 3000)) :]


def _double(data: bytes, _other: bytes, dice: Random) -> bytes:
    at = _place(data, dice)
    return data[: at + dice.choice((1, 8, 188, 5000))] + data[at:]


def _zeros(data: bytes, _other: bytes, dice: Random) -> bytes:
    at, width = _place(data, dice), dice.choice((4, 64, 2048))
    return data[:at] + bytes((dice.choice((0, 255)),)) * width + data[at + width :]


def _other_head(data: bytes, other: bytes, dice: Random) -> bytes:
    at = dice.choice((4, 16, 64, 200, 1000, 4000))
    return other[:at] + data[at:]


def _other_tail(data: bytes, other: bytes, dice: Random) -> bytes:
    return data[: _place(data, dice)] + other[dice.randrange(len(other) + 1) :]


_WAYS = (_bits, _bits, _figure, _figure, _truncate, _cut, _double, _zeros, _other_head, _other_tail)
